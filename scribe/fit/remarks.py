"""What a fitter should know of a cut beyond its table: what decides, what is lost, what catches."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from scribe.fit.cut import CutLine
from scribe.fit.place import PlacedRoom
from scribe.geom.polyline import turning_back
from scribe.job import Touch
from scribe.piece import CATCH_MM, Removal
from scribe.quantity import format_mm

Array = npt.NDArray[np.float64]

_FLAT_MM = 0.05  # where no more comes off, no station decides
_USED = 0.5  # of an outline: less is asked after (our choice)
_LOST_MM = 1.0  # of a blank's length


def remarks(
    room: PlacedRoom, cut: CutLine, cuts: Sequence[CutLine], removal: Removal
) -> list[str | None]:
    """Sentences about the cut along the edge that the job names. cuts: all of the piece."""
    said = [_touches(room, removal), *_runs_out(cut, cuts), _turns_back(cut)]
    return [*said, _barely_used(room)]


def _barely_used(room: PlacedRoom) -> str | None:
    """Where more than half of an outline is left over, and nobody said where along it the piece
    goes: a blank in the wrong unit, or a piece that belongs elsewhere.
    """
    edge, at = room.edge, room.edge.station(room.outline.points)
    span, long = float(np.ptp(at)), float(edge.station(edge.chain).max())
    begins = float(at.min()) > -_LOST_MM  # an outline that goes on to both sides was laid so
    if room.job.station != 0.0 or long > _USED * span or not begins:
        return None
    return (
        f"Only {format_mm(long, 0)} of the {format_mm(span, 0)} mm of outline "
        f"{room.job.outline!r} lie along the {edge.edge} edge, from its station 0 on. If the piece "
        "goes elsewhere along it, say so with station =; if the blank is longer, look at its unit."
    )


def _touches(room: PlacedRoom, removal: Removal) -> str | None:
    """Which station decides where a blank comes to lie that is held against the building."""
    placing, most = room.job.placing, float(removal.remove.max())
    if not isinstance(placing, Touch) or placing.past or room.job.least or most < _FLAT_MM:
        return None
    station = format_mm(room.tightest, 0)
    return (
        f"Station {station} of the {room.edge.edge} edge decides: there the blank touches the "
        f"outline {room.job.outline!r}, and nothing comes off."
    )


def _runs_out(cut: CutLine, cuts: Sequence[CutLine]) -> list[str]:
    """Where a cut ends short of the blank's own end, and no other cut takes that end."""
    edge = cut.edge
    at = edge.station(cut.line)
    low, high, length = float(at.min()), float(at.max()), float(edge.station(edge.chain[-1]))
    same = [edge.station(other.line) for other in cuts if other.edge.edge == edge.edge]
    first, last = min(float(s.min()) for s in same), max(float(s.max()) for s in same)
    ends = [(edge.start, low, first, low > _LOST_MM, f"before station {format_mm(low, 0)}")]
    ends.append(
        (edge.far, high, last, high < length - _LOST_MM, f"from station {format_mm(high, 0)} on")
    )
    return [
        f"Nothing of the blank is left {where}: the cut along the {edge.edge} edge runs out "
        "through the opposite edge."
        for end, own, outermost, short, where in ends
        if short and own == outermost and not any(other.edge.edge == end for other in cuts)
        if float(edge.outwards(cut.line[0 if end == edge.start else -1])) < -_LOST_MM
    ]


def _turns_back(cut: CutLine) -> str | None:
    """Where the building reaches behind the piece, so that it can't be pushed straight home."""
    where = turning_back(cut.edge.station(cut.line), CATCH_MM)
    if not where:
        return None
    places = " and ".join(f"{format_mm(low, 0)}-{format_mm(high, 0)}" for low, high, _ in where)
    most = format_mm(max(back for *_, back in where), 1)
    return (
        f"The cut along the {cut.edge.edge} edge turns back on itself at stations {places}: the "
        f"building reaches up to {most} mm behind the piece, which can't be pushed straight home "
        "but goes in with its face. Cut it by the template, for a station has two removals there."
    )
