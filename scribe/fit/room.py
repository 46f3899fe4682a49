"""The room as a solid: an outline turned and shifted to the blank, and closed on its solid side.

In: an outline in its own frame, an edge of the blank, a distance and a station. Out: the
same outline in the piece frame, and the ring of the solid behind it. Beyond its ends the
room goes straight on in the direction of the datum; nobody measured it there.

An outline is turned and shifted, never mirrored: where its solid side would face away
from the blank's edge, it is refused.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.fit.blank_edge import BlankEdge
from scribe.geom.frames import outer_from_axis
from scribe.geom.polyline import counter_clockwise
from scribe.geom.region import Area, crosses_itself
from scribe.job import OPPOSITE, Edge, EdgeJob
from scribe.outline import Outline

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

# An outline whose chord is within 5 degrees of square to its datum has no stations.
_LEAST_COSINE = float(np.sin(np.radians(5.0)))
# Turned by less than this, an outline lies on the blank as it was seen: nothing to note.
_UPRIGHT_COSINE = float(np.cos(np.radians(45.0)))
_ENDS: tuple[Edge, ...] = ("left", "right", "bottom", "top")


@dataclass(frozen=True)
class Front:
    """The face of the building in the piece frame, run on straight beyond both ends.

    points: (N + 2, 2) mm. u: (N + 2,) mm. measured: (N + 2,) False at both added ends.
    solid: the area behind it, counter-clockwise, closed far beyond the blank.
    """

    points: Array
    u: Array
    measured: Mask
    solid: Area


def along_datum(outline: Outline) -> Outline:
    """The same outline, travelled in the sense in which its stations grow."""
    if outline.closed:
        raise ScribeError(
            "outline-closed",
            what="the outline is closed, so no edge can follow it",
            where=outline.origin or "outline",
            do="give it to a [[piece.hole]], or leave a gap where the wall ends",
        )
    chord = outline.points[-1] - outline.points[0]
    advance = float(chord @ outline.datum.direction)
    if abs(advance) <= _LEAST_COSINE * float(np.hypot(*chord)):
        raise ScribeError(
            "outline-square-to-datum",
            what="the outline runs square to its datum, so it has no stations",
            where=outline.origin or "outline",
            do='choose another datum, such as "chord"',
        )
    return outline if advance > 0 else outline.reversed()


def check_ends(outline: Outline, edge: BlankEdge, job: EdgeJob, up: Edge) -> str | None:
    """Compare where station 0 must come with where it is said to be.

    outline: travelled along its datum. Returns a note when nothing was said about it and
    the outline is turned, None when both agree; refuses when they don't, for then one of
    them is mirrored.
    """
    stated = job.start or _named_end(outline.datum.end, edge, up)
    upright = float(outline.datum.direction @ edge.visible_along) > _UPRIGHT_COSINE
    if stated == edge.start or (stated is None and upright):
        return None
    if stated is None:
        return (
            f"Outline {job.outline} was turned so that its {outline.datum.end} end comes to the "
            f"{edge.start} end of the {edge.edge} edge: stations count from there."
        )
    raise ScribeError(
        "outline-faces-away",
        what=f"with station 0 at the {stated} end of the {edge.edge} edge, the building would "
        f"lie on the piece's side of outline {job.outline}",
        where=f"edge {edge.edge}",
        do=f"say where its stations begin ({{from:{edge.start}}}, if that is how it was taken), "
        f"cut the {OPPOSITE[edge.edge]} edge, or take it again: readings with stations from the "
        f"{edge.start} end, a photo with the sheet's arrow towards the building; an outline is "
        "turned to fit, never mirrored",
    )


def place_outline(outline: Outline, edge: BlankEdge, distance: float, station: float) -> Outline:
    """Turn and shift an outline (travelled along its datum) to the blank.

    distance: mm from the visible edge to the datum. station: mm along the blank's edge,
    from the end where stations begin, to the outline's station 0.
    """
    target = edge.visible_along
    lengthwise = float((edge.chain[0] - edge.visible_point) @ target) + station
    origin = edge.visible_point + lengthwise * target + distance * edge.visible_out
    piece_from_datum = outer_from_axis(origin, target)
    datum_from_outline = outer_from_axis(outline.datum.origin, outline.datum.direction).inverse()
    return outline.in_frame(piece_from_datum @ datum_from_outline)


def front(placed: Outline, reach: float) -> Front:
    """Run an outline straight on by `reach` at both ends and close it on its solid side."""
    along = placed.datum.direction
    behind = np.array([-along[1], along[0]]) * (1.0 if placed.solid == "left" else -1.0)
    first, last = placed.points[0] - reach * along, placed.points[-1] + reach * along
    deepest = float(np.max((placed.points - first) @ behind))
    back = deepest + reach
    corners = [last + (back - (last - first) @ behind) * behind, first + back * behind]
    points = np.vstack([first, placed.points, last])
    if crosses_itself(points):
        raise ScribeError(
            "outline-crosses-itself",
            what="the outline crosses itself, so its two sides can't be told apart",
            where=placed.origin or "outline",
            do="trace it again, or put the points of its file in order",
        )
    ring = np.vstack([points, corners])
    return Front(
        points=points,
        u=np.concatenate([placed.u[:1], placed.u, placed.u[-1:]]),
        measured=np.concatenate([[False], placed.measured, [False]]),
        solid=Area(counter_clockwise(ring)),
    )


def end_word(outline: Outline, edge: BlankEdge, up: Edge) -> str:
    """The end from which stations count, in the outline's own word where it means that end."""
    named = _named_end(outline.datum.end, edge, up)
    return outline.datum.end if named == edge.start else edge.start


def _named_end(name: str, edge: BlankEdge, up: Edge) -> Edge | None:
    """The end of the edge that an outline's end name means, None when it means neither."""
    word = name.strip().lower()
    meant: str = {"floor": OPPOSITE[up], "ceiling": up}.get(word, word)
    ends = {edge.start, edge.far}
    return next((end for end in _ENDS if end == meant and end in ends), None)
