"""Where words fit: the free space of a polygon within a window, on a grid.

A summed-area table answers for all places at once whether a box of a given size lies
inside the polygon and touches nothing that was put there before.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from scribe.geom.frames import outer_from_axis
from scribe.geom.polyline import resample
from scribe.output.piece.drawing import Box
from scribe.piece import Polygon

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_FINEST_MM, _MOST_CELLS = 1.0, 600  # along the longer side
_NEARLY = 0.9  # of the longest free run


class FreeSpace:
    """The inside of a polygon within a window, less what was taken, as squares of `cell` mm."""

    def __init__(self, area: Polygon, window: Box) -> None:
        self.low = np.maximum(area.outer.min(axis=0), window[:2])
        high = np.minimum(area.outer.max(axis=0), window[2:])
        self.cell = max(_FINEST_MM, float((high - self.low).max()) / _MOST_CELLS)
        columns, rows = np.maximum(np.floor((high - self.low) / self.cell).astype(int), 0)
        self.x = self.low[0] + (np.arange(columns) + 0.5) * self.cell
        self.y = self.low[1] + (np.arange(rows) + 0.5) * self.cell
        self.free: Mask = inside(area, self.x, self.y)

    def place(self, size: tuple[float, float], wanted: Array) -> Array | None:
        """Centre (2,) of the free box of size (width, height) nearest to `wanted`, or None."""
        across, up = (max(int(np.ceil(side / self.cell)) + 1, 1) for side in size)
        rows, columns = self.free.shape
        if across > columns or up > rows:
            return None
        table = np.zeros((rows + 1, columns + 1), np.int32)
        self.free.cumsum(axis=0, out=table[1:, 1:]).cumsum(axis=1, out=table[1:, 1:])
        filled = table[up:, across:] - table[:-up, across:] - table[up:, :-across]
        filled = filled + table[:-up, :-across]
        row, column = np.nonzero(filled == up * across)
        if not len(row):
            return None
        x = self.low[0] + column * self.cell + across * self.cell / 2
        y = self.low[1] + row * self.cell + up * self.cell / 2
        nearest = np.hypot(x - wanted[0], y - wanted[1]).argmin()
        return np.array([x[nearest], y[nearest]])

    def take(self, box: Box, margin: float) -> None:
        """Mark a box as used, with a margin in mm all round."""
        x0, y0, x1, y1 = box
        columns = _between(self.x, x0 - margin, x1 + margin)
        rows = _between(self.y, y0 - margin, y1 + margin)
        self.free[rows, columns] = False

    def take_area(self, area: Polygon) -> None:
        """Mark a polygon as used."""
        self.free &= ~inside(area, self.x, self.y)

    def only(self, area: Polygon) -> None:
        """Mark everything outside a polygon as used."""
        self.free &= inside(area, self.x, self.y)

    def take_line(self, line: Array, margin: float) -> None:
        """Mark everything within margin mm (in x and in y) of a polyline (N, 2) as used."""
        rows, columns = self.free.shape
        span = np.array([columns, rows]) * self.cell
        low, high = line.min(axis=0) - margin, line.max(axis=0) + margin
        if ((high < self.low) | (low > self.low + span)).any():
            return
        points = resample(line, self.cell)
        reach = int(np.ceil(margin / self.cell))
        middle = np.floor((points - self.low) / self.cell).astype(int)
        near = ((middle > -reach - 1) & (middle < [columns + reach, rows + reach])).all(axis=1)
        for column, row in middle[near].tolist():
            self.free[
                max(row - reach, 0) : max(row + reach + 1, 0),
                max(column - reach, 0) : max(column + reach + 1, 0),
            ] = False

    def longest_run(self, axis: int, margin: float, near: float) -> tuple[Array, Array] | None:
        """Ends (2,), (2,) of a long free run along x (axis 0) or y (1), margin mm inside.

        The margin is kept to the sides as well, unless nothing is as wide as that. Of the
        runs that are nearly as long as the longest, the one nearest to `near`, a coordinate
        on the other axis.
        """
        free = self.free if axis == 0 else self.free.T
        along, across = (self.x, self.y) if axis == 0 else (self.y, self.x)
        aside = min(int(np.ceil(margin / self.cell)), (len(free) - 1) // 2)
        first = np.where(free.any(axis=1), free.argmax(axis=1), free.shape[1])
        last = np.where(free.any(axis=1), free.shape[1] - 1 - free[:, ::-1].argmax(axis=1), -1)
        first = sliding_window_view(first, 2 * aside + 1).max(axis=1)
        last = sliding_window_view(last, 2 * aside + 1).min(axis=1)
        length = self.cell * (last - first) - 2 * margin
        if length.max() <= 0.0:
            return None
        good = np.flatnonzero(length >= _NEARLY * length.max())
        row = int(good[np.abs(across[good + aside] - near).argmin()])
        ends = np.full((2, 2), across[row + aside])
        ends[:, axis] = along[first[row]] + margin, along[last[row]] - margin
        return ends[0], ends[1]


def _between(ascending: Array, low: float, high: float) -> slice:
    return slice(int(ascending.searchsorted(low, "right")), int(ascending.searchsorted(high)))


def rectangle(box: Box) -> Polygon:
    """The box as a polygon."""
    x0, y0, x1, y1 = box
    return Polygon(np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]))


def inside(area: Polygon, x: Array, y: Array) -> Mask:
    """(len(y), len(x)) True where the point x, y lies inside the polygon (even-odd rule).

    x, y: ascending. Every edge is taken to the rows it crosses, and what lies to the right
    of an odd number of crossings is inside.
    """
    crossings = np.zeros((len(y), len(x) + 1), np.int32)
    for a in (area.outer, *area.holes):
        b = np.roll(a, -1, axis=0)
        first = np.searchsorted(y, np.minimum(a[:, 1], b[:, 1]))
        count = np.searchsorted(y, np.maximum(a[:, 1], b[:, 1])) - first
        edge = np.repeat(np.arange(len(a)), count)
        row = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count - first, count)
        share = (y[row] - a[edge, 1]) / (b[edge, 1] - a[edge, 1])
        column = np.searchsorted(x, a[edge, 0] + share * (b[edge, 0] - a[edge, 0]), side="right")
        np.add.at(crossings, (row, column), 1)
    return np.asarray(crossings.cumsum(axis=1, out=crossings)[:, :-1] & 1, bool)


def hatching(
    area: Polygon,
    spacing: float,
    spared: Sequence[Array] = (),
    *,
    angle: float = 0.0,
    within: Array | None = None,
) -> list[Array]:
    """Lines (2, 2) at 45 degrees, `spacing` mm apart, clipped to the polygon.

    They stop at the spared areas, convex (N, 2), as hatching is interrupted round lettering
    (ISO 128). angle: radians by which the paper is turned, so that they run on from sheet to sheet.
    within: (N, 2) corners of what is shown; lines that miss the box around it are left out.
    """
    axes = outer_from_axis((0.0, 0.0), (np.cos(angle + np.pi / 4), np.sin(angle + np.pi / 4)))
    rings = [ring @ axes.rotation for ring in (area.outer, *area.holes)]  # along, across
    sides = [(ring, np.roll(ring, -1, axis=0)) for ring in rings]
    shown = rings[0] if within is None else within @ axes.rotation
    (first, lowest), (last, highest) = shown.min(axis=0).tolist(), shown.max(axis=0).tolist()
    low = max(float(rings[0][:, 1].min()), lowest)
    high = min(float(rings[0][:, 1].max()), highest)
    left_out = [each @ axes.rotation for each in spared]
    reach = np.array([(each[:, 1].min(), each[:, 1].max()) for each in left_out]).reshape(-1, 2)
    lines = []
    for level in np.arange(np.ceil(low / spacing) * spacing, high, spacing):
        cuts = []
        for ring, following in sides:
            crossed = (ring[:, 1] <= level) != (following[:, 1] <= level)
            a, b = ring[crossed], following[crossed]
            cuts.append(a[:, 0] + (level - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0]))
        along = np.sort(np.concatenate(cuts))
        met = np.flatnonzero((reach[:, 0] <= level) & (level <= reach[:, 1]))
        gaps = [_under(left_out[k], float(level)) for k in met]
        for start, end in zip(along[::2], along[1::2], strict=True):
            if end < first or start > last:
                continue
            stretches = [(float(start), float(end))]
            for gap in gaps:
                stretches = _without(stretches, gap)
            lines += [axes.apply([[a, level], [b, level]]) for a, b in stretches]
    return lines


def _under(area: Array, level: float) -> tuple[float, float]:
    """Where a hatching line crosses a convex area (along, across); from > to if it misses."""
    a, b = area, np.roll(area, -1, axis=0)
    met = np.flatnonzero((a[:, 1] <= level) != (b[:, 1] <= level))
    if not len(met):
        return 1.0, 0.0
    share = (level - a[met, 1]) / (b[met, 1] - a[met, 1])
    along = a[met, 0] + share * (b[met, 0] - a[met, 0])
    return float(along.min()), float(along.max())


def _without(
    stretches: list[tuple[float, float]], gap: tuple[float, float]
) -> list[tuple[float, float]]:
    low, high = gap
    if low >= high:
        return stretches
    parts = [part for a, b in stretches for part in ((a, min(b, low)), (max(a, high), b))]
    return [(a, b) for a, b in parts if b > a]
