"""A scribe strip: how wide its face gets, and how wide a blank must be bought for it.

A strip lies in the front plane, its visible edge on the carcass. Over its length the building's
face lies at distances d from that edge. To buy:

    widest d + U of it + what nobody measured between the readings

and the widest gap that a block or a compass has to bridge is what d varies by, with both of these.
The start and the lean are those of the least-squares line through d: with them a job's photos,
which know the shape to a tenth but not what is plumb, come to lie where the survey says.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.build_plan import BuildPlan, Strip
from scribe.opening import Opening, Side, Size
from scribe.quantity import round_up_mm
from scribe.sizes import StripSize

Array = npt.NDArray[np.float64]

_PLACES = 61
_ROUND_MM = 1.0


@dataclass(frozen=True)
class Edge:
    """A visible edge. at: x of an upright one, y of a level one. span: its ends, from the floor
    up or from the left.
    """

    strip: Strip
    name: str
    at: float
    span: tuple[float, float]


def strip_size(room: Opening, plan: BuildPlan, edge: Edge) -> StripSize:
    """The strip at an edge, with u carried from the room's readings."""
    places = np.linspace(*edge.span, _PLACES)
    distances = to_building(room, edge, places)
    low, high = int(np.argmin(distances)), int(np.argmax(distances))

    def figures(r: Opening) -> Sequence[float]:
        d = to_building(r, edge, places)
        slope, start = np.polyfit(places - places[0], d, 1)
        return [d[low], d[high], start, 1000.0 * slope]

    values, covariance = room.propagate(figures)
    u = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    u[:3] = np.hypot(u[:3], room.unevenness)  # of a spot; the line's lean averages over many
    narrowest, widest, start, lean = (
        Size(float(v), float(each)) for v, each in zip(values, u, strict=True)
    )
    more = widest.U + plan.unseen
    return StripSize(
        strip=edge.strip,
        name=edge.name,
        length=up_mm(edge.span[1] - edge.span[0]),
        narrowest=narrowest,
        widest=widest,
        buy=up_mm(widest.value + more),
        unseen=plan.unseen,
        start=start,
        lean=lean,
        beyond_reach=widest.value - narrowest.value + more > plan.reach,
    )


def to_building(room: Opening, edge: Edge, places: Array) -> Array:
    """(N,) mm from an edge to the building's face at the front, at places along the edge."""
    if edge.strip in ("left", "right"):
        side: Side = "left" if edge.strip == "left" else "right"
        wall = np.array([room.wall_x(side, float(y), 0.0) for y in places])
        return np.abs(edge.at - wall)
    if edge.strip == "top":
        return np.array([room.ceiling_y(float(x), 0.0) for x in places]) - edge.at
    return edge.at - np.array([room.floor_y(float(x), 0.0) for x in places])


def up_mm(value: float) -> float:
    """To the next whole millimetre up: a blank is never too small for being rounded."""
    return round_up_mm(value - 1e-9, _ROUND_MM)
