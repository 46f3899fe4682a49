"""The largest upright rectangle in a free area: what a level and plumb box can fill.

In: areas of the plane in mm, y up, as `geom.region` makes them (holes are what stands in the
way). Out: rectangles with sides along x and y whose inside touches nothing of the border.

Over a strip x0 < x < x1 every side of the border blocks the heights it runs through; what lies
between two blocked stretches is wholly free or wholly solid. So the tallest rectangle over a
strip is exact, for any polygon. Which strip is best is searched for: all pairs out of the
corners and an even grid, then ever finer around the best few (own construction; a value that is
not unimodal between two grid lines may be missed by less than a grid step).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from scribe.geom.region import Area

Array = npt.NDArray[np.float64]
Value = Callable[[Array, Array], Array]
Limit = Callable[[Array, Array], Array]

_GRID = 40  # even strips' borders over the whole width, besides the corners
_STARTS = 4  # the best few strips are followed up
_FINER = 9  # borders tried on each side in one round
_ROUNDS = 28  # each halves what is searched: 2.4 m / 40 / 2**28 is below a nanometre
_UPRIGHT_MM = 1e-9  # a side that runs less than this along x stands upright
_NEAR_ROUNDS = 16  # 12 mm / 2**16 is below a micrometre


class Rectangle(NamedTuple):
    """x0 <= x <= x1, y0 <= y <= y1, mm; empty when a side is not longer than 0."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def width(self) -> float:
        """Along x, mm."""
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        """Along y, mm."""
        return self.y1 - self.y0


def tallest(areas: Sequence[Area], x0: Array, x1: Array) -> tuple[Array, Array]:
    """The tallest free stretch over each strip x0 < x < x1: its foot and its head, mm.

    x0, x1: (K,). Where nothing is free both are 0; a strip without width is seen as a line.

    >>> tallest([Area(np.array([[0.0, 0], [4, 0], [4, 2], [0, 3]]))], np.array([0.0]),
    ...         np.array([4.0]))
    (array([0.]), array([2.]))
    """
    starts, stops = _sides(areas)
    low, high = _blocked(starts, stops, x0, x1)
    order = np.argsort(low, axis=1)
    low, high = np.take_along_axis(low, order, 1), np.take_along_axis(high, order, 1)
    reached = np.maximum.accumulate(high, axis=1)[:, :-1]
    gaps = np.where(np.isfinite(low[:, 1:]), low[:, 1:] - reached, 0.0)
    strip, gap = np.nonzero(gaps > 0.0)
    middle_y = reached[strip, gap] + gaps[strip, gap] / 2
    free = _inside(starts, stops, ((x0 + x1) / 2)[strip], middle_y)
    gaps = np.where(gaps > 0.0, gaps, 0.0)
    gaps[strip[~free], gap[~free]] = 0.0
    best = np.argmax(gaps, axis=1)[:, None]
    height = np.take_along_axis(gaps, best, 1)[:, 0]
    foot = np.where(height > 0.0, np.take_along_axis(reached, best, 1)[:, 0], 0.0)
    return foot, foot + height


def largest(
    areas: Sequence[Area], value: Value | None = None, limit: Limit | None = None
) -> Rectangle | None:
    """The free rectangle of the greatest value, which is its area unless another is given.

    value: of widths (K,) and heights (K,) to (K,); never falls when either grows. limit: the
    greatest height allowed for strips x0, x1 (K,) each. None when no rectangle has a value
    above 0.

    >>> largest([Area(np.array([[0.0, 0], [6, 0], [0, 4]]))])  # half of each leg
    Rectangle(x0=0.0, y0=0.0, x1=3.0, y1=2.0)
    """
    worth = value or (lambda width, height: width * height)
    corners = np.unique(_sides(areas)[0][:, 0])
    grid = np.unique(np.concatenate([corners, np.linspace(corners[0], corners[-1], _GRID + 1)]))

    def rated(x0: Array, x1: Array) -> tuple[Array, Array, Array]:
        foot, head = tallest(areas, x0, x1)
        if limit is not None:
            head = np.minimum(head, foot + np.maximum(limit(x0, x1), 0.0))
        return worth(x1 - x0, head - foot), foot, head

    first, second = np.triu_indices(len(grid), 1)
    values, _, _ = rated(grid[first], grid[second])
    found: list[tuple[float, Rectangle]] = []
    step = (corners[-1] - corners[0]) / _GRID
    for at in np.argsort(-values, kind="stable")[:_STARTS]:
        x0, x1 = float(grid[first[at]]), float(grid[second[at]])
        found.append(_closer(rated, x0, x1, step, (corners[0], corners[-1])))
    best = max(found, key=lambda each: each[0])
    return best[1] if best[0] > 0.0 else None


def tallest_near(areas: Sequence[Area], width: float, x0: float, reach: float) -> Rectangle:
    """The tallest rectangle of that width whose left side lies within reach of x0, mm."""
    step, best = reach, x0
    for _ in range(_NEAR_ROUNDS):
        places = best + step * np.linspace(-1.0, 1.0, _FINER)
        foot, head = tallest(areas, places, places + width)
        best = float(places[int(np.argmax(head - foot))])
        step /= 2.0
    foot, head = tallest(areas, np.array([best]), np.array([best + width]))
    return Rectangle(best, float(foot[0]), best + width, float(head[0]))


def widest_near(areas: Sequence[Area], height: float, y0: float, reach: float) -> Rectangle:
    """The widest rectangle of that height whose foot lies within reach of y0, mm."""
    lying = [Area(area.outer[:, ::-1], tuple(h[:, ::-1] for h in area.holes)) for area in areas]
    found = tallest_near(lying, height, y0, reach)
    return Rectangle(found.y0, found.x0, found.y1, found.x1)


def _closer(
    rated: Callable[[Array, Array], tuple[Array, Array, Array]],
    x0: float,
    x1: float,
    step: float,
    ends: tuple[float, float],
) -> tuple[float, Rectangle]:
    """Ever finer around one strip; what was found is only left for something better."""
    values, feet, heads = rated(np.array([x0]), np.array([x1]))
    value, foot, head = float(values[0]), float(feet[0]), float(heads[0])
    spread = np.linspace(-1.0, 1.0, _FINER)
    for _ in range(_ROUNDS):
        left = np.repeat(x0 + step * spread, _FINER).clip(*ends)
        right = np.tile(x1 + step * spread, _FINER).clip(*ends)
        wide = right > left
        left, right = left[wide], right[wide]
        values, feet, heads = rated(left, right)
        at = int(np.argmax(values))
        if values[at] > value:
            x0, x1 = float(left[at]), float(right[at])
            value, foot, head = float(values[at]), float(feet[at]), float(heads[at])
        step /= 2.0
    return value, Rectangle(x0, foot, x1, head)


def _sides(areas: Sequence[Area]) -> tuple[Array, Array]:
    rings = [ring for area in areas for ring in (area.outer, *area.holes)]
    return np.vstack(rings), np.vstack([np.roll(ring, -1, axis=0) for ring in rings])


def _blocked(starts: Array, stops: Array, x0: Array, x1: Array) -> tuple[Array, Array]:
    """(K, E) lowest and highest y of each side within each open strip; inf where it has none."""
    (ax, ay), (bx, by) = starts.T, stops.T
    run = bx - ax
    upright = np.abs(run) < _UPRIGHT_MM
    slope = np.where(upright, 0.0, (by - ay) / np.where(upright, 1.0, run))
    left, right = np.minimum(ax, bx), np.maximum(ax, bx)
    from_x = np.clip(x0[:, None], left, right)
    to_x = np.clip(x1[:, None], left, right)
    y_from, y_to = ay + slope * (from_x - ax), ay + slope * (to_x - ax)
    low = np.where(upright, np.minimum(ay, by), np.minimum(y_from, y_to))
    high = np.where(upright, np.maximum(ay, by), np.maximum(y_from, y_to))
    seen = (left < x1[:, None]) & (right > x0[:, None])
    return np.where(seen, low, np.inf), np.where(seen, high, -np.inf)


def _inside(starts: Array, stops: Array, x: Array, y: Array) -> npt.NDArray[np.bool_]:
    """Whether points (P,) lie within the rings: an odd number of sides lies above them."""
    leaning = np.abs(stops[:, 0] - starts[:, 0]) >= _UPRIGHT_MM
    (ax, ay), (bx, by) = (ends[leaning].T[:, :, None] for ends in (starts, stops))
    over = (np.minimum(ax, bx) <= x) & (x < np.maximum(ax, bx))
    above = over & (ay + (by - ay) * (x - ax) / (bx - ax) > y)
    return np.asarray(above.sum(axis=0) % 2 == 1)
