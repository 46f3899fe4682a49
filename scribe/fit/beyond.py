"""How far a blank may reach past the ends of what was measured."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.fit.place import EXACT_MM, PlacedRoom
from scribe.geom.polyline import length
from scribe.quantity import format_mm, round_up_mm

Array = npt.NDArray[np.float64]

# A blank may reach this far past what was measured without being told: a saw's width.
BEYOND_MM = 3.0


def check_beyond(room: PlacedRoom, foot: Array) -> str | None:
    """Refuse a cut that follows what nobody measured; a note where the job allows it.

    foot: (N,) mm along the front of the points of a cut line.
    """
    total = length(room.front.points)
    edge, allowed = room.edge, room.job.beyond
    first = room.reach - float(foot.min())
    last = float(foot.max()) - (total - room.reach)
    over, end = max(
        (first, room.outline.points[0]), (last, room.outline.points[-1]), key=lambda pair: pair[0]
    )
    if over <= EXACT_MM:
        return None
    more = format_mm(round_up_mm(over - EXACT_MM, 0.1))
    place = format_mm(float(edge.station(end)), 0)
    if over > (BEYOND_MM if allowed is None else allowed) + EXACT_MM:
        raise ScribeError(
            "outline-too-short",
            what=f"the cut goes {more} mm beyond what was measured of outline "
            f"{room.job.outline}, which ends at station {place} from the {edge.start} end",
            where=f"edge {edge.edge}",
            do=_to_reach(room, over, more),
        )
    return (
        f"Outline {room.job.outline} ends at station {place}; the last {more} mm of the "
        f"{edge.edge} edge go straight on and were not measured."
    )


def _to_reach(room: PlacedRoom, over: float, more: str) -> str:
    """What to do about an outline that ends before its edge does, by `over` mm (in words: more)."""
    edge, at = room.edge, room.edge.station(room.outline.points)
    first, last = float(at.min()), float(at.max())
    if last - first >= float(edge.station(edge.chain).max()) - EXACT_MM:
        moved = format_mm(room.job.station - first, 1)
        return (
            f"it is long enough, but reaches from {format_mm(first, 0)} to {format_mm(last, 0)} "
            f"there: {{station:{moved}}} to bring its beginning to the {edge.start} end"
        )
    if over > last - first:  # nobody goes on with so much: its unit may be wrong
        measured = format_mm(last - first, 0)
        return f"look at its unit, for only {measured} mm were measured; else measure on to there"
    straight_on = f"{{beyond:{more}}} to let the cut go straight on"
    return f"measure on to there, correct the station, or {straight_on}"
