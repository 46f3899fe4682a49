"""A pencil stroke: how much light it leaves, with the paper's tooth."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np

from tests.scenes.outlines import NEAR, Array, Curve
from tests.scenes.solids import share


@dataclass(frozen=True)
class Stroke:
    """A pencil or knife line along a curve, on the face of `on` (None: in the sheet's plane).

    darkness: share of the light it takes. gaps: stretches in x without it. grain: how
    uneven its darkness is. specks: (S, 3) x, y, radius of dirt beside it.
    """

    path: Curve
    ends: tuple[float, float]
    width: float
    darkness: float
    grain: float
    gaps: tuple[tuple[float, float], ...]
    specks: Array
    seed: int

    def light_left(self, x: Array, y: Array, w: float) -> Array:
        """Share of the light that comes back at x, y."""
        low, high = (x.min(), y.min()), (x.max(), y.max())
        dark = self._drawn(x, y, w) if self._meets(low, high) else np.zeros_like(x)
        for px, py, radius in self.specks:
            if low[0] - 1 < px < high[0] + 1 and low[1] - 1 < py < high[1] + 1:
                dot = share(
                    x.dtype.type(radius) - np.hypot(x - x.dtype.type(px), y - x.dtype.type(py)), w
                )
                np.maximum(dark, dot, out=dark)
        return 1 - np.float32(self.darkness) * dark

    def _meets(self, low: tuple[float, float], high: tuple[float, float]) -> bool:
        """Whether any of the line may lie in the box between two corners."""
        if high[0] < self.ends[0] - NEAR or low[0] > self.ends[1] + NEAR:
            return False
        least, most = self.path.between(low[0] - NEAR, high[0] + NEAR)
        return low[1] < most + NEAR and high[1] > least - NEAR

    def _drawn(self, x: Array, y: Array, w: float) -> Array:
        """How dark the line is at x, y: 0 to 1."""
        off = self.path.distance(x, y)
        # A pencil's edge is not sharp: the lead fades over a fifth of the width.
        dark = share(self.width / 2 - off, max(w, 0.2 * self.width))
        middle, half = (self.ends[0] + self.ends[1]) / 2, (self.ends[1] - self.ends[0]) / 2
        dark *= share(half - np.abs(x - middle), max(w, 0.3))
        for a, b in self.gaps:
            dark *= 1 - share((b - a) / 2 - np.abs(x - x.dtype.type((a + b) / 2)), 0.8)
        if dark.any():
            tooth = _tooth(self.seed)
            value = cv2.remap(tooth, x * 8 % 1023, y * 8 % 1023, cv2.INTER_LINEAR)
            dark *= np.clip(1 - self.grain * value, 0, 1)
        return dark


@lru_cache(maxsize=4)
def _tooth(seed: int) -> Array:
    """Uneven darkness of lead on a rough face, repeating every 128 mm; 0 to 1 at 8 to the mm."""
    rng = np.random.default_rng(seed)
    noise = cv2.GaussianBlur(rng.standard_normal((1024, 1024)).astype(np.float32), (0, 0), 1.2)
    return np.clip(0.5 + noise / (4 * noise.std()), 0, 1).astype(np.float32)
