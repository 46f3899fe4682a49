"""Which way a building lies from an outline, as it is said, seen with y up.

In: points in mm, and the word. Out: the side of travel on which it is solid, the axis for stations.
"""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np
import numpy.typing as npt

from scribe.datum import SHEET_AXIS, Datum
from scribe.errors import ScribeError
from scribe.geom.polyline import signed_size

Array = npt.NDArray[np.float64]

Side = Literal["left", "right"]
Building = Literal["above", "below", "left", "right", "inside"]
BUILDING: tuple[Building, ...] = get_args(Building)

_TOWARDS: dict[Building, tuple[float, float]] = {
    "above": (0.0, 1.0),
    "below": (0.0, -1.0),
    "left": (-1.0, 0.0),
    "right": (1.0, 0.0),
    "inside": (0.0, 0.0),
}
# A line whose ends lie this near to each other is closed: what it goes round is inside.
CLOSED_MM = 0.05
# An outline whose chord runs within 5 degrees of the direction towards the building has
# no clear side on which that building could lie.
_LEAST_SINE = float(np.sin(np.radians(5.0)))


def side_facing(points: Array, building: Building, where: str) -> Side:
    """The side of travel on which a building lies that is stated as seen with y up.

    points: (N, 2) mm. Refuses when the outline's chord runs straight at the building, and a
    closed line with a building on one side of it.
    """
    along = points[-1] - points[0]
    if (float(np.hypot(*along)) <= CLOSED_MM) != (building == "inside"):
        raise ScribeError(
            "outline-closed",
            what="it isn't closed, so nothing lies inside"
            if building == "inside"
            else f"a closed line has its solid inside, not {building}",
            where=where,
            do="join its ends, or say on which side the building lies"
            if building == "inside"
            else 'write building = "inside"',
        )
    if building == "inside":
        return "left" if signed_size(points) > 0.0 else "right"
    towards = _TOWARDS[building]
    cross = float(along[0] * towards[1] - along[1] * towards[0])
    if abs(cross) <= _LEAST_SINE * float(np.hypot(*along)):
        raise ScribeError(
            "outline-side",
            what=f"the outline runs straight at the building that is said to lie {building}",
            where=where,
            do="state the other direction, or order the points along the outline",
        )
    return "left" if cross > 0 else "right"


def axis_facing(building: Building) -> Datum:
    """The sheet axis along which stations run: y for a building at the left or right, else x."""
    if building not in ("left", "right"):
        return SHEET_AXIS
    return Datum(np.zeros(2), np.array([0.0, 1.0]), "sheet axis", "bottom")
