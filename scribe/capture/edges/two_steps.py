"""Fit an edge with a shadow's border close beside it, in linear light.

In: scan lines as in `profile`, and how much the photo blurs. Out: where the inner step, the
object's own edge, lies. A thin board hides most of its shadow: what is left is a strip about
as wide as the photo is sharp, and one step fitted through both lies off by a part of it. Two
steps don't: the inner one is as blurred as the photo's marks, the outer one has a penumbra
of its own. Where no shadow can be seen, both levels of the outer step are alike.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.profile import StepFit, bell, phi, prepared, solve_rows

Array = npt.NDArray[np.float64]

# Standard deviations of the logarithms of both blurs and of the distance between the steps.
_BLUR_SD, _GAP_SD, _SOFT_SD = 0.15, 0.7, 0.7
_STARTS = ((1.5, 0.4), (4.0, 0.6))  # distance in blurs, part of the light


def fit_beside_shadow(
    t: Array, rows: Array, *, pixel: float | Array, blur: float, near: StepFit
) -> tuple[StepFit, Array]:
    """The inner of two steps in each row, and (N,) light beyond the outer one.

    t: (S,) mm, growing away from the object. rows: (N, S) linear light. blur: mm, standard
    deviation of the photo's own. near: one step fitted to the same rows. `high` of the
    result is the light between the steps; without a clear inner step a row isn't ok.
    """
    rows, weights, pixel = prepared(rows, pixel)

    def model(p: Array) -> tuple[Array, Array]:
        low, strip, far = p[:, 2, None], p[:, 3, None], p[:, 4, None]
        sharp, gap, soft = np.exp(p[:, 1, None]), np.exp(p[:, 5, None]), np.exp(p[:, 6, None])
        z0 = (t - p[:, 0, None]) / sharp
        z1 = (t - p[:, 0, None] - gap) / soft
        rise0, rise1 = phi(z0), phi(z1)
        slope0, slope1 = (strip - low) * bell(z0) / sharp, (far - strip) * bell(z1) / soft
        parts = (
            -slope0 - slope1,
            -slope0 * z0 * sharp,
            1.0 - rise0,
            rise0 - rise1,
            rise1,
            -slope1 * gap,
            -slope1 * z1 * soft,
        )
        return low + (strip - low) * rise0 + (far - strip) * rise1, np.stack(parts, axis=1)

    guess = np.array([0.0, _BLUR_SD**-2, 0.0, 0.0, 0.0, _GAP_SD**-2, _SOFT_SD**-2])
    best: tuple[Array, Array, Array] | None = None
    for gaps, part in _STARTS:
        start = _start(near, blur, gaps, part)
        found = solve_rows(model, t, rows, weights, pixel, start, guess)
        if best is None:
            best = found
            continue
        better = found[2] < best[2]
        best = (
            np.where(better[:, None], found[0], best[0]),
            np.where(better, found[1], best[1]),
            np.where(better, found[2], best[2]),
        )
    assert best is not None
    p, u, noise = best
    sharp = np.exp(p[:, 1])
    ok = (np.abs(p[:, 3] - p[:, 2]) > 3.0 * noise) & np.isfinite(u) & (u < 0.5 * sharp)
    ok &= (p[:, 0] > t[0]) & (p[:, 0] < t[-1])
    return StepFit(p[:, 0], u, p[:, 2], p[:, 3], sharp, noise, ok), p[:, 4]


def _start(near: StepFit, blur: float, gaps: float, part: float) -> Array:
    gap = np.full(len(near.position), gaps * blur)
    strip = near.low + part * (near.high - near.low)
    log_blur = np.full(len(gap), np.log(blur))
    return np.stack(
        [
            near.position - (1.0 - part) * gap,
            log_blur,
            near.low,
            strip,
            near.high,
            np.log(gap),
            log_blur + np.log(1.5),
        ],
        axis=1,
    )
