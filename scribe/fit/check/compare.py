"""A cut edge beside the line it was to follow: where it is proud, where short, what is left to do.

In: the planned cut, and the edge as it was measured, or gaps felt along the fitted piece. Out:
the edge laid on the plan, and the deviation station by station, positive where wood stands
beyond the line. Pushed home, the piece rests where its joint closes first; on a slope a push in by
1 mm closes the cosine of the slope, and what is left of a joint there is its gap. A second cut
moves the piece in until the shortest place meets the planned line, and takes off what then stands
beyond it: a sloping place moves everything further in than a level one.

How the edge is laid on the plan depends on what is known of its place; the answer says it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from scribe.cut_check import Compared, Laid
from scribe.errors import ScribeError
from scribe.fit.blank_edge import BlankEdge, end_of
from scribe.fit.removal import width_left
from scribe.geom.polyline import nearest, normals, normals_at, stations
from scribe.geom.region import Area
from scribe.geom.registration import register
from scribe.job import EDGES, Edge
from scribe.outline import Outline
from scribe.piece import CutEdge, Polygon

Array = npt.NDArray[np.float64]

Lay = Literal["free", "ends", "piece"]

WIDTH_U = 0.15  # mm, of a width read with a rule or a calliper (common practice, no source)
ENDS_U = 0.3  # mm along, of an end as it was traced (common practice, no source)
_STEP_MM = 5.0
_ELSEWHERE_MM = 20.0  # no saw goes so far astray
_EXACT_MM = 1e-6


_LAID: dict[Lay, Laid] = {
    "free": Laid(False, False, "shifted and turned to lie best, by its shape alone"),
    "ends": Laid(True, False, "held along by its two ends, moved in and turned to lie best"),
    "piece": Laid(True, True, "not moved: its points are in the frame of the piece"),
}
_FELT = Laid(True, True, "in its place: gaps felt along the fitted piece", fitted=True)
_WIDTHS = "moved in and turned by the widths that were measured"


@dataclass(frozen=True)
class Width:
    """What was measured of the cut piece at a station, mm, square to the edge that is opposite."""

    station: float
    width: float


def compare(
    cut: CutEdge,
    edge: Outline,
    lay: Lay = "free",
    widths: Sequence[Width] = (),
    keep: Polygon | None = None,
) -> Compared:
    """The measured edge laid on the planned line, and what is left between them.

    edge: the piece's own edge, the piece lying on the side that isn't solid. widths: two or more
    of the cut piece, whose finished shape is keep: they say how far in it lies, and how turned.
    """
    plan = cut.line if cut.keep == "right" else cut.line[::-1]
    placed, u, laid = _laid(plan, edge, lay)
    if widths:
        placed, by_width = _by_widths(cut, placed, widths, keep)
        u = np.hypot(u, by_width)
        along = _LAID["ends"].words.split(",")[0] if lay == "ends" else "shifted to lie best along"
        laid = Laid(laid.along, True, f"{along}, {_WIDTHS}")
    feet = nearest(placed, plan)
    inside = (feet.station > 0.0) & (feet.station < stations(plan)[-1])
    station = (feet.point - cut.start) @ cut.along
    _refuse_elsewhere(cut, feet.distance[inside], station[inside])
    if lay == "ends":  # where the line is steep, a slip along it shows across it
        u = np.hypot(u, ENDS_U / np.sqrt(2.0) * np.abs(normals(placed) @ cut.along))
    planned = np.interp(feet.station, stations(plan), _along(cut, plan))
    rise = normals_at(plan, feet.station) @ cut.out
    order = np.flatnonzero(inside)[np.argsort(station[inside])]
    even = _even(station[inside])
    # nearest() has the left of travel positive: the piece lies on the right, so that is proud.
    deviation, total, rises = (
        np.interp(even, station[order], each[order])
        for each in (feet.distance, np.hypot(u, planned), rise)
    )
    seen = np.ptp(station[inside]) / np.ptp((cut.line - cut.start) @ cut.along)
    found = placed if cut.keep == "right" else placed[::-1]
    return Compared(even, deviation, total, rises, cut.may_close, float(seen), laid, found)


def _laid(plan: Array, edge: Outline, lay: Lay) -> tuple[Array, Array, Laid]:
    """(N, 2) the measured points laid on the plan, (N,) mm their standard uncertainty across it,
    and what is then known of their place.
    """
    line = edge if edge.solid == "left" else edge.reversed()
    points, own, common = line.points[line.measured], *_errors(line)
    if lay == "piece":
        return points, np.sqrt(own**2 + (common**2).sum(axis=0)), _LAID[lay]
    weight = np.maximum(line.shape_alone().u[line.measured], 1e-3)
    found = register(points, plan, weight, ends=lay == "ends")
    return found.target_from_source.apply(points), found.left_u(own, common), _LAID[lay]


def _refuse_elsewhere(cut: CutEdge, distance: Array, station: Array) -> None:
    """An edge that doesn't lie along the cut is another one, or lies in another frame."""
    off = float(np.median(np.abs(distance))) if len(distance) > 1 else np.inf
    if off <= _ELSEWHERE_MM and float(np.ptp(station)) >= _STEP_MM:
        return
    raise ScribeError(
        "check-elsewhere",
        what=f"the edge doesn't lie along the cut to {cut.name}"
        + (f": half of it is more than {off:.0f} mm away" if np.isfinite(off) else ""),
        where=f"{cut.edge} edge",
        do="check that it is this edge of this piece{and its frame}",
    )


def felt(cut: CutEdge, station: Array, gap: Array, u: float) -> Compared:
    """Gaps felt between the fitted piece and the building, from the end its stations count from.

    A gap wider than the clearance is short of the line, a narrower one proud. Between two places
    the edge is taken to follow the line.
    """
    length = float(np.ptp((cut.line - cut.start) @ cut.along))
    ends = (cut.line - cut.start) @ cut.along
    beyond = (station < ends.min() - _STEP_MM) | (station > ends.max() + _STEP_MM)
    if beyond.any() or len(np.unique(station)) < len(station):
        raise ScribeError(
            "check-stations",
            what=f"station {station[beyond][0]:.0f} lies beyond the cut, which goes from "
            f"{ends.min():.0f} to {ends.max():.0f}"
            if beyond.any()
            else "the same station is there twice",
            where=f"{cut.edge} edge",
            do="give each gap the station where it was felt, from the end that the table counts "
            "from",
        )
    if float(gap.max()) > _ELSEWHERE_MM or float(np.ptp(station)) < _STEP_MM:
        raise ScribeError(
            "check-gaps",
            what=f"a gap of {gap.max():g} mm is more than a saw goes astray"
            if gap.max() > _ELSEWHERE_MM
            else f"all gaps were felt within {np.ptp(station):g} mm",
            where=f"{cut.edge} edge",
            do="look at the numbers and their unit, and whether station and gap are mixed up",
        )
    order = np.argsort(station)
    deviation = cut.clearance - gap[order]
    at = (cut.line - cut.start) @ cut.along
    seen = (at >= station.min() - _EXACT_MM) & (at <= station.max() + _EXACT_MM)
    out = outward(cut)
    away = np.interp(at, station[order], deviation)
    return Compared(
        station[order],
        deviation,
        np.full(len(station), u),
        np.interp(station[order], at, out @ cut.out),
        cut.may_close,
        float(np.ptp(station) / length),
        _FELT,
        (cut.line + away[:, None] * out)[seen],
    )


def outward(cut: CutEdge) -> Array:
    """(N, 2) unit vectors square to the planned line at its vertices, out of the piece."""
    left = normals(cut.line)
    return -left if cut.keep == "left" else left


def edge_of(cut: CutEdge) -> BlankEdge:
    """The blank's edge that stations count along, as the cut had it."""
    edge: Edge = next(each for each in EDGES if each == cut.edge)
    length = float(((cut.line - cut.start) @ cut.along).max())
    ends = np.array([cut.start, cut.start + length * cut.along])
    return BlankEdge(edge, end_of(cut.along), ends, cut.along, cut.out, cut.start, cut.along)


def _errors(line: Outline) -> tuple[Array, Array]:
    """(N,) mm across the measured points that are each point's own, and (K, N) that are shared."""
    square = normals(line.points)
    lone = [part for name, part in line.budget.items() if name not in line.shared]
    own = np.sqrt(sum(part**2 for part in lone)) if line.budget else line.u
    modes = [np.einsum("knd,nd->kn", each, square) for each in line.shared.values()]
    common = np.vstack(modes) if modes else np.zeros((0, len(line)))
    own = np.broadcast_to(own, len(line))
    return own[line.measured], common[:, line.measured]


def _by_widths(
    cut: CutEdge, placed: Array, widths: Sequence[Width], keep: Polygon | None
) -> tuple[Array, Array]:
    """The edge moved square to the blank's edge, and turned, until its widths are as measured.

    Returns it with (N,) mm standard uncertainty that the widths bring. Least squares.
    """
    assert keep is not None
    at = np.array([each.station for each in widths])
    along, out = (placed - cut.start) @ cut.along, (placed - cut.start) @ cut.out
    line = cut.line - cut.start
    low, high = (
        max(along.min(), (line @ cut.along).min()),
        min(along.max(), (line @ cut.along).max()),
    )
    if len(np.unique(at)) < 2 or (at < low).any() or (at > high).any():
        raise ScribeError(
            "check-widths",
            what="two widths at different stations are needed, both where the edge was seen "
            f"(stations {low:.0f} to {high:.0f})",
            where=f"{cut.edge} edge",
            do="measure the width of the cut piece near both ends of what was seen",
        )
    order, rising = np.argsort(along), np.argsort(line @ cut.along)
    planned = width_left(edge_of(cut), Area(keep.outer), at)
    found = np.interp(at, along[order], out[order])
    wanted = np.interp(at, (line @ cut.along)[rising], (line @ cut.out)[rising])
    more = np.array([each.width for each in widths]) - planned - (found - wanted)
    middle = float(at.mean())
    by = np.column_stack([np.ones(len(at)), at - middle])
    inverse = np.linalg.inv(by.T @ by)
    move = inverse @ by.T @ more
    here = np.column_stack([np.ones(len(along)), along - middle])
    u = WIDTH_U * np.sqrt(np.einsum("np,pq,nq->n", here, inverse, here))
    return placed + (here @ move)[:, None] * cut.out, np.asarray(u)


def _even(station: Array) -> Array:
    """Even stations over what was seen; what is shorter than a step, its ends."""
    at = np.arange(np.ceil(station.min() / _STEP_MM), np.floor(station.max() / _STEP_MM) + 1)
    return at * _STEP_MM if len(at) > 1 else np.array([station.min(), station.max()])


def _along(cut: CutEdge, plan: Array) -> Array:
    """(N,) u of the planned line in the order of its travel here."""
    return cut.u if plan is cut.line else cut.u[::-1]
