"""Crossings and corners to hundredths of a pixel: fit the blurred pattern itself.

Near a crossing of two straight boundaries, blurred by a Gaussian, linear light is

    I = m + gx dx + gy dy + a F,   F = e1 e2              (checker crossing)
                                   F = (1 + e1)(1 + e2)/2 (corner of a dark square)

with e_k = erf(d_k / (sqrt(2) s)) and d_k the signed distance to boundary k. The product
is exact for boundaries at right angles and keeps the symmetry of the crossing otherwise,
so that tilt does not move the centre. White that is blown out is a clipped value of the
model, not a measured one: the model is clipped alike. All patches are fitted at once by
damped Gauss-Newton.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from scribe.capture.edges.profile import phi
from scribe.capture.photo import Photo, linear_table, reduced

Array = npt.NDArray[np.float64]

_STEPS, _FEWEST_STEPS, _SETTLED_PX = 12, 4, 1e-4
_LARGEST_RADIUS_PX = 9
_SMALLEST_RADIUS_PX = 2.0


@dataclass(frozen=True)
class Crossings:
    """Fits of N crossings. Fields of a crossing that is not `good` mean nothing.

    pixels: (N, 2) px. u: (N,) px standard uncertainty of each coordinate from noise.
    blur: (N,) px, standard deviation of the blur. good: (N,) bool.
    """

    pixels: Array
    u: Array
    blur: Array
    good: npt.NDArray[np.bool_]


def refine_crossings(
    photo: Photo,
    predicted: Array,
    axes: Array,
    radius: Array,
    *,
    corner: bool = False,
) -> Crossings:
    """Fit the pattern around each predicted place (at least one).

    predicted: (N, 2) px, within about 3 px. axes: (N, 2, 2) px, directions of the two
    boundaries; for a corner they point along the dark square's sides, away from it.
    radius: (N,) px up to which nothing but the two boundaries is seen.
    """
    count = len(predicted)
    pixels, u, blur = predicted.copy(), np.full(count, np.inf), np.zeros(count)
    all_good = np.zeros(count, bool)
    reach = np.minimum(radius, _LARGEST_RADIUS_PX)
    width, height = photo.size
    half = int(np.ceil(reach.max())) + 1
    centre = np.rint(predicted).astype(np.intp)
    inside = (centre >= half).all(axis=1) & (centre < np.array([width, height]) - half).all(axis=1)
    chosen = np.flatnonzero(inside & (reach >= _SMALLEST_RADIUS_PX))
    if not len(chosen):
        return Crossings(pixels, u, blur, all_good)
    mirrored = axes[:, 0, 0] * axes[:, 1, 1] > axes[:, 0, 1] * axes[:, 1, 0]
    axes = np.where(mirrored[:, None, None], axes[:, ::-1], axes)
    start = _settled(photo, predicted[chosen], reach[chosen], half)
    centre = np.rint(start).astype(np.intp)
    light, offset = _patches(photo, centre, half)
    fit = _fit(light, offset, start - centre, axes[chosen], reach[chosen], corner)
    moved = fit.pixels + centre
    miss = np.hypot(*(moved - predicted[chosen]).T)
    good = fit.good & (miss < np.maximum(reach[chosen], 4.0))
    pixels[chosen], u[chosen], blur[chosen], all_good[chosen] = moved, fit.u, fit.blur, good
    return Crossings(pixels, u, blur, all_good)


def _settled(photo: Photo, predicted: Array, reach: Array, half: int) -> Array:
    """(N, 2) px each crossing to some hundredths, after OpenCV's gradient search."""
    window = int(np.clip(np.median(reach), 2, _LARGEST_RADIUS_PX))
    grey = reduced(photo.grey, 1.0)
    start = predicted.astype(np.float32).reshape(-1, 1, 2)
    criteria = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_MAX_ITER, 10, 0.05)
    found = cv2.cornerSubPix(grey, start, (window, window), (-1, -1), criteria).reshape(-1, 2)
    near = np.hypot(*(found - predicted).T) < reach
    settled = np.where(near[:, None], found, predicted)
    low, high = half, np.array(photo.size) - half - 1
    return np.asarray(np.clip(settled, low, high), dtype=np.float64)


def _patches(photo: Photo, centre: npt.NDArray[np.intp], half: int) -> tuple[Array, Array]:
    """(N, K) linear light around each centre, and (K, 2) the pixels' offsets from it."""
    steps = np.arange(-half, half + 1)
    dx, dy = np.meshgrid(steps, steps)
    offset = np.stack([dx.ravel(), dy.ravel()], axis=-1)
    offset = offset[np.hypot(dx, dy).ravel() <= half]
    place = centre[:, None, :] + offset
    table = linear_table(photo.grey.dtype.itemsize)
    return table[photo.grey[place[..., 1], place[..., 0]]], offset.astype(np.float64)


@dataclass(frozen=True)
class _Fit:
    pixels: Array
    u: Array
    blur: Array
    good: npt.NDArray[np.bool_]


def _fit(
    light: Array, offset: Array, start: Array, axes: Array, reach: Array, corner: bool
) -> _Fit:
    """Gauss-Newton on N patches at once: x, y, angle 1, angle 2, log s | m, gx, gy, a.

    What counts lies round the crossing and not round the nearest whole pixel: a window to one
    side of it would draw the crossing there wherever the picture isn't quite the model's (tone,
    sharpening), and all crossings of a row alike.
    """
    count = len(light)
    distance = np.hypot(*(offset[None] - start[:, None]).transpose(2, 0, 1))
    weight = np.clip(reach[:, None] + 0.5 - distance, 0.0, 1.0)
    telling = (weight * (light < 1.0)).sum(axis=1)
    shape = np.zeros((count, 5))
    shape[:, :2] = start
    shape[:, 2:4] = np.arctan2(axes[:, :, 1], axes[:, :, 0])
    level = np.zeros((count, 4))
    eye = np.eye(9)
    cost = np.full(count, np.inf)
    damping = np.full(count, 1e-3)
    best_shape, best_level = shape.copy(), level.copy()
    best_normal = np.tile(eye, (count, 1, 1))
    for step in range(_STEPS):
        pattern, slopes = _pattern(shape, offset, corner)
        basis = np.stack(
            [np.ones_like(pattern), np.broadcast_to(offset[:, 0], pattern.shape),
             np.broadcast_to(offset[:, 1], pattern.shape), pattern], axis=-1)  # fmt: skip
        if step == 0:
            level = _levels(basis, light, weight)
        predicted = (basis @ level[..., None])[..., 0]
        clipped = predicted >= 1.0
        predicted[clipped] = 1.0
        residual = light - predicted
        trial = (weight * residual**2).sum(axis=1)
        better = trial <= cost
        gradient = np.concatenate([slopes * level[:, None, 3:4], basis], axis=-1)
        gradient[clipped] = 0.0
        weighted = (gradient * weight[..., None]).transpose(0, 2, 1)
        normal = weighted @ gradient
        right = (weighted @ residual[..., None])[..., 0]
        cost = np.where(better, trial, cost)
        best_shape[better], best_level[better] = shape[better], level[better]
        best_normal[better] = normal[better]
        damping = np.where(better, damping * 0.2, damping * 10.0)
        diagonal = np.einsum("nii->ni", normal)
        damped = normal + (damping[:, None] * diagonal + 1e-12)[:, :, None] * eye
        move = np.linalg.solve(damped, right[..., None])[..., 0]
        move[:, :2] = np.clip(move[:, :2], -1.5, 1.5)
        move[:, 2:5] = np.clip(move[:, 2:5], -0.3, 0.3)
        shape, level = best_shape + move[:, :5], best_level + move[:, 5:]
        if np.median(np.abs(move[:, :2])) < _SETTLED_PX and step >= _FEWEST_STEPS:
            break
    freedom = np.maximum(telling - 9.0, 1.0)
    noise2 = cost / freedom
    covariance = np.linalg.pinv(best_normal) * noise2[:, None, None]
    u = np.sqrt(np.maximum(0.5 * (covariance[:, 0, 0] + covariance[:, 1, 1]), 0.0))
    blur = np.exp(best_shape[:, 4])
    contrast = np.abs(best_level[:, 3])
    good = (
        (telling > 0.35 * weight.sum(axis=1))
        & (u < 0.5)
        & (contrast > 3.0 * np.sqrt(noise2))
        & (contrast > 0.01)
        & (blur < reach)
        & (np.abs(np.sin(best_shape[:, 2] - best_shape[:, 3])) > 0.3)
    )
    return _Fit(best_shape[:, :2], u, blur, good)


def _pattern(shape: Array, offset: Array, corner: bool) -> tuple[Array, Array]:
    """F (N, K) and its derivatives (N, K, 5) by x, y, angle 1, angle 2, log s."""
    s = np.exp(shape[:, 4])[:, None]
    dx, dy = offset[:, 0] - shape[:, 0:1], offset[:, 1] - shape[:, 1:2]
    factors, gaussians, distances, normals = [], [], [], []
    for k in (2, 3):
        sine, cosine = np.sin(shape[:, k : k + 1]), np.cos(shape[:, k : k + 1])
        along, across = cosine * dx + sine * dy, -sine * dx + cosine * dy
        factors.append(2.0 * phi(across / s) - 1.0)  # erf(x / sqrt 2)
        gaussians.append(np.sqrt(2.0 / np.pi) / s * np.exp(-0.5 * (across / s) ** 2))
        distances.append((along, across))
        normals.append((-sine, cosine))
    if corner:  # the square lies to one side of each boundary; `refine_crossings` sees to which
        first, second = (1.0 - factors[0]) / 2.0, (1.0 + factors[1]) / 2.0
        signs = (-0.5, 0.5)
    else:
        first, second = factors
        signs = (1.0, 1.0)
    slopes = np.empty((*dx.shape, 5))
    parts = [signs[0] * gaussians[0] * second, signs[1] * gaussians[1] * first]
    slopes[..., 0] = -(parts[0] * normals[0][0] + parts[1] * normals[1][0])
    slopes[..., 1] = -(parts[0] * normals[0][1] + parts[1] * normals[1][1])
    slopes[..., 2] = -parts[0] * distances[0][0]
    slopes[..., 3] = -parts[1] * distances[1][0]
    slopes[..., 4] = -(parts[0] * distances[0][1] + parts[1] * distances[1][1])
    return first * second, slopes


def _levels(basis: Array, light: Array, weight: Array) -> Array:
    """(N, 4) best m, gx, gy, a for the pattern as it stands (linear least squares)."""
    weighted = (basis * weight[..., None]).transpose(0, 2, 1)
    normal = weighted @ basis + 1e-12 * np.eye(4)
    return np.asarray(np.linalg.solve(normal, weighted @ light[..., None])[..., 0])
