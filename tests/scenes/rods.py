"""Round-ended rods as solids: fingers, pencils, crumbs, coins."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.scenes.outlines import Array
from tests.scenes.solids import Box, share
from tests.scenes.things import Tint


@dataclass(frozen=True, eq=False)
class Rods:
    """Round-ended rods a (K, 2) to b (K, 2), of radius r (K,), mm: fingers, crumbs, coins."""

    a: Array
    b: Array
    r: Array
    z_low: float
    z_top: float
    tint: Tint
    side: float = 0.4
    face: float = 1.0

    @property
    def box(self) -> Box:
        ends, most = np.vstack([self.a, self.b]), float(self.r.max())
        (x0, y0), (x1, y1) = ends.min(axis=0) - most, ends.max(axis=0) + most
        return float(x0), float(y0), float(x1), float(y1)

    def cover(self, x: Array, y: Array, w: float) -> Array:
        inside = np.full_like(x, -w)
        low, high = np.array([x.min(), y.min()]), np.array([x.max(), y.max()])
        for a, b, r in zip(self.a, self.b, self.r, strict=True):
            if (np.minimum(a, b) - r - w > high).any() or (np.maximum(a, b) + r + w < low).any():
                continue
            run = (b - a).astype(x.dtype)
            part = (x - x.dtype.type(a[0])) * run[0] + (y - x.dtype.type(a[1])) * run[1]
            part = np.clip(part / max(float(run @ run), 1e-9), 0, 1)
            dx = x - x.dtype.type(a[0]) - part * run[0]
            dy = y - x.dtype.type(a[1]) - part * run[1]
            np.maximum(inside, x.dtype.type(r) - np.hypot(dx, dy), out=inside)
        return share(inside, w)

    def albedo(self, x: Array, y: Array, w: float) -> Array:  # noqa: ARG002 - as every solid
        return np.full_like(x, self.face)
