"""The shape of a tip, which all pins of a gauge share, from how their edges lie on the whole.

In: the samples of the edge over every pin, mm from the pin's middle. Out: `Shape`. A tip is taken
for a flat of half width `flat` between two corners of radius `round` (a full round when flat is
0): a segment grown by a disk. Shapes that the edge can't tell apart widen u.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.capture.gauge.aslant import End, bow

Array = npt.NDArray[np.float64]

_HALF_WIDTH = 0.47  # of the pitch: half of a pin, thin gaps left between


@dataclass(frozen=True)
class Shape:
    """Of a tip. flat, round: mm, see the module; u: mm, of how far its corners reach; known:
    False where the tips lie too level or too close to show their shape. bow: part of a half circle
    across the whole pin that its edge shows as well, because it was seen aslant; ends: what they
    may be.
    """

    flat: float
    round: float
    u: float
    known: bool
    bow: float = 0.0
    ends: frozenset[End] = frozenset({"blade"})

    def drop(self, s: Array) -> Array:
        """How far the tip lies below its apex, at s mm from the pin's middle."""
        out = np.clip(np.abs(s) - self.flat, 0.0, self.round)
        return np.asarray(self.round - np.sqrt(np.maximum(self.round**2 - out**2, 0.0)))

    def seen(self, s: Array) -> Array:
        """How far the tip's edge is seen to lie below its apex, at s mm from the pin's middle."""
        half = self.flat + self.round
        circle = half - np.sqrt(np.maximum(half**2 - s**2, 0.0))
        return np.asarray(self.drop(s) + self.bow * circle)


def usual_shape(
    s: Array, t: Array, pitch: float, slope: float, dome: bool
) -> tuple[Shape, float, float]:
    """The tip that fits the median of all pins, how far all middles lie off, and u of the
    apexes, mm, from not knowing the shape better.

    slope: of the line of sight along the pins, see `aslant`; dome: a ball it may be, whatever the
    edge looks like.
    """
    place, drop = _usual_drop(s, t, pitch)
    half = _HALF_WIDTH * pitch
    shapes = list(_shapes_made(half, slope))
    fits: list[tuple[float, float]] = []  # cost, lag
    lags = np.linspace(-0.12, 0.12, 25) * pitch
    for trial in shapes:
        left = drop + trial.seen(np.clip(place - lags[:, None], -half, half))
        left -= np.median(left, axis=1, keepdims=True)
        cost = np.abs(left).mean(axis=1) + 0.002 * np.abs(lags) / pitch
        cost += 0.006 * max(trial.round / half - 1.0, 0.0)  # rounder than wide is not usually made
        fits.append((float(cost.min()), float(lags[np.argmin(cost)])))
    costs = np.array([cost for cost, _ in fits])
    round_by = np.array([each.round for each in shapes])
    near = costs < costs.min() + 0.004
    near |= dome & np.array(["ball" in each.ends for each in shapes])
    alike = round_by[near]
    # What can't be told apart is taken for the shape that is made: sharp corners, or one round.
    best = int(np.argmin(costs))
    if alike.min() < 0.4 * half and alike.max() < 0.8 * half:
        best = int(np.argmin(np.where(near, round_by, np.inf)))
    elif 0.4 * half < alike.min() <= half <= alike.max():
        best = int(np.argmin(np.where(near, np.abs(round_by - half), np.inf)))
    spread = _spread(np.minimum(alike, half), min(shapes[best].round, half), half)
    u = float(np.hypot(spread, 0.03 * pitch))
    ends = frozenset().union(*(each.ends for each, one in zip(shapes, near, strict=True) if one))
    shape = replace(shapes[best], u=u, known=spread < 0.2 * half, ends=ends)
    extremes = [
        float(shapes[int(np.argmin(np.where(near, sign * round_by, np.inf)))].seen(place).mean())
        for sign in (1.0, -1.0)
    ]
    return shape, fits[best][1], abs(extremes[1] - extremes[0]) / 4.0


def _spread(alike: Array, taken: float, half: float) -> float:
    """u (mm) of the rounding taken, by all that look like it, of tips of a half width."""
    low, high = float(alike.min()), float(alike.max())
    if low >= 0.4 * half or high < 0.8 * half:
        return (high - low) / 4.0
    # They look like any: the true one lies anywhere between, and the one taken may be outermost.
    return float(np.sqrt(((high - taken) ** 3 + (taken - low) ** 3) / (3.0 * (high - low))))


def _shapes_made(half: float, slope: float) -> Iterator[Shape]:
    """The shapes that tips of a half width (mm) may have, as they are seen at a slope."""
    radii = np.linspace(0.02, 1.0, 25) * half
    wide = np.array([1.2, 1.5, 2.0, 3.0]) * half
    made: dict[End, Array] = {"blade": np.append(radii, wide), "rod": radii, "ball": radii[-1:]}
    for end, own in made.items():
        for radius in own:
            flat = max(half - float(radius), 0.0)
            yield Shape(flat, float(radius), 0.0, True, bow(end, slope), frozenset({end}))


def _usual_drop(s: Array, t: Array, pitch: float) -> tuple[Array, Array]:
    """(B,) places across a pin and the median over all pins of how its edge lies there, mm."""
    central = np.where(np.abs(s) < 0.2 * pitch, t, np.nan)
    shown = np.isfinite(central).any(axis=1)  # not hidden by a streak
    s, t = s[shown], t[shown]
    level = np.nanmedian(central[shown], axis=1, keepdims=True)
    bins = np.round(s / (0.05 * pitch)).astype(int)
    places = np.unique(bins)
    drops = {b: (t - level)[(bins == b) & np.isfinite(t)] for b in places if abs(b) < 0.37 / 0.05}
    seen = [b for b, each in drops.items() if len(each) > 2]  # a streak may hide one in all pins
    return np.array(seen) * 0.05 * pitch, np.array([np.median(drops[b]) for b in seen])
