"""Where words fit: the free space of a polygon on a coarse grid.

A summed-area table answers for all places at once whether a box of a given size lies
inside the polygon and touches nothing that was put there before.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.piece import Polygon

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_FINEST_MM, _MOST_CELLS = 1.0, 400
_NEARLY = 0.9  # of the longest free run


class FreeSpace:
    """The inside of a polygon, less what was taken. Cells are squares of `cell` mm."""

    def __init__(self, area: Polygon) -> None:
        self.low = area.outer.min(axis=0)
        span = np.ptp(area.outer, axis=0)
        self.cell = max(_FINEST_MM, float(span.max()) / _MOST_CELLS)
        columns, rows = np.maximum(np.floor(span / self.cell).astype(int), 1)
        x = self.low[0] + (np.arange(columns) + 0.5) * self.cell
        y = self.low[1] + (np.arange(rows) + 0.5) * self.cell
        self.free: Mask = inside(area, x, y)
        self.x, self.y = x, y

    def place(self, size: tuple[float, float], wanted: Array) -> Array | None:
        """Centre (2,) of the free box of size (width, height) nearest to `wanted`, or None."""
        across, up = (max(int(np.ceil(side / self.cell)) + 1, 1) for side in size)
        rows, columns = self.free.shape
        if across > columns or up > rows:
            return None
        table = np.zeros((rows + 1, columns + 1), np.int64)
        table[1:, 1:] = self.free.cumsum(axis=0).cumsum(axis=1)
        filled = table[up:, across:] - table[:-up, across:] - table[up:, :-across]
        filled = filled + table[:-up, :-across]
        row, column = np.nonzero(filled == up * across)
        if not len(row):
            return None
        corner = self.low + np.stack([column, row], axis=-1) * self.cell
        centres = corner + np.array([across, up]) * self.cell / 2
        return np.asarray(centres[np.hypot(*(centres - wanted).T).argmin()])

    def take(self, centre: Array, size: tuple[float, float], margin: float = 1.0) -> None:
        """Mark a box as used, with a margin in mm all round."""
        half = np.array(size) / 2 + margin
        columns = np.abs(self.x - centre[0]) < half[0]
        rows = np.abs(self.y - centre[1]) < half[1]
        self.free[np.ix_(rows, columns)] = False

    def longest_run(self, axis: int, margin: float, near: float) -> tuple[Array, Array] | None:
        """Ends (2,), (2,) of a long free run along x (axis 0) or y (1), margin mm inside.

        Of the runs that are nearly as long as the longest, the one nearest to `near`, a
        coordinate on the other axis.
        """
        free = self.free if axis == 0 else self.free.T
        along, across = (self.x, self.y) if axis == 0 else (self.y, self.x)
        first, last = free.argmax(axis=1), free.shape[1] - 1 - free[:, ::-1].argmax(axis=1)
        length = np.where(free.any(axis=1), along[last] - along[first] - 2 * margin, 0.0)
        if length.max() <= 0.0:
            return None
        good = np.flatnonzero(length >= _NEARLY * length.max())
        row = int(good[np.abs(across[good] - near).argmin()])
        ends = np.full((2, 2), across[row])
        ends[:, axis] = along[first[row]] + margin, along[last[row]] - margin
        return ends[0], ends[1]


def inside(area: Polygon, x: Array, y: Array) -> Mask:
    """(len(y), len(x)) True where the point x, y lies inside the polygon (even-odd rule)."""
    found = np.zeros((len(y), len(x)), bool)
    for ring in (area.outer, *area.holes):
        following = np.roll(ring, -1, axis=0)
        for row, level in enumerate(y):
            crossed = (ring[:, 1] <= level) != (following[:, 1] <= level)
            a, b = ring[crossed], following[crossed]
            cuts = np.sort(a[:, 0] + (level - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0]))
            found[row] ^= np.searchsorted(cuts, x) % 2 == 1
    return found


def hatching(area: Polygon, spacing: float) -> list[Array]:
    """Lines (2, 2) at 45 degrees, `spacing` mm apart, clipped to the polygon."""
    turn = np.array([[1.0, 1.0], [-1.0, 1.0]]) / np.sqrt(2.0)  # rows: along, across
    rings = [ring @ turn.T for ring in (area.outer, *area.holes)]
    low, high = rings[0][:, 1].min(), rings[0][:, 1].max()
    lines = []
    for level in np.arange(np.ceil(low / spacing) * spacing, high, spacing):
        cuts = []
        for ring in rings:
            following = np.roll(ring, -1, axis=0)
            crossed = (ring[:, 1] <= level) != (following[:, 1] <= level)
            a, b = ring[crossed], following[crossed]
            cuts.append(a[:, 0] + (level - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0]))
        along = np.sort(np.concatenate(cuts))
        for start, end in zip(along[::2], along[1::2], strict=True):
            lines.append(np.array([[start, level], [end, level]]) @ turn)
    return lines
