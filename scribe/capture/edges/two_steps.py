"""Fit an edge with a shadow's border close beside it, in linear light.

In: scan lines as in `profile`, and how much the photo blurs. Out: where the inner step, the
object's own edge, lies. A thin board hides most of its shadow: what is left is a strip about
as wide as the photo is sharp, and one step fitted through both lies off by a part of it. Two
steps don't: the inner one is as blurred as the photo's marks, the outer one has a penumbra
of its own. Where no shadow can be seen, both levels of the outer step are alike.

Before a thicker object the shadow's border lies further off and is soft. Then the inner step is
looked for by itself, where it is known to lie within a few blurs.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.profile import StepFit, bell, phi, prepared
from scribe.capture.edges.row_solve import Model, solve_rows

Array = npt.NDArray[np.float64]

# Standard deviations of the logarithms of both blurs and of the distance between the steps.
_BLUR_SD, _GAP_SD, _SOFT_SD = 0.15, 0.7, 0.7
_STARTS = ((1.5, 0.4), (4.0, 0.6))  # distance in blurs, part of the light
_FAR_STARTS = (3.0, 8.0)  # distance in blurs: of a shadow that is seen beside its object
_FLAT, _STRIP = 2.0, (1.0, 2.5)  # blurs inside and outside of a step where its levels are read


def fit_beside_shadow(
    t: Array, rows: Array, *, pixel: float | Array, blur: float, near: StepFit
) -> tuple[StepFit, Array]:
    """The inner of two steps in each row, and (N,) light beyond the outer one.

    t: (S,) mm, growing away from the object. rows: (N, S) linear light. blur: mm, standard
    deviation of the photo's own. near: one step fitted to the same rows. `high` of the
    result is the light between the steps; without a clear inner step a row isn't ok.
    """
    starts = []
    for gaps, part in _STARTS:
        strip = near.low + part * (near.high - near.low)
        place = near.position - (1.0 - part) * gaps * blur
        starts.append(_start(place, near.low, strip, near.high, (gaps * blur, 1.5 * blur), blur))
    return _best(t, rows, pixel, starts)


def fit_inner_step(
    t: Array, rows: Array, *, pixel: float | Array, blur: float
) -> tuple[StepFit, Array]:
    """As fit_beside_shadow, of steps whose inner one lies near t = 0."""
    low = np.median(rows[:, t < -_FLAT * blur], axis=1)
    strip = np.median(rows[:, (t > _STRIP[0] * blur) & (t < _STRIP[1] * blur)], axis=1)
    high = np.median(rows[:, t > t[-1] - _FLAT * blur], axis=1)
    starts = [
        _start(np.zeros(len(rows)), low, strip, high, (gaps * blur, 0.5 * gaps * blur), blur)
        for gaps in _FAR_STARTS
    ]
    return _best(t, rows, pixel, starts)


def _start(
    place: Array, low: Array, strip: Array, high: Array, outer: tuple[float, float], blur: float
) -> Array:
    """(N, 7) parameters; outer: mm, distance of the outer step and its blur."""
    gap, soft = np.log(np.broadcast_to(np.array(outer)[:, None], (2, len(place))))
    return np.stack([place, np.full(len(place), np.log(blur)), low, strip, high, gap, soft], axis=1)


def _best(
    t: Array, rows: Array, pixel: float | Array, starts: list[Array]
) -> tuple[StepFit, Array]:
    """The fit that leaves least over in each row, and (N,) light beyond the outer step."""
    rows, weights, pixel = prepared(rows, pixel)
    guess = np.array([0.0, _BLUR_SD**-2, 0.0, 0.0, 0.0, _GAP_SD**-2, _SOFT_SD**-2])
    fits = [solve_rows(_light(t), t, rows, weights, pixel, start, guess) for start in starts]
    least = np.argmin([noise for _, _, noise in fits], axis=0)
    p, u, noise = (np.stack(part)[least, np.arange(len(rows))] for part in zip(*fits, strict=True))
    sharp = np.exp(p[:, 1])
    ok = (np.abs(p[:, 3] - p[:, 2]) > 3.0 * noise) & np.isfinite(u) & (u < 0.5 * sharp)
    ok &= (p[:, 0] > t[0]) & (p[:, 0] < t[-1])
    return StepFit(p[:, 0], u, p[:, 2], p[:, 3], sharp, noise, ok), p[:, 4]


def _light(t: Array) -> Model:
    """Light of two blurred steps, and its derivatives.

    Parameters: place, log of its blur, light before, between and beyond the steps, logs of the
    distance between them and of the outer one's blur.
    """

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

    return model
