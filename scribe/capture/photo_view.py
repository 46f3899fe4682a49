"""The view of an oriented photo: light at points of a plane parallel to the sheet."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.camera import lifted
from scribe.capture.orient import Oriented

Array = npt.NDArray[np.float64]
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class PhotoView:
    """Implements scribe.capture.view.View on the plane z = height mm above the sheet."""

    oriented: Oriented
    height: float

    @property
    def where(self) -> str:
        """The photo's name, for refusals."""
        return self.oriented.photo.name

    @property
    def window(self) -> Box:
        """The target's clear window, or everything inside the marks of a board without one."""
        window = self.oriented.target.window
        return self._scaled(window) if window else self.area

    @property
    def area(self) -> Box:
        """The box around the measuring points used."""
        points = self.oriented.points[self.oriented.used]
        (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)

    def light(self, points: Array) -> Array:
        """(...) linear light at points (..., 2) mm of the plane."""
        return self.oriented.photo.light(self._pixels(points))

    def rough_light(self, points: Array) -> Array:
        """As light, in the photo at a quarter of its size."""
        return self.oriented.photo.rough_light(self._pixels(points))

    def pixel(self, points: Array) -> Array:
        """(...) mm that one pixel spans at points (..., 2)."""
        flat = points.reshape(-1, 2)
        return self.oriented.camera.mm_per_px(flat, self.height).reshape(points.shape[:-1])

    def _pixels(self, points: Array) -> Array:
        return self.oriented.camera.pixels(lifted(points, self.height))

    def _scaled(self, box: Box) -> Box:
        x, y = self.oriented.scale
        return box[0] * x, box[1] * y, box[2] * x, box[3] * y
