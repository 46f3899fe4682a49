"""The window of a photo on a grid, coarse enough to be read at once.

It is read in the photo at a quarter of its size: what is found there only says where to measure.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.view import Box, View

Array = npt.NDArray[np.float64]

_INSET = 1.5  # mm kept away from the marks round the window


@dataclass(frozen=True)
class Grid:
    """Logarithm of light on a grid: values (H, W), row 0 at the lowest y."""

    corner: tuple[float, float]
    step: float
    values: Array

    def points(self, mask: npt.NDArray[np.bool_]) -> Array:
        """(N, 2) mm of the grid points in a mask."""
        row, column = np.nonzero(mask)
        x0, y0 = self.corner
        return np.stack([x0 + self.step * column, y0 + self.step * row], axis=1)

    def at(self, points: Array) -> Array:
        """(N,) the value of the nearest grid point."""
        place = np.rint((points - np.array(self.corner)) / self.step).astype(np.int64)
        column, row = np.clip(place, 0, np.array(self.values.shape[::-1]) - 1).T
        return np.asarray(self.values[row, column])


def read_grid(view: View, step: float) -> Grid:
    """The window through the view; what the photo doesn't show gets the median."""
    points = inset_grid(view.window, step)
    light = view.rough_light(points)
    shown = np.isfinite(light)
    values = np.log(np.maximum(np.where(shown, light, 1.0), 0.004))
    values[~shown] = np.median(values[shown]) if shown.any() else 0.0
    x, y = points[0, 0]
    return Grid((float(x), float(y)), step, values)


def inset_grid(window: Box, step: float) -> Array:
    """(H, W, 2) mm: points a step apart in a window, clear of the marks round it."""
    x0, y0, x1, y1 = window
    x = np.arange(x0 + _INSET, x1 - _INSET, step)
    y = np.arange(y0 + _INSET, y1 - _INSET, step)
    return np.stack(np.meshgrid(x, y), axis=-1)
