"""How surely the cut line lies on the blank when the sheets were joined, checked and laid on it.

Each joint is known by its two marks, each cross by the tape, each stretch of the blank's edge by
its line on the sheet, laid on the edge. Where a part of the sheets shows too little of the edges to
be laid by them, it is laid by two of its crosses, marked on the blank.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import numpy.typing as npt

from scribe.geom.joined import Joined
from scribe.geom.polyline import point_at, stations
from scribe.output.piece.drawing import Drawing
from scribe.output.sheets.match_marks import U_MM
from scribe.output.sheets.sheets import Assembly, Cross, SheetPlan
from scribe.output.sheets.vital import closed
from scribe.piece import Piece
from scribe.tape import ordinary_u

Array = npt.NDArray[np.float64]
Edge = tuple[int, Array, Array]  # sheet from 0; (2, 2) ends of the stretch; (2,) square to it

# A line a quarter of a millimetre wide laid on an edge by eye, and a cross marked with a rule: half
# widths of rectangles, 0.25 and 0.5 mm (our estimate).
_EDGE_U, _CROSS_U = 0.25 / 3**0.5, 0.5 / 3**0.5
_SHORT_MM = 20.0  # a stretch of the blank's edge that nothing is laid by
_LOOSE_MM = 5.0  # known no better than this, it wants crosses
_EVERY_MM = 10.0  # along the cut


def with_assembly(plan: SheetPlan, drawing: Drawing, piece: Piece) -> SheetPlan:
    """The plan with what joining and laying it is worth, at the worst place of the cut lines.

    One sheet alone is laid and not joined: nothing is told of it.
    """
    if len(plan.sheets) == 1:
        return plan
    sheets, points, along = _places(plan, drawing)
    out = np.column_stack([-along[:, 1], along[:, 0]])
    edges = _edges(plan, piece.blank.shape.outer)
    laid = _joined(plan)
    for sheet, ends, way in edges:
        for at in ends:
            laid.lie(sheet, at, way, _EDGE_U)
    u = np.maximum(laid.u(sheets, points, out), laid.u(sheets, points, along))
    loose = {plan.sheets[k].group for k in sheets[u > _LOOSE_MM]}
    by_crosses = tuple(cross for group in sorted(loose) for cross in _far_crosses(plan, group))
    for cross in by_crosses:
        for way in np.eye(2):
            laid.lie(cross.sheet - 1, cross.at, way, _CROSS_U)
    across = laid.u(sheets, points, out)
    worst = int(across.argmax())
    alone = _alone(plan, sheets, points, out) if plan.joints else 0.0
    return replace(
        plan,
        assembly=Assembly(
            across=float(across[worst]),
            along=float(laid.u(sheets, points, along).max()),
            sheet=int(sheets[worst]) + 1,
            alone=alone,
            by_crosses=tuple(cross.number for cross in by_crosses),
        ),
    )


def _joined(plan: SheetPlan) -> Joined:
    """By marks and tape."""
    joined = Joined(len(plan.sheets))
    _meet(joined, plan)
    first = plan.crosses[0]
    for cross in plan.crosses[1:]:
        u = ordinary_u(cross.distance)
        joined.apart(first.sheet - 1, first.at, cross.sheet - 1, cross.at, u)
    return joined


def _meet(joined: Joined, plan: SheetPlan) -> None:
    for joint in plan.joints:
        for mark in joint.marks:
            joined.meet(joint.upper - 1, joint.lower - 1, mark.at, U_MM)


def _alone(plan: SheetPlan, sheets: npt.NDArray[np.int64], points: Array, out: Array) -> float:
    """mm, u at the worst place by the marks alone, each part told from its first sheet."""
    joined, fixed = Joined(len(plan.sheets)), set()
    _meet(joined, plan)
    for cross in plan.crosses:
        group = plan.sheets[cross.sheet - 1].group
        if group not in fixed:
            fixed.add(group)
            joined.fix(cross.sheet - 1)
    return float(joined.u(sheets, points, out).max())


def _places(plan: SheetPlan, drawing: Drawing) -> tuple[npt.NDArray[np.int64], Array, Array]:
    """Sheets (N,) from 0, places on the cut lines (N, 2) that they show, and directions there."""
    sheets: list[int] = []
    points, ways = [], []
    for path in drawing.layer("cut").paths:
        line = closed(path)
        place = stations(line)
        at = np.linspace(0.0, place[-1], max(2, int(place[-1] / _EVERY_MM) + 2))
        where, step = point_at(line, at), 0.5
        way = point_at(line, at + step) - point_at(line, at - step)
        for k, sheet in enumerate(plan.sheets):
            seen = sheet.shows(where)
            for joint in plan.of(sheet):
                side = joint.left(where) * (1.0 if joint.upper == sheet.number else -1.0)
                seen &= side >= -1e-6
            sheets += [k] * int(seen.sum())
            points.append(where[seen])
            ways.append(way[seen] / np.hypot(*way[seen].T)[:, None])
    return np.array(sheets), np.vstack(points), np.vstack(ways)


def _edges(plan: SheetPlan, ring: Array) -> list[Edge]:
    """The stretches of the blank's edges that the sheets show when they lie joined."""
    found: list[Edge] = []
    for k, sheet in enumerate(plan.sheets):
        own = plan.own(sheet)
        inward = np.roll(own, -1, axis=0) - own
        for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
            first, last = 0.0, 1.0
            for corner, side in zip(own, inward, strict=True):
                start = side[0] * (a - corner)[1] - side[1] * (a - corner)[0]
                end = side[0] * (b - corner)[1] - side[1] * (b - corner)[0]
                if start < 0.0 and end < 0.0:
                    last = first
                elif start < 0.0 or end < 0.0:
                    share = start / (start - end)
                    first, last = (
                        (max(first, share), last) if start < 0.0 else (first, min(last, share))
                    )
            length = float(np.hypot(*(b - a)))
            if (last - first) * length > _SHORT_MM:
                ends = a + np.array([[first], [last]]) * (b - a)
                found.append((k, ends, np.array([a[1] - b[1], b[0] - a[0]]) / length))
    return found


def _far_crosses(plan: SheetPlan, group: int) -> list[Cross]:
    """The two crosses of a group that lie furthest apart."""
    its = [cross for cross in plan.crosses if plan.sheets[cross.sheet - 1].group == group]
    pairs = list(combinations(its, 2))
    apart = [float(np.hypot(*(one.at - other.at))) for one, other in pairs]
    return list(pairs[int(np.argmax(apart))])
