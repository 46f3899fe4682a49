"""What of a drawing must come to lie on paper: the cut lines and their stations."""

from __future__ import annotations

from math import ceil

import numpy as np
import numpy.typing as npt

from scribe.geom.polyline import stations
from scribe.output.drawing import Drawing, Path, text_corners

Array = npt.NDArray[np.float64]

_STEP_MM = 2.0  # between points looked at along a vital path


def all_points(drawing: Drawing) -> Array:
    """(N, 2) points of the cut lines, the stations' ticks and the corners of their words."""
    points = [
        dense(closed(path), _STEP_MM)
        for name in ("cut", "stations")
        for path in drawing.layer(name).paths
    ]
    points += [text_corners(text) for text in drawing.layer("stations").texts]
    return np.vstack(points)


def closed(path: Path) -> Array:
    """(N, 2) its points, the first again at the end of a closed one."""
    return np.vstack([path.points, path.points[:1]]) if path.closed else path.points


def dense(line: Array, step: float) -> Array:
    """(M, 2) its vertices, and points between those further apart than `step` mm."""
    place = stations(line)
    even = np.linspace(0.0, place[-1], max(2, ceil(place[-1] / step) + 1))
    at = np.unique(np.concatenate([place, even]))
    return np.column_stack([np.interp(at, place, line[:, k]) for k in (0, 1)])
