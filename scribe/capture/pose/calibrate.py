"""One lens from several photos: all of their marks solved together, a pose for each.

Many tilts and many places in the picture tell what one photo can't: the focal length apart
from the distance, and the distortion out to the corners. Stabilisation shifts the principal
point from photo to photo, so each has a shift of its own, held by a prior. Photos that don't
fit the lens which the others share (another camera, another zoom) are found by what their own
solution would have left and what the shared lens leaves them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from scribe.capture.pose.camera import Camera, lifted, moved
from scribe.capture.pose.lens import Lens
from scribe.capture.pose.lens_known import SHIFT
from scribe.capture.pose.lens_prior import LensPrior
from scribe.capture.pose.lens_turn import stored_size, upright_from_stored
from scribe.capture.pose.orient import Oriented
from scribe.geom.propagation import standard_u
from scribe.geom.solve import System, least_squares

Array = npt.NDArray[np.float64]

_LENS, _POSE = 8, 6
_OWN = _POSE + 2  # of every photo: its pose, and how stabilisation shifted the sensor
_FLOOR_PX = 0.02
# A photo disagrees when the shared lens leaves it so many times what its own lens did.
_WORSE = 1.6
_DIFFERENT_PX = 0.1  # and this much on top, rms: below, nobody would measure the difference


@dataclass(frozen=True)
class Calibrated:
    """lens and its covariance (8, 8). cameras: one for each photo, in their order,
    without a covariance.

    residuals: for each photo (N, 2) px, seen minus predicted. noise_px: rms of a coordinate.
    own_px: (P,) rms that each photo's own lens left it; shared_px: and the shared one.
    """

    lens: Lens
    covariance: Array
    cameras: tuple[Camera, ...]
    residuals: tuple[Array, ...]
    noise_px: float
    own_px: Array
    shared_px: Array

    def corner_u(self, size: tuple[int, int]) -> float:
        """px, standard uncertainty of where a direction falls in the picture's corners.

        A turn of the camera and a shift of its sensor are taken out: every photo has its own.
        inf where the lens model ends before the corners: no direction falls into them.
        """
        far = np.array(size, np.float64) - 1.0
        x, y = np.meshgrid(np.linspace(0.0, 1.0, 5), np.linspace(0.0, 1.0, 5))
        pixels = np.column_stack([x.ravel(), y.ravel()]) * far
        directions = self.lens.directions(pixels)
        missed = np.hypot(*(self.lens.pixels(directions) - pixels).T)
        radius = np.hypot(*directions.T)
        if not ((missed < _FLOOR_PX) & (radius < self.lens.usable_radius())).all():
            return float("inf")
        by_direction, by_lens = self.lens.derivatives(directions)
        a, b = directions.T
        turns = np.stack(
            [
                np.column_stack([-a * b, -(1 + b**2)]),
                np.column_stack([1 + a**2, a * b]),
                np.column_stack([-b, a]),
            ],
            axis=-1,
        )
        flat = by_lens.reshape(-1, _LENS)
        own = np.hstack([(by_direction @ turns).reshape(-1, 3), flat[:, 1:3]])
        left = flat - own @ np.linalg.lstsq(own, flat, rcond=None)[0]
        u = standard_u(left.reshape(-1, 2, _LENS), self.covariance)
        corners = [0, 4, 20, 24]
        return float(np.hypot(*u.T)[corners].max())

    def strangers(self) -> list[int]:
        """Numbers of the photos that the shared lens doesn't fit."""
        worse = self.shared_px > _WORSE * self.own_px + _DIFFERENT_PX
        return [int(k) for k in np.flatnonzero(worse)]


def stored(oriented: Oriented) -> Oriented:
    """The same photo as it lies in its file, not turned upright: one frame for one sensor."""
    photo = oriented.photo
    size = stored_size(photo.size, photo.exif.orientation)
    matrix, shift = upright_from_stored(photo.exif.orientation, size)
    turn = matrix[1:3, 1:3]
    lens = np.asarray(np.linalg.solve(matrix, oriented.camera.lens.values() - shift), np.float64)
    about_axis = np.eye(3)
    about_axis[:2, :2] = turn.T
    camera = replace(
        oriented.camera,
        lens=Lens.of(lens),
        rotation=about_axis @ oriented.camera.rotation,
        translation=about_axis @ oriented.camera.translation,
    )
    return replace(
        oriented,
        photo=replace(photo, grey=np.zeros(size[::-1], np.uint8)),
        camera=camera,
        pixels=(oriented.pixels - shift[1:3]) @ turn,
        residuals=oriented.residuals @ turn,
    )


def calibrate(photos: Sequence[Oriented], prior: LensPrior) -> Calibrated:
    """Solve the lens that the photos share. They must have one size and one turn.

    The residuals set the scale of the marks' u, and what neighbouring residuals have in common
    widens the covariance, as for one photo: of N marks only N (1 - r) / (1 + r) count.
    """
    marks = [(lifted(p.points[p.used], 0.0), p.pixels[p.used]) for p in photos]
    bounds = np.cumsum([0, *(len(points) for points, _ in marks)])
    u = np.repeat([max(o.noise_px, _FLOOR_PX) for o in photos], np.diff(bounds))
    weight, mean = prior.weight(), prior.mean.values()
    shift_sd = SHIFT * max(photos[0].photo.size)
    width = _LENS + _OWN * len(photos)

    def linearise(state: _State) -> System:
        residuals = np.empty((bounds[-1], 2))
        jacobian = np.zeros((bounds[-1], 2, width))
        spread = np.zeros((_LENS + 2 * len(photos), width))
        spread[:_LENS, :_LENS] = weight
        held = [weight @ (state.lens.values() - mean)]
        for k, (points, pixels) in enumerate(marks):
            part, own = slice(bounds[k], bounds[k + 1]), _LENS + _OWN * k
            camera = state.cameras[k]
            _, by = camera.derivatives(points)
            residuals[part] = np.nan_to_num(camera.pixels(points) - pixels, nan=1e6)
            jacobian[part, :, :_LENS] = by[:, :, :_LENS]
            jacobian[part, :, own : own + _POSE] = by[:, :, _LENS:]
            jacobian[part, :, own + _POSE : own + _OWN] = by[:, :, 1:3]
            shift = np.array([camera.lens.cx - state.lens.cx, camera.lens.cy - state.lens.cy])
            held.append(shift / shift_sd)
            rows = np.arange(2)
            spread[_LENS + 2 * k + rows, own + _POSE + rows] = 1.0 / shift_sd
        return System(
            residuals / u[:, None], jacobian / u[:, None, None], np.concatenate(held), spread
        )

    median = Lens.of(np.median([o.camera.lens.values() for o in photos], axis=0))
    start = _State(median, tuple(replace(o.camera, lens=median) for o in photos))
    found = least_squares(linearise, _stepped, start)
    raw = -found.residuals * u[:, None]
    parts = [raw[a:b] for a, b in pairwise(bounds)]
    noise = float(np.sqrt((found.weights[:, None] * raw**2).sum() / (2 * len(raw) - width)))
    # In units of each mark's own u: 1 where the photos agree as well as each by itself.
    scale = float((found.weights[:, None] * found.residuals**2).sum() / (2 * len(raw) - width))
    r = _common(photos, parts)
    covariance = (found.covariance + found.covariance.T) / 2.0
    by = linearise(found.state).jacobian[:, :, :_LENS]
    scored = found.weights[:, None, None] * found.residuals[:, :, None] * by
    pulls = np.array([scored[a:b].sum(axis=(0, 1)) for a, b in pairwise(bounds)])
    apart = _apart(pulls, covariance[:_LENS, :_LENS])
    covariance *= max(max(scale, 1.0) * (1.0 + r) / (1.0 - r), apart)
    return Calibrated(
        found.state.lens,
        covariance[:_LENS, :_LENS],
        found.state.cameras,
        tuple(parts),
        noise,
        np.array([_rms(o.residuals[o.used]) for o in photos]),
        np.array([_rms(part) for part in parts]),
    )


@dataclass(frozen=True)
class _State:
    """The shared lens, and each photo's camera: that lens with the photo's own shift of it."""

    lens: Lens
    cameras: tuple[Camera, ...]


def _stepped(state: _State, by: Array) -> _State:
    cameras = []
    for k, camera in enumerate(state.cameras):
        own = by[_LENS + _OWN * k :][:_OWN]
        lens = by[:_LENS].copy()
        lens[1:3] += own[_POSE:]
        cameras.append(moved(camera, np.concatenate([lens, own[:_POSE]])))
    return _State(Lens.of(state.lens.values() + by[:_LENS]), tuple(cameras))


def _apart(pulls: Array, covariance: Array) -> float:
    """How many times further photos pull the lens apart than their marks' noise would.

    pulls: (P, 8) gradient of each photo's cost by the lens, their own poses being solved, so that
    their sum is what the prior holds; covariance (8, 8) for unit noise. Each is expected to be
    as large as what it tells (the sandwich of clustered data: K.-Y. Liang, S. L. Zeger, Biometrika
    73, 1986, from memory), and as one is taken up by the mean, there are P - 1 of P.
    """
    count = len(pulls)
    squares = np.einsum("pi,ij,pj->", pulls, covariance, pulls)
    return float(squares / _LENS * count / max(count - 1, 1))


def _common(photos: Sequence[Oriented], parts: Sequence[Array]) -> float:
    """Correlation of the residuals of neighbouring marks, over all photos."""
    together, alone = 0.0, 0.0
    for photo, part in zip(photos, parts, strict=True):
        points = photo.points[photo.used]
        apart = np.hypot(*(points[:, None, :] - points[None, :, :]).transpose(2, 0, 1))
        np.fill_diagonal(apart, np.inf)
        together += float((part * part[apart.argmin(axis=1)]).sum())
        alone += float((part**2).sum())
    return float(np.clip(together / alone, 0.0, 0.95)) if alone > 0.0 else 0.0


def _rms(residuals: Array) -> float:
    return float(np.sqrt((residuals**2).mean()))
