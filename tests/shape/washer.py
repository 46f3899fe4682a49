"""The line that a washer rolled along a wall draws, by another library than the one under test."""

from __future__ import annotations

import numpy as np
from shapely import LineString, line_merge

from scribe.outline import Outline


def rolled(wall: Outline, radius: float) -> Outline:
    """shapely's offset curve, its arcs within 3e-6 of their radius; the wall to the left."""
    curve = line_merge(LineString(wall.points).offset_curve(-radius, quad_segs=320))
    points = np.array(curve.coords)
    assert (points[-1] - points[0]) @ (wall.points[-1] - wall.points[0]) > 0.0
    return Outline(points, np.zeros(len(points)), "left", wall.datum, "drawn")
