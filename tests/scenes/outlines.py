"""Known outlines y(x): smooth walls, a moulding with arris and cove, steps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.ndimage import maximum_filter1d, minimum_filter1d
from shapely import LineString

Array = np.ndarray
_STEP = 0.02
NEAR = 1.0


@dataclass(frozen=True)
class Curve:
    """y(x) as a table with a fixed step, straight between its values; mm.

    The table is the outline: whatever is drawn or touched is drawn or touched from it.
    """

    x0: float
    values: Array
    step: float = _STEP

    @property
    def x1(self) -> float:
        return self.x0 + (len(self.values) - 1) * self.step

    @cached_property
    def _around(self) -> tuple[Array, Array]:
        """The lowest and the highest value within NEAR of each x."""
        count = 2 * round(NEAR / self.step) + 1
        return minimum_filter1d(self.values, count), maximum_filter1d(self.values, count)

    def at(self, x: Array) -> Array:
        """Height at x (any shape), in the precision of x; level beyond the ends."""
        return self._read(x, self.values)

    def between(self, x0: float, x1: float) -> tuple[float, float]:
        """The lowest and the highest height from x0 to x1."""
        first, last = (int((x - self.x0) / self.step) for x in (x0, x1))
        end = len(self.values) - 1
        part = self.values[min(max(first - 1, 0), end) : min(max(last + 2, 0), end) + 1]
        return float(part.min()), float(part.max())

    def distance(self, x: Array, y: Array) -> Array:
        """Distance to the curve, upright parts included; NEAR or more where it is not near."""
        far = np.full_like(x, NEAR)
        low, high = self._around
        near = (y > self._read(x, low) - NEAR) & (y < self._read(x, high) + NEAR)
        x, y = x[near].astype(float), y[near].astype(float)
        best = np.full_like(x, NEAR)
        taps = np.linspace(-NEAR, NEAR, 21)
        ax, ay = taps[0], self.at(x + taps[0]) - y
        for bx in taps[1:]:
            by = self.at(x + bx) - y
            rise = by - ay
            along = np.clip(-(ax * (bx - ax) + ay * rise) / ((bx - ax) ** 2 + rise**2), 0, 1)
            np.minimum(best, np.hypot(ax + along * (bx - ax), ay + along * rise), out=best)
            ax, ay = bx, by
        far[near] = best
        return far

    def _read(self, x: Array, table: Array) -> Array:
        place = (x - self.x0) / self.step
        np.clip(place, 0, len(table) - 1, out=place)
        index = np.minimum(place.astype(np.int32), len(table) - 2)
        place -= index
        if not index.size:
            return place
        first = int(index.min())  # of a long table only the part that is read
        part = table[first : int(index.max()) + 2]
        low, rise = part.astype(x.dtype), np.diff(part).astype(x.dtype)
        index -= first
        place *= rise.take(index)
        place += low.take(index)
        return place

    def polyline(self, x0: float, x1: float) -> Array:
        """(N, 2) the outline from x0 to x1: every 0.25 mm, and wherever it bends by 2 microns."""
        own = self.x0 + self.step * np.arange(len(self.values))
        own = np.concatenate([[x0], own[(own > x0 + 1e-6) & (own < x1 - 1e-6)], [x1]])
        full = np.column_stack([own, self.at(own)])
        bends = np.array(LineString(full).simplify(0.002).coords)
        even = np.linspace(x0, x1, round((x1 - x0) / 0.25) + 1)
        x = np.union1d(bends[:, 0], even)
        x = x[np.append(True, np.diff(x) > 1e-6)]
        return np.column_stack([x, self.at(x)])


def curve(height: Callable[[Array], Array], x0: float, x1: float) -> Curve:
    x = np.arange(x0, x1 + _STEP, _STEP)
    return Curve(x0, np.asarray(height(x), float))


def smooth(rng: np.random.Generator, x0: float, x1: float, y: float, *, swing: float) -> Curve:
    """A wall: a slope and four waves from 20 mm to the length of the view, within swing of y."""
    waves = [(rng.uniform(0.3, 1), rng.uniform(0, 2 * np.pi), w) for w in (130, 75, 40, 22)]

    def height(x: Array) -> Array:
        wave = sum(a * (w / 130) ** 1.3 * np.sin(2 * np.pi * x / w + p) for a, p, w in waves)
        wave = wave + rng_slope * (x - (x0 + x1) / 2)
        wave = wave - (wave.max() + wave.min()) / 2
        return np.asarray(y + swing * wave / np.abs(wave).max())

    rng_slope = float(rng.uniform(-0.012, 0.012))
    return curve(height, x0, x1)


def moulding(rng: np.random.Generator, x0: float, x1: float, y: float, *, swing: float) -> Curve:
    """The profile of a moulding: flat, cove, arris, fillet, ovolo, flat."""
    length = x1 - x0
    radius = min(swing, 0.2 * length)
    start = x0 + length * rng.uniform(0.25, 0.35)
    fillet = rng.uniform(4, 8)
    ovolo = radius * rng.uniform(0.6, 0.8)

    def height(x: Array) -> Array:
        run = x - start
        cove = radius - np.sqrt(np.clip(radius**2 - np.clip(run, 0, radius) ** 2, 0, None))
        # The arris: the cove ends upright; beyond it the fillet drops at once by a fifth.
        level = np.where(run <= radius, cove, 0.8 * radius)
        over = np.clip(run - radius - fillet, 0, ovolo)
        level = level - np.where(
            run > radius + fillet, ovolo - np.sqrt(np.clip(ovolo**2 - over**2, 0, None)), 0.0
        )
        return np.asarray(y - 0.5 * radius + level)

    return curve(height, x0, x1)


def steps(rng: np.random.Generator, x0: float, x1: float, y: float, *, swing: float) -> Curve:
    """Level stretches joined by risers 0.3 mm wide, as bricks or boards that stand proud."""
    edges = np.sort(rng.uniform(x0 + 15, x1 - 15, 3))
    edges = np.array([x0 + 15, (x0 + x1) / 2, x1 - 15]) * 0.4 + edges * 0.6
    levels = y + swing * 0.5 * rng.uniform(-1, 1, 4)
    knots = np.concatenate([[x0], np.repeat(edges, 2) + np.tile([-0.15, 0.15], 3), [x1]])
    return curve(lambda x: np.interp(x, knots, np.repeat(levels, 2)), x0, x1)


SHAPES = {"smooth": smooth, "moulding": moulding, "steps": steps}
