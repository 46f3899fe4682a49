"""Fit blurred steps and bars to many scan lines at once, in linear light.

In: light along N scan lines that share one axis t (mm). Out: where on the axis the edge or
the line's centre lies, with its standard uncertainty. A step is a Gaussian integral; a bar
is two of them with a background of two unequal sides, so that a shadow on one side can't
pull the centre over (the bias that C. Steger describes, IEEE PAMI 20(2), 1998, 113-125).

The uncertainty is that of least squares (JCGM 102, 6.3), counting pixels and not samples:
samples closer than a pixel are interpolated between the same pixels, their noise is
correlated and they carry no more information. What it can't know: light that isn't linear,
and a second edge inside the scan line.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.row_solve import ROUNDS, solve_rows

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

SATURATED = 0.985  # linear light from which a sample no longer tells how bright it was

# Phi by linear interpolation in an even table: 3e-7 off at most, and no library to load.
_TABLE_END, _TABLE_STEPS = 6.0, 4000
_TABLE = np.array(
    [0.5 * (1.0 + math.erf(x / math.sqrt(2.0)))
     for x in np.linspace(-_TABLE_END, _TABLE_END, _TABLE_STEPS + 1)]
)  # fmt: skip


@dataclass(frozen=True)
class StepFit:
    """Steps, one to a row: light = low + (high - low) * Phi((t - position) / blur).

    position, u: (N,) mm along t and its standard uncertainty.
    low: (N,) light before the step (small t); high: after it, less than low where it falls.
    blur: (N,) mm, standard deviation of the Gaussian that rounds the step.
    noise: (N,) light, standard deviation of what the model leaves over.
    ok: (N,) False where there is no step that stands out, or too little of it.
    """

    position: Array
    u: Array
    low: Array
    high: Array
    blur: Array
    noise: Array
    ok: Mask

    def replaced(self, rows: Mask, other: StepFit) -> StepFit:
        """These steps, in some rows (N,) those of another fit to the same scans."""
        names = [each.name for each in fields(self)]
        return StepFit(*(np.where(rows, getattr(other, n), getattr(self, n)) for n in names))


@dataclass(frozen=True)
class BarFit:
    """Bars, one to a row: `line` between centre - width / 2 and centre + width / 2.

    centre, u: (N,) mm along t and its standard uncertainty.
    width: (N,) mm. Of a bar thinner than its blur only width times contrast is known well.
    left, line, right: (N,) light before, on and after the line.
    blur, noise, ok: as in StepFit.
    """

    centre: Array
    u: Array
    width: Array
    left: Array
    line: Array
    right: Array
    blur: Array
    noise: Array
    ok: Mask

    @property
    def contrast(self) -> Array:
        """(N,) light of the line against the mean of its sides: below 0 for a dark line."""
        return self.line - 0.5 * (self.left + self.right)


def phi(x: Array) -> Array:
    """Standard normal integral, same shape as x."""
    scale = _TABLE_STEPS / (2.0 * _TABLE_END)
    # Up to just short of the end, so that there is a next entry.
    place = np.clip((x + _TABLE_END) * scale, 0.0, _TABLE_STEPS - 1e-9)
    entry = np.fmax(place, 0.0).astype(np.intp)  # what isn't a number points somewhere as well
    low = _TABLE.take(entry)
    return np.asarray(low + (place - entry) * (_TABLE.take(entry + 1) - low))


def fit_step(
    t: Array,
    rows: Array,
    *,
    pixel: float | Array,
    near: Array | None = None,
    slopes: bool = False,
) -> StepFit:
    """One step to each row, by least squares in a batch.

    t: (S,) mm, growing. rows: (N, S) linear light; NaN and saturated samples don't count.
    pixel: mm a photo pixel spans along the scan, one or (N,). near: (N,) mm, where the
    step is expected to be; left out, the steepest place of the row.
    slopes: let the light change evenly along both flats (beside a penumbra); low and high
    are then the light next to the step.
    """
    rows, weights, pixel = prepared(rows, pixel)
    start = _step_start(t, rows, pixel, near)

    def model(p: Array) -> tuple[Array, Array]:
        blur = np.exp(p[:, 1, None])
        away = t - p[:, 0, None]
        z = away / blur
        rise, hump = phi(z), bell(z)
        before, after = p[:, 2, None], p[:, 3, None]
        if slopes:
            before, after = before + p[:, 4, None] * away, after + p[:, 5, None] * away
        slope = (after - before) * hump / blur
        by_place = -slope
        parts = [by_place, -slope * z * blur, 1.0 - rise, rise]
        if slopes:
            parts[0] = by_place - p[:, 4, None] * (1.0 - rise) - p[:, 5, None] * rise
            parts += [away * (1.0 - rise), away * rise]
        return before + (after - before) * rise, np.stack(parts, axis=1)

    guess = np.array([0.0, 1.0, 0.0, 0.0])
    if slopes:
        guess = np.concatenate([guess, np.zeros(2)])
        start = np.concatenate([start, np.zeros((len(start), 2))], axis=1)
    p, u, noise = solve_rows(model, t, rows, weights, pixel, start, guess)
    blur = np.exp(p[:, 1])
    clear = np.abs(p[:, 3] - p[:, 2]) > 3.0 * noise
    inside = (p[:, 0] > t[0]) & (p[:, 0] < t[-1])
    ok = clear & inside & np.isfinite(u) & (u < 0.5 * np.maximum(blur, 0.5 * pixel))
    return StepFit(p[:, 0], u, p[:, 2], p[:, 3], blur, noise, ok)


def fit_bar(
    t: Array,
    rows: Array,
    *,
    pixel: float | Array,
    near: Array | None = None,
    dark: bool | None = None,
    rounds: int = ROUNDS,
) -> BarFit:
    """One bar to each row, by least squares in a batch; arguments as in fit_step.

    dark: look for lines darker than both sides, brighter ones, or (None) whichever stands
    out more in each row. rounds: of the search, at most.
    """
    rows, weights, pixel = prepared(rows, pixel)
    start = _bar_start(t, rows, pixel, near, dark)

    def model(p: Array) -> tuple[Array, Array]:
        half, blur = np.exp(p[:, 1, None]), np.exp(p[:, 2, None])
        left, line, right = p[:, 3, None], p[:, 4, None], p[:, 5, None]
        z0 = (t - p[:, 0, None] + half) / blur
        z1 = (t - p[:, 0, None] - half) / blur
        rise0, rise1 = phi(z0), phi(z1)
        slope0 = (line - left) * bell(z0) / blur
        slope1 = (right - line) * bell(z1) / blur
        parts = (
            -slope0 - slope1,
            (slope0 - slope1) * half,
            -(slope0 * z0 + slope1 * z1) * blur,
            1.0 - rise0,
            rise0 - rise1,
            rise1,
        )
        light = left + (line - left) * rise0 + (right - line) * rise1
        return light, np.stack(parts, axis=1)

    # Width and contrast of a thin line can't both be found: a wide guess about width and
    # blur (a factor of e) keeps them finite and says nothing about the centre.
    guess = np.array([0.0, 1.0, 1.0, 0.0, 0.0, 0.0])
    p, u, noise = solve_rows(model, t, rows, weights, pixel, start, guess, rounds)
    half, blur = np.exp(p[:, 1]), np.exp(p[:, 2])
    own = np.hypot(half, blur)
    inside = (p[:, 0] > t[0]) & (p[:, 0] < t[-1]) & (own < 0.5 * (t[-1] - t[0]))
    # A bar is darker (or brighter) than both of its sides; otherwise it's half of a step.
    deeper = (p[:, 3] - p[:, 4]) * (p[:, 5] - p[:, 4]) > 0.0
    ok = inside & deeper & np.isfinite(u) & (u < 0.3 * np.maximum(own, 0.5 * pixel))
    return BarFit(p[:, 0], u, 2.0 * half, p[:, 3], p[:, 4], p[:, 5], blur, noise, ok)


def prepared(rows: Array, pixel: float | Array) -> tuple[Array, Array, Array]:
    """Rows without NaN, the weight of every sample (0 or 1), mm to a pixel for every row."""
    useful = np.isfinite(rows) & (rows < SATURATED)
    filled = np.where(np.isfinite(rows), rows, 0.0)
    return filled, useful.astype(float), np.broadcast_to(np.asarray(pixel, float), len(rows))


def bell(z: Array) -> Array:
    """Standard normal density, same shape as z."""
    return np.exp(-0.5 * z * z) * (1.0 / math.sqrt(2.0 * math.pi))


def _end_levels(rows: Array) -> tuple[Array, Array]:
    """(N,) median light of the first and of the last quarter of each row."""
    quarter = max(2, rows.shape[1] // 4)
    return np.median(rows[:, :quarter], axis=1), np.median(rows[:, -quarter:], axis=1)


def _smoothed(rows: Array, t: Array, pixel: Array) -> Array:
    """Each row averaged over about two pixels."""
    reach = int(float(np.median(pixel)) / float(np.median(np.diff(t))))
    padded = np.pad(rows, ((0, 0), (reach, reach)), mode="edge")
    total = np.cumsum(np.pad(padded, ((0, 0), (1, 0))), axis=1)
    return (total[:, 2 * reach + 1 :] - total[:, : -2 * reach - 1]) / (2 * reach + 1)


def _favour(t: Array, near: Array | None, pixel: Array) -> Array | float:
    """What a start is multiplied by: places away from `near` count less."""
    if near is None:
        return 1.0
    return 1.0 / (1.0 + ((t - near[:, None]) / (4.0 * pixel[:, None])) ** 2)


def _step_start(t: Array, rows: Array, pixel: Array, near: Array | None) -> Array:
    smooth = _smoothed(rows, t, pixel)
    slope = np.gradient(smooth, t, axis=1)
    before, after = _end_levels(rows)
    if near is None:
        slope *= np.where(after < before, -1.0, 1.0)[:, None]
    else:
        slope = np.abs(slope) * _favour(t, near, pixel)
    best = np.argmax(slope, axis=1)
    steepest = np.maximum(slope[np.arange(len(rows)), best], 1e-12)
    blur = np.abs(after - before) / (math.sqrt(2.0 * math.pi) * steepest)
    blur = np.clip(blur, 0.5 * pixel, 5.0 * pixel)
    return np.stack([t[best], np.log(blur), before, after], axis=1)


def _bar_start(t: Array, rows: Array, pixel: Array, near: Array | None, dark: bool | None) -> Array:
    left, right = _end_levels(rows)
    ramp = (t - t[0]) / (t[-1] - t[0])
    away = _smoothed(rows, t, pixel) - (left[:, None] + (right - left)[:, None] * ramp)
    if dark is None:
        wanted = np.abs(away) * _favour(t, near, pixel)
    else:
        wanted = np.clip(-away if dark else away, 0.0, None) * _favour(t, near, pixel)
    every = np.arange(len(rows))
    best = np.argmax(wanted, axis=1)
    deep = away[every, best]
    # The run of samples round the best one that are at least half as deep.
    half = away * np.sign(deep)[:, None] > 0.5 * np.abs(deep)[:, None]
    index = np.arange(rows.shape[1])
    first = np.max(np.where(~half & (index < best[:, None]), index, 0), axis=1)
    last = np.min(np.where(~half & (index > best[:, None]), index, len(t) - 1), axis=1)
    width = np.maximum(0.5 * (t[last] - t[first]), 0.5 * pixel)
    blur = np.maximum(0.4 * width, 0.6 * pixel)
    centre = 0.5 * (t[first] + t[last])
    level = 0.5 * (left + right) + 1.2 * deep
    return np.stack([centre, np.log(width), np.log(blur), left, level, right], axis=1)
