"""A cut that goes round a corner of the blank, parted there: each part counts along its own edge.

One outline may lead from a ceiling down a wall to the skirting. Where its cut has taken a
whole end of the blank, that end is measured along the blank's own end: along the edge that
the job names, all of it would lie at one station. In: the cut lines of the finished piece and
the blank. Out: the same lines, some of them in two or three parts that share their corners.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.fit.blank_edge import BlankEdge, blank_edge
from scribe.fit.cut import CutLine
from scribe.fit.place import EXACT_MM, PlacedRoom
from scribe.job import Edge

Array = npt.NDArray[np.float64]

_LEAST_MM = 5.0  # of an end that is worth a table of its own


def around_corners(
    cuts: Sequence[CutLine], rooms: Sequence[PlacedRoom], blank: Array
) -> list[CutLine]:
    """Every cut in its parts, the parts along the job's own edges first.

    blank: (N, 2) mm, counter-clockwise. An end that another outline cuts as well stays whole.
    """
    taken = {room.edge.edge for room in rooms}
    own: list[CutLine] = []
    ends: list[CutLine] = []
    for cut in cuts:
        first, last = 0, len(cut.line) - 1
        for neighbour, at in ((cut.edge.start, 0), (cut.edge.far, -1)):
            side = _whole_end(blank, neighbour, cut, taken, at)
            corner = _corner(cut, at) if side is not None else at % len(cut.line)
            if side is None or not first < corner < last:
                continue
            part = cut.line[: corner + 1] if at == 0 else cut.line[corner:]
            ends.append(CutLine(cut.room, part, cut.keep, side))
            first, last = (corner, last) if at == 0 else (first, corner)
        own.append(CutLine(cut.room, cut.line[first : last + 1], cut.keep, cut.edge))
    return own + ends


def whole_stations(cut: CutLine, cuts: Sequence[CutLine]) -> tuple[float, float]:
    """The stations of a cut between which no cut of a neighbouring edge takes part of the width."""
    first, last = -np.inf, np.inf
    for other in cuts:
        at = cut.edge.station(other.line)
        if other.edge.edge == cut.edge.start:
            first = max(first, float(at.max()))
        elif other.edge.edge == cut.edge.far:
            last = min(last, float(at.min()))
    own = cut.edge.station(cut.line)
    seen = first < last and bool(((own >= first) & (own <= last)).any())
    return (first, last) if seen else (-np.inf, np.inf)


def _whole_end(
    blank: Array, neighbour: Edge, cut: CutLine, taken: set[Edge], at: int
) -> BlankEdge | None:
    """The blank's edge at one end of a cut, where the cut has taken all of it; None elsewhere."""
    if neighbour in taken:
        return None
    try:
        side = blank_edge(blank, neighbour, cut.edge.solid)
    except ScribeError:
        return None  # a gable has no such edge
    end, corner = cut.line[at], cut.line[_corner(cut, at)]
    inside = float(side.outwards(end)) < -EXACT_MM
    return side if inside and abs(float((corner - end) @ side.along)) >= _LEAST_MM else None


def _corner(cut: CutLine, at: int) -> int:
    """The vertex furthest towards the blank's own corner: before it the cut is steeper than 45
    degrees, after it less, on the whole.
    """
    end = -cut.edge.along if at == 0 else cut.edge.along
    return int(np.argmax(cut.line @ (cut.edge.out + end)))
