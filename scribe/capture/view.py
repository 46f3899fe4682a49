"""A photo looked at through its solved camera: light and pixel size at points of the plane.

Tracers ask in millimetres and never touch a pixel: `View.light` projects the points of
the plane z = height into the photo and reads it there, in linear light.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Box = tuple[float, float, float, float]


def inside(points: Array, box: Box) -> npt.NDArray[np.bool_]:
    """(...) whether points (..., 2) lie in a box."""
    return np.asarray(np.all((points >= box[:2]) & (points <= box[2:]), axis=-1))


class View(Protocol):
    """What a tracer may ask. Points are (..., 2) mm in the sheet frame, on z = height."""

    @property
    def window(self) -> Box:
        """The area inside the marks, x0, y0, x1, y1 mm: white paper but for what lies on it."""
        ...

    @property
    def area(self) -> Box:
        """The box around all marks used: what lies outside is not supported by them."""
        ...

    @property
    def where(self) -> str:
        """The photo's name, for refusals."""
        ...

    @property
    def height(self) -> float:
        """mm of the plane above the sheet."""
        ...

    @property
    def blur_px(self) -> float:
        """Standard deviation of the photo's own blur, as its marks show it."""
        ...

    def light(self, points: Array) -> Array:
        """(...) linear light, 0 to 1, interpolated in the photo; NaN outside of it."""
        ...

    def rough_light(self, points: Array) -> Array:
        """(...) as light, but read in the photo at a quarter of its size (area averages).

        About 0.3 mm to a pixel: for finding the way, not for measuring.
        """
        ...

    def colour(self, points: Array) -> Array | None:
        """(..., 3) linear red, green, blue at points (..., 2), in the photo at half of its size.

        None of a picture without colours.
        """
        ...

    def pixel(self, points: Array) -> Array:
        """(...) mm that one pixel spans at each point (the larger of its two directions)."""
        ...

    def lean(self, points: Array) -> Array:
        """(..., 2) mm that the line of sight moves in x, y for each mm up, towards the camera."""
        ...


@dataclass(frozen=True)
class Trace:
    """What a tracer found on the plane z = height, before camera and scale are accounted for.

    points: (N, 2) mm in the sheet frame, ordered with x (or along the path) growing.
    u: (N,) mm standard uncertainty across the outline: localisation and probe only.
    normals: (N, 2) unit vectors across the outline, pointing to its solid side.
    measured: (N,) bool, False where a point bridges a stretch that was not seen.
    facts: what was found on the way, for the report ("pitch" -> "1.27 mm").
    tips: (K, 2) mm raw pin tips (gauge only, else empty).
    parts: name -> (N,) mm, what in u isn't localisation ("pins", "line width",
    "grain").
    sunk_u: mm, standard uncertainty of how far below the plane lies what was seen.
    """

    points: Array
    u: Array
    normals: Array
    measured: npt.NDArray[np.bool_]
    facts: Mapping[str, str]
    tips: Array
    parts: Mapping[str, Array] = field(default_factory=dict)
    sunk_u: float = 0.0

    @property
    def localisation(self) -> Array:
        """(N,) mm, what of u is none of the parts."""
        others = sum((part**2 for part in self.parts.values()), np.zeros(len(self.points)))
        return np.sqrt(np.maximum(self.u**2 - others, 0.0))
