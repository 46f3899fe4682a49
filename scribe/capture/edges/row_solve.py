"""Many small least-squares fits at once: the rows of a photo, each against the same model.

In: rows of light and where they start from. Out: the parameters of each, and the standard
uncertainty of the first one, from what is left over and from how far the photo's noise correlates
from sample to sample.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
# (N, P) parameters -> (N, S) light and (N, P, S) derivatives
Model = Callable[[Array], tuple[Array, Array]]

ROUNDS = 40  # of a search, at most
_SETTLED = 1e-5  # part of the sum of squares: a smaller gain ends the search
_NEVER_BELOW = 1e-3  # pixel: no photo is so free of noise that less is known
_ENOUGH_TO_SEE = 500.0  # independent samples from which their correlation is measured
_REACH = 3.0  # pixels: how far the noise of a photo is followed


def solve_rows(
    model: Model,
    t: Array,
    rows: Array,
    weights: Array,
    pixel: Array,
    start: Array,
    guess: Array,
    rounds: int = ROUNDS,
) -> tuple[Array, Array, Array]:
    """Levenberg-Marquardt for all rows at once -> parameters (N, P), u of the first, noise.

    guess: (P,) how strongly `start` is believed: 1 / (standard deviation)^2.
    """
    p = start.copy()
    size = p.shape[1]
    diagonal = np.arange(size)
    samples = np.maximum(weights.sum(axis=1), 1.0)
    all_count = bool(weights.all())

    def look(which: npt.NDArray[np.int64], at: Array) -> tuple[Array, Array, Array]:
        """Left over, gradient and normal matrix of some rows."""
        light, jacobian = model(at)
        left_over = rows[which] - light
        if not all_count:
            left_over *= weights[which]
            jacobian *= weights[which, None, :]
        gradient = (jacobian @ left_over[:, :, None])[:, :, 0]
        return left_over, gradient, jacobian @ jacobian.transpose(0, 2, 1)

    left_over, gradient, normal = look(np.arange(len(p)), p)
    square = np.sum(left_over**2, axis=1)
    damping = np.full(len(p), 1e-3)
    active = np.arange(len(p))
    for _ in range(rounds):
        # The guess is weighed against what is left over now: it vanishes with the noise.
        stiff = guess * (square[active] / samples[active] + 1e-12)[:, None]
        away = p[active] - start[active]
        cost = square[active] + np.sum(stiff * away**2, axis=1)
        pull = gradient[active] - stiff * away
        matrix = normal[active].copy()
        matrix[:, diagonal, diagonal] += stiff + 1e-12
        matrix[:, diagonal, diagonal] *= 1.0 + damping[active, None]
        move = np.linalg.solve(matrix, pull[:, :, None])[:, :, 0]
        trial = p[active] + move
        seen, slope, bend = look(active, trial)
        now = np.sum(seen**2, axis=1)
        worth = now + np.sum(stiff * (trial - start[active]) ** 2, axis=1)
        better = worth <= cost
        gain = 1.0 - worth / np.maximum(cost, 1e-300)
        taken = active[better]
        p[taken], left_over[taken], square[taken] = trial[better], seen[better], now[better]
        gradient[taken], normal[taken] = slope[better], bend[better]
        damping[active] *= np.where(better, 0.2, 8.0)
        settled = (better & (gain < _SETTLED)) | (damping[active] > 1e8)
        active = active[~settled]
        if not len(active):
            break
    sharing = _sharing(t, left_over, weights, pixel)
    news = samples / sharing
    noise = np.sqrt(np.sum(left_over**2, axis=1) / samples * news / np.maximum(news - size, 1.0))
    normal[:, diagonal, diagonal] += guess * (square / samples)[:, None] + 1e-12
    spread = np.linalg.inv(normal)[:, 0, 0]
    u = np.hypot(noise * np.sqrt(np.maximum(spread, 0.0) * sharing), _NEVER_BELOW * pixel)
    return p, np.where(news > size, u, np.inf), noise


def _sharing(t: Array, left_over: Array, weights: Array, pixel: Array) -> Array:
    """(N,) how many neighbouring samples tell the same news, 1 for independent ones.

    Bilinear interpolation lets the noise of samples a distance apart correlate as the cubic
    B-spline of that distance in pixels: 2/3 of the noise remains in a sample, all of it in
    a sum, so that dense samples share 1.5 pixel / spacing. Samples a pixel apart are taken
    for the pixels themselves. The noise of a photo has neighbours of its own (colour
    filter, denoising, JPEG): where all rows together show more, more is believed.
    """
    spacing = float(np.median(np.diff(t)))
    sharing = np.where(spacing < 0.99 * pixel, 1.5 * pixel / spacing, 1.0)
    if weights.sum() / float(np.median(sharing)) < _ENOUGH_TO_SEE:
        return sharing
    scale = np.sqrt(np.mean(left_over**2, axis=1, keepdims=True)) + 1e-12
    white = left_over / scale
    reach = math.ceil(_REACH * float(np.median(pixel)) / spacing)
    lags = range(1, min(reach, len(t) // 3) + 1)
    total = float(np.sum(white**2))
    seen = 1.0 + 2.0 * sum(float(np.sum(white[:, k:] * white[:, :-k])) for k in lags) / total
    return np.maximum(sharing, seen)
