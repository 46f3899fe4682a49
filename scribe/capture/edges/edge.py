"""Trace the edge of a card, board or moulding that lies on the white sheet.

In: the view on the plane of the thing's face (z = its thickness). Out: the face's upper edge, every
step, travelled with x growing, normals to the left of travel. Its light tells it, unless its colour
says that this is another one or there is none.

On the way the thing lies to the right of travel, and normals point out of it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.by_colour import ByColour, edge_by_colour
from scribe.capture.edges.dark_strip import width_of_own_strip
from scribe.capture.edges.eased import arris_doubted
from scribe.capture.edges.echo import echoed
from scribe.capture.edges.edge_looks import edge_along, trace_of
from scribe.capture.edges.silhouette import Border, find_border
from scribe.capture.edges.upright import from_foot_to_arris
from scribe.capture.edges.wish import Wish, covered, shadowed
from scribe.capture.view import Trace, View
from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]

# Part of the width of what is darker than paper from which on what has a colour may be all of it: a
# shadow makes that a little wider, but what lies across a thing is narrower.
_OF_THE_THING = 0.6


def trace_edge(
    view: View,
    *,
    start: Array | None = None,
    end: Array | None = None,
    near: Array | None = None,
    step: float = 0.5,
    upright: bool = True,
) -> Trace:
    """The edge of the thing. start, end: (2,) mm and near: (N, 2) mm say which, when needed.

    upright: it stands on the sheet, beside whose paper its colour shows and where its shadow falls,
    and where the camera looks back at its side the trace is moved from the foot to the arris;
    photos of a run settle that together.
    Refuses with edge-no-contrast, edge-shadow, edge-strip, edge-covered, outline-not-found and
    outline-outside-marks.
    """
    wish = Wish(start, end, near)
    by_colour = edge_by_colour(view, wish, step) if upright else None
    trace, border = _told(view, wish, step, by_colour)
    if upright and by_colour is None:
        if echoed(view, trace):
            raise shadowed(view.where)
        if (width := width_of_own_strip(view, trace)) is not None:
            raise _doubled(view, width)
    if upright:
        trace = from_foot_to_arris(view, arris_doubted(view, trace))
    return _as_wanted(trace, border)


def _told(view: View, wish: Wish, step: float, by_colour: ByColour | None) -> tuple[Trace, Border]:
    """The edge by its light, or by its colour."""
    by_light = 0.0
    try:
        border = find_border(view, wish)
        by_light = _across(border.between_corners(border.way))
        trace = edge_along(view, border, wish, step)
        if by_colour is None or by_colour.bears_out(trace):
            return trace, border
    except ScribeError:
        if by_colour is None:
            raise
    steps = by_colour.with_light(view, step)
    trace = trace_of(steps, by_colour.between_ends(steps, view, wish))
    if wish.silent and _across(trace.points) < _OF_THE_THING * by_light:
        raise covered(view.where, trace.points)
    facts = {"edge told by": "its colour", "measured": trace.facts["measured"]}
    return replace(trace, facts=facts), by_colour.border


def _across(edge: Array) -> float:
    """mm from one end of an edge (N, 2) to the other."""
    return float(np.hypot(*(edge[-1] - edge[0])))


def _doubled(view: View, width: float) -> ScribeError:
    """The refusal of an edge beside which a strip may be the thing's own."""
    return ScribeError(
        "edge-strip",
        what=f"beyond the edge lies a dark strip {width:.1f} mm wide, which may be its shadow or"
        " a part of it",
        where=view.where,
        do="turn the sheet so that the light falls on this edge; if the strip stays, it isn't"
        " shadow: take off what tape there is, or rub chalk over it until it looks like the face",
    )


def _as_wanted(trace: Trace, border: Border) -> Trace:
    """Travelled as the outline is wanted, normals to the left of that."""
    facts = {"object": "above" if border.backwards else "below", **trace.facts}
    if not border.backwards:
        return replace(trace, facts=facts)
    return replace(
        trace,
        points=trace.points[::-1],
        u=trace.u[::-1],
        normals=-trace.normals[::-1],
        measured=trace.measured[::-1],
        facts=facts,
    )
