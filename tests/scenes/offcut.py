"""What was sawn off a board, left lying beside it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tests.scenes.outlines import Array
from tests.scenes.solids import Board, Box, share


@dataclass(frozen=True)
class Offcut:
    """piece: what it was sawn off. gap: mm by which it was drawn apart. upper: mm, its far side."""

    piece: Board
    gap: float
    upper: float

    @property
    def box(self) -> Box:
        x0, _, x1, _ = self.piece.box
        return x0, float(self.piece.top.values.min()) + self.gap, x1, self.upper

    @property
    def z_low(self) -> float:
        return self.piece.z_low

    @property
    def z_top(self) -> float:
        return self.piece.z_top

    @property
    def tint(self) -> tuple[float, float, float]:
        return self.piece.tint

    @property
    def side(self) -> float:
        return self.piece.side

    def cover(self, x: Array, y: Array, w: float) -> Array:
        """Between its own sides, but for what the piece would cover if it lay higher by the gap."""
        below = replace(self.piece, bottom=-np.inf).cover(x, y - x.dtype.type(self.gap), w)
        x0, x1 = self.piece.ends
        across = share((x1 - x0) / 2 - np.abs(x - x.dtype.type((x0 + x1) / 2)), w)
        return np.asarray(share(self.upper - y, w) * across * (1 - below))

    def albedo(self, x: Array, y: Array, w: float) -> Array:
        return self.piece.surface.at(x, y, w)
