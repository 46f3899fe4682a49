"""The second cut as a piece: the first one as it was cut is the blank, and the planned line,
moved in until nothing gapes, is the new line. Table and template follow as for any piece.

    blank = finished piece, its edge where it was found
    line  = planned line, as far in as closes what it is short

Frame of the first piece; stations count from the same end. Where nobody looked, the
deviation nearest by is taken and the stretch is marked as not measured.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from scribe.cut_check import STEEPEST, Compared
from scribe.fit.blank_edge import BlankEdge
from scribe.fit.check.compare import edge_of, outward
from scribe.fit.passes import plan
from scribe.fit.place import CRUMB_MM2, EXACT_MM
from scribe.fit.removal import LEAST_PROMINENCE_MM, turning_points, width_left
from scribe.geom.polyline import counter_clockwise
from scribe.geom.region import Area, difference, union
from scribe.piece import CutEdge, Piece, Polygon, Removal
from scribe.quantity import format_mm
from scribe.tools import Tool

Array = npt.NDArray[np.float64]

SUFFIX = "second cut"
_APART_MM = 0.5  # an even station this near to another row adds nothing
_FAR_MM = 1000.0  # beyond any edge, out of the piece


def second_piece(
    piece: Piece, cut: CutEdge, found: Compared, tools: Sequence[Tool], *, step: float
) -> Piece | str:
    """What a second cut makes of a piece whose cut was found so, or why that can't be drawn:
    on a line that turns back a station has more than one deviation. step: mm between stations.
    """
    station = (cut.line - cut.start) @ cut.along
    if (np.diff(station) < -EXACT_MM).any():
        return "the planned line turns back on itself"
    deviation = np.interp(station, found.station, found.deviation)
    # On steeper parts what is proud is taken for no more.
    rise = np.maximum(outward(cut) @ cut.out, STEEPEST)
    # Along `out`, so that stations stay in order: across the line it is less by the slope.
    edge_now = cut.line + (deviation / rise)[:, None] * cut.out
    line = cut.line - found.short * cut.out
    blank = _as_cut(piece, cut, edge_now)
    parts = difference(blank, [_beyond(line, cut)])
    keep = Area(parts[0].outer, parts[0].holes)
    waste = difference(blank, [keep], sliver=CRUMB_MM2)
    seen = (station >= found.station[0] - EXACT_MM) & (station <= found.station[-1] + EXACT_MM)
    measured, u = seen & cut.measured, np.interp(station, found.station, found.u)
    edge = edge_of(cut)
    remove = np.maximum(deviation / rise + found.short, 0.0)
    table = _table(edge, keep, station, remove, u, measured, step)
    return replace(
        piece,
        name=f"{piece.name} {SUFFIX}",
        blank=replace(piece.blank, shape=Polygon(blank.outer, blank.holes)),
        keep=Polygon(keep.outer, keep.holes),
        waste=tuple(Polygon(part.outer, part.holes) for part in waste),
        cuts=(
            replace(
                cut,
                line=line,
                u=u,
                measured=measured,
                removal=table,
                passes=plan(station, remove, tools),
                marks=(),  # they would count from a straight edge
            ),
        ),
        room=tuple(
            replace(
                room, outline=room.outline.with_(points=room.outline.points - found.short * cut.out)
            )
            for room in piece.room
        ),
        holes=(),
        splits=(),
        passage=None,  # the piece has been in
        notes=(
            "The blank drawn here is the piece as it was cut the first time.",
            *_moves(cut, found.short),
        ),
    )


def _moves(cut: CutEdge, short: float) -> list[str]:
    words = format_mm(short)
    if float(words) == 0.0:
        return []
    whole = f"the whole piece goes {words} mm further towards the {cut.name}"
    return [f"Pushed home, {whole}, its opposite edge with it."]


def _table(
    edge: BlankEdge,
    keep: Area,
    station: Array,
    remove: Array,
    u: Array,
    measured: npt.NDArray[np.bool_],
    step: float,
) -> Removal:
    """Ends, even steps, and where most and least come off; square to the blank's edge."""
    kinds = {
        float(station[at]): kind
        for at, kind in turning_points(station, remove, np.maximum(2.0 * u, LEAST_PROMINENCE_MM))
    }
    low, high = float(station[0]), float(station[-1])
    kinds |= {low: "end", high: "end"}
    for each in np.arange(np.ceil(low / step), np.floor(high / step) + 1) * step:
        if min(abs(other - each) for other in kinds) > _APART_MM:
            kinds[float(each)] = "step"
    at = np.array(sorted(kinds))
    near = np.abs(station[:, None] - at).argmin(axis=0)
    return Removal(
        station=at,
        remove=np.interp(at, station, remove),
        u=np.interp(at, station, u),
        width_left=width_left(edge, keep, np.clip(at, low + 2 * EXACT_MM, high - 2 * EXACT_MM)),
        kind=tuple(kinds[float(each)] for each in at),
        measured=measured[near],
        steep=np.zeros(len(at), bool),
        whole=np.ones(len(at), bool),
    )


def _as_cut(piece: Piece, cut: CutEdge, edge_now: Array) -> Area:
    """The finished piece with its edge where it was found, proud or short."""
    station, out = (cut.line - cut.start) @ cut.along, (cut.line - cut.start) @ cut.out
    top = float(((edge_now - cut.start) @ cut.out).max()) + 1.0
    corners = [(station[0], out.min()), (station[-1], out.min()), (station[-1], top),
               (station[0], top)]  # fmt: skip
    strip = np.array([cut.start + s * cut.along + d * cut.out for s, d in corners])
    whole = union([Area(piece.keep.outer, piece.keep.holes), Area(counter_clockwise(strip))])
    return difference(whole[0], [_beyond(edge_now, cut)])[0]


def _beyond(line: Array, cut: CutEdge) -> Area:
    """Everything out of a line, square to the blank's edge, between its two ends."""
    ends = line[[-1, 0]]
    out = (ends - cut.start) @ cut.out
    far = ends + (_FAR_MM - out)[:, None] * cut.out
    return Area(counter_clockwise(np.vstack([line, far])))
