"""A view seen in another light: all else stays as it is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.view import Box, View

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Through:
    """Implements scribe.capture.view.View by another one; a subclass says what it changes."""

    view: View

    @property
    def window(self) -> Box:
        """As the view's."""
        return self.view.window

    @property
    def area(self) -> Box:
        """As the view's."""
        return self.view.area

    @property
    def where(self) -> str:
        """As the view's."""
        return self.view.where

    @property
    def height(self) -> float:
        """As the view's."""
        return self.view.height

    @property
    def blur_px(self) -> float:
        """As the view's."""
        return self.view.blur_px

    def light(self, points: Array) -> Array:
        """As the view's."""
        return self.view.light(points)

    def rough_light(self, points: Array) -> Array:
        """As the view's."""
        return self.view.rough_light(points)

    def colour(self, points: Array) -> Array | None:
        """As the view's."""
        return self.view.colour(points)

    def pixel(self, points: Array) -> Array:
        """As the view's."""
        return self.view.pixel(points)

    def lean(self, points: Array) -> Array:
        """As the view's."""
        return self.view.lean(points)
