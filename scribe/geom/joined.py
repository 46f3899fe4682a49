"""How surely sheets lie that were joined in the plane: small shifts and turns, by least squares.

Each sheet may lie off by a shift (x, y) and a turn about the origin. What was seen of them (two
marks that meet, a distance measured, an edge laid on a line) is a linear function of these with a
standard uncertainty; all together give the covariance of the joined sheets (JCGM 102, 6.3; the
normal equations of an adjustment). A turn of a sheet shifts what is far along by the turn times
the distance: that is why a long chain bends.

Valid while turns times distances stay small against the distances: some milliradians here.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

_FREE, _FIXED = 1e3, 1e-3  # mm, standard uncertainty of what nothing holds, and of what is held
_ARM = 1e3  # mm: turns are reckoned as shifts so far away, to keep numbers of one size


class Joined:
    """Sheets 0 to count - 1, and what was seen of them so far.

    Points are (2,) mm, in the frame in which all lie as they should.
    """

    def __init__(self, count: int) -> None:
        self.count = count
        self.information: Array = np.eye(3 * count) / _FREE**2

    def fix(self, sheet: int) -> None:
        """Everything is told as seen from this sheet."""
        for row in range(3):
            seen = np.zeros(3 * self.count)
            seen[3 * sheet + row] = 1.0
            self._see(seen, _FIXED)

    def meet(self, one: int, other: int, at: Array, u: float) -> None:
        """A point of one sheet lies on the same point of another: to u mm, along x and along y."""
        for way in np.eye(2):
            self._see(self._move(one, at, way) - self._move(other, at, way), u)

    def apart(self, one: int, at: Array, other: int, to: Array, u: float) -> None:
        """A point of one sheet lies as far from a point of another as it should, to u mm."""
        way = (to - at) / np.hypot(*(to - at))
        self._see(self._move(other, to, way) - self._move(one, at, way), u)

    def lie(self, sheet: int, at: Array, way: Array, u: float) -> None:
        """A point of a sheet lies where it should along a unit vector, to u mm."""
        self._see(self._move(sheet, at, way), u)

    def u(self, sheets: npt.NDArray[np.int64], points: Array, ways: Array) -> Array:
        """(N,) mm, standard uncertainty of the place of points (N, 2) of sheets (N,) along unit
        vectors (N, 2).
        """
        covariance = np.linalg.inv(self.information)
        rows = np.array(
            [self._move(int(k), at, way) for k, at, way in zip(sheets, points, ways, strict=True)]
        ).reshape(-1, 3 * self.count)
        return np.asarray(np.sqrt(np.einsum("ij,jk,ik->i", rows, covariance, rows)))

    def _move(self, sheet: int, at: Array, way: Array) -> Array:
        """(3 count,): by how much a point moves along `way` for each shift and turn."""
        row = np.zeros(3 * self.count)
        turn = (way[1] * at[0] - way[0] * at[1]) / _ARM
        row[3 * sheet : 3 * sheet + 3] = way[0], way[1], turn
        return row

    def _see(self, row: Array, u: float) -> None:
        self.information = self.information + np.outer(row, row) / u**2
