"""The view of an oriented photo: light at points of a plane parallel to the sheet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from scribe.capture.photo import colour_at
from scribe.capture.pose.orient import Oriented

Array = npt.NDArray[np.float64]
Box = tuple[float, float, float, float]

_AT_ONCE = 2**15  # numbers


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
    def blur_px(self) -> float:
        """Standard deviation of the photo's own blur, as its marks show it."""
        return self.oriented.blur_px

    @cached_property
    def window(self) -> Box:
        """The box on the plane behind which the photo shows clear paper and no mark.

        A point above the sheet covers another point of it than the one it stands over, so
        for height > 0 the window is not where it lies on the sheet. A board without a
        window has everything inside its marks.
        """
        window = self.oriented.target.window
        if window is None:
            return self.area
        (x0, y0, x1, y1), (sx, sy) = window, self.oriented.scale
        corners = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]) * [sx, sy]
        camera = self.oriented.camera
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = camera.on_plane(
            camera.plane_pixels(corners, 0.0), self.height
        )
        return max(ax, dx), max(ay, by), min(bx, cx), min(cy, dy)

    @cached_property
    def area(self) -> Box:
        """The box around the measuring points used."""
        points = self.oriented.points[self.oriented.used]
        (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)

    def shows(self, points: Array) -> npt.NDArray[np.bool_]:
        """(N,) which points (N, 2) mm of the plane this photo has a say about: a sheet's, all."""
        return np.ones(len(points), bool)

    def light(self, points: Array) -> Array:
        """(...) linear light at points (..., 2) mm of the plane."""
        return self._read(self.oriented.photo.light, points)

    def rough_light(self, points: Array) -> Array:
        """As light, in the photo at a quarter of its size."""
        return self._read(self.oriented.photo.rough_light, points)

    def colour(self, points: Array) -> Array | None:
        """(..., 3) linear red, green, blue at points (..., 2), in the photo at half its size."""
        colours = self.oriented.photo.colours
        if colours is None:
            return None
        return self._read(lambda pixels: colour_at(colours, pixels), points)

    def pixel(self, points: Array) -> Array:
        """(...) mm that one pixel spans at points (..., 2)."""
        flat = points.reshape(-1, 2)
        return self.oriented.camera.mm_per_px(flat, self.height).reshape(points.shape[:-1])

    def lean(self, points: Array) -> Array:
        """(..., 2) mm that the line of sight moves in x, y for each mm up, towards the camera."""
        flat = points.reshape(-1, 2)
        return self.oriented.camera.height_sensitivity(flat, self.height).reshape(points.shape)

    def _read(self, read: Callable[[Array], Array], points: Array) -> Array:
        """What `read` gives at the pixels of points (..., 2), so many at a time that memory is used
        again and again: fresh memory costs more than all that is done with it.
        """
        if points.size > _AT_ONCE and len(points) > 1:
            parts = np.array_split(points, min(points.size // _AT_ONCE + 1, len(points)))
            return np.concatenate([self._read(read, part) for part in parts])
        return read(self.oriented.camera.plane_pixels(points, self.height))
