"""The band in which a line joined from marks may lie, and where and how high a mark may stand."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]

MARK_MM = 0.1  # people mark to a tenth with a sharp knife and a rule
HAIR = 1e-9


@dataclass(frozen=True)
class Band:
    """Between r - tolerance and r, (N,) mm at stations s (N,) mm, rising.

    may: (N,) where a mark may stand. low, high: (N,) the least and the most that may be marked
    there, in whole tenths of a millimetre.
    """

    s: Array
    r: Array
    tolerance: float
    may: Mask
    low: Index
    high: Index

    @cached_property
    def places(self) -> Index:
        """(K,) the stations where a mark may stand."""
        return np.flatnonzero(self.may)

    def left(self, line: Array) -> Array:
        """(..., N) mm that lines (..., N) leave on the piece; they take too much where negative."""
        return self.r - line

    def beyond(self, line: Array) -> Array:
        """(...) mm by which lines (..., N) leave the band at most; negative inside."""
        left = self.left(line)
        return np.asarray(np.maximum(-left, left - self.tolerance).max(axis=-1))


def band_of(s: Array, r: Array, tolerance: float, may: Mask) -> Band:
    """The band of a profile; what is marked is never negative, and never more than r."""
    high = np.floor(r / MARK_MM + HAIR).astype(np.int64)
    low = np.ceil(np.maximum(r - tolerance, 0.0) / MARK_MM - HAIR).astype(np.int64)
    return Band(s, r, tolerance, may, np.minimum(low, high), high)
