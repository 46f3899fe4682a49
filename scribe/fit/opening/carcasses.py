"""Carcasses for the bays of an opening: as wide and tall as its worst place lets them be.

The row is level and plumb. At its sides it keeps the face width wanted of a strip from the wall's
front, and the fitting gap from the wall at any depth; at its head likewise. Widths and heights
are whole millimetres, rounded down; what that leaves goes to the strips, half to either side, so
that strips and carcasses together are as wide as the opening at its narrowest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import get_args

import numpy as np
import numpy.typing as npt

from scribe.build_plan import BuildPlan
from scribe.errors import ScribeError
from scribe.fit.opening.opening_sizes import InTheWay, free_areas, nothing
from scribe.fit.opening.standing_up import stand_up
from scribe.fit.opening.strips import Edge, strip_size
from scribe.geom.rectangles import Rectangle, largest, tallest
from scribe.geom.region import Area, intersection
from scribe.opening import Opening, Side
from scribe.quantity import format_mm, round_down_mm
from scribe.sizes import Built, Carcass, StripSize

Array = npt.NDArray[np.float64]

_LEAST_MM = 150.0  # what is narrower or lower is no carcass (common practice, no source)
_BESIDE_MM = 150.0  # a row that ends further from a wall ends under a slope, not at the wall
_STEP_MM = 1.0
_EXACT_MM = 0.1  # less than a size is rounded down by
_FAR_MM = 1e5
_UNEVEN_MM = 60.0  # more than a floor rises from end to end
SIDES: tuple[Side, ...] = get_args(Side)


@dataclass(frozen=True)
class Row:
    """Where carcasses may stand. x0, x1: their outer sides; meets: the walls they end at."""

    x0: float
    x1: float
    foot: float
    meets: tuple[Side, ...]


def build(room: Opening, plan: BuildPlan, solids: InTheWay = nothing) -> Built:
    """Every carcass and strip of a plan; refuses bays that don't go in."""
    areas = free_areas(room, plan.depth, solids)
    row = _row(room, plan, areas)
    widths, left_over = _widths(room, plan, row)
    lefts = row.x0 + left_over / 2 + np.cumsum([0.0, *widths[:-1]])
    heads = _heads(room, plan, areas, list(zip(lefts, widths, strict=True)))
    carcasses, notes = [], []
    for number, (left, width, head) in enumerate(zip(lefts, widths, heads, strict=True), 1):
        carcass, note = _carcass(room, plan, row, number, float(left), width, head)
        carcasses.append(carcass)
        notes += note
    strips = _strips(room, plan, row, carcasses)
    notes += [
        f"The row ends before the {side} wall, under the slope: no strip goes there."
        for side in SIDES
        if plan.face(side) and side not in row.meets
    ]
    return Built(tuple(carcasses), tuple(strips), tuple(notes))


def _row(room: Opening, plan: BuildPlan, areas: list[Area]) -> Row:
    least = (plan.face("plinth") or 0.0) + _LEAST_MM
    found = largest(areas)
    if found is not None and plan.heights == "each":
        found = _widest_foot(areas, found.y0, least)
    if found is None or found.height < least - _EXACT_MM:
        raise _no_room(room, "nothing stands in the opening")
    meets: list[Side] = []
    edges = []
    sides: tuple[tuple[Side, float], ...] = (("left", found.x0), ("right", found.x1))
    for side, at in sides:
        inward, sign = _wall(room, side, plan.depth, found), 1.0 if side == "left" else -1.0
        if sign * (at - inward[1]) > _BESIDE_MM:
            edges.append(at)
            continue
        meets.append(side)
        # `at` counts what is in the way, `inward` the bow of the wall between a section's chords.
        pick = max if side == "left" else min
        face = inward[0] + sign * (plan.face(side) or plan.gap)
        edges.append(pick(face, at + sign * plan.gap, inward[1] + sign * plan.gap))
    return Row(edges[0], edges[1], max(_foot(room, plan, *edges), found.y0), tuple(meets))


def _foot(room: Opening, plan: BuildPlan, x0: float, x1: float) -> float:
    """y the carcasses stand on: the floor's highest place, or the plinth's top."""
    anywhere = max(room.floor_y(x, z) for x in (x0, x1) for z in (0.0, plan.depth))
    plinth = plan.face("plinth")
    front = max(room.floor_y(x, 0.0) for x in (x0, x1))
    return anywhere if plinth is None else max(front + plinth, anywhere + plan.gap)


def _widest_foot(areas: list[Area], foot: float, least: float) -> Rectangle | None:
    """The widest that stands on the floor and is as tall as the lowest bay must be."""
    low, high = foot - _UNEVEN_MM, foot + least + _UNEVEN_MM
    band = [[-_FAR_MM, low], [_FAR_MM, low], [_FAR_MM, high], [-_FAR_MM, high]]
    near = [part for area in areas for part in intersection(area, Area(np.array(band)))]

    def widest(width: Array, height: Array) -> Array:
        return np.where(height >= least - _EXACT_MM, width, 0.0)

    return largest(near, widest) if near else None


def _wall(room: Opening, side: Side, depth: float, row: Rectangle) -> tuple[float, float]:
    """How far a wall reaches in, from the row's foot to the ceiling: at the front, at any depth."""
    pick = max if side == "left" else min
    x = row.x0 if side == "left" else row.x1
    levels = np.linspace(row.y0, max(room.ceiling_y(x, 0.0), row.y1), 49)
    front = pick(room.wall_x(side, float(y), 0.0) for y in levels)
    return front, pick(front, *(room.wall_x(side, float(y), depth) for y in levels))


def _widths(room: Opening, plan: BuildPlan, row: Row) -> tuple[list[float], float]:
    """Of the bays, and what they leave of the row."""
    space = row.x1 - row.x0
    sharing = sum(width is None for width in plan.bays)
    rest = space - sum(width or 0.0 for width in plan.bays)
    share = round_down_mm(rest / sharing, _STEP_MM) if sharing else 0.0
    if rest < 0.0 or (sharing and share < _LEAST_MM):
        wanted = [_LEAST_MM if width is None else width for width in plan.bays]
        raise _no_room(
            room,
            f"the bays need {format_mm(sum(wanted))} mm at least, and {format_mm(space)} mm are "
            "left between the strips",
        )
    widths = [share if width is None else width for width in plan.bays]
    return widths, space - sum(widths)


def _heads(
    room: Opening,
    plan: BuildPlan,
    areas: list[Area],
    bays: Sequence[tuple[float, float]],
) -> list[float]:
    """y of the top of every carcass: below the ceiling's front by the strip's face, and by the
    gap at any depth.
    """
    tops = []
    for left, width in bays:
        _, head = tallest(areas, np.array([left]), np.array([left + width]))
        front = min(_ceiling(room, left, left + width))
        tops.append(min(front - (plan.face("top") or plan.gap), float(head[0]) - plan.gap))
    return tops if plan.heights == "each" else [min(tops)] * len(tops)


def _ceiling(room: Opening, x0: float, x1: float) -> list[float]:
    nodes = [n[0] for n in room.ceiling if x0 < n[0] < x1] if room.along == "width" else []
    return [room.ceiling_y(x, 0.0) for x in (x0, *nodes, x1)]


def _carcass(
    room: Opening, plan: BuildPlan, row: Row, number: int, left: float, width: float, head: float
) -> tuple[Carcass, list[str]]:
    name = f"carcass {number}"
    height = round_down_mm(head - row.foot, _STEP_MM)
    if height < _LEAST_MM:
        raise _no_room(room, f"{name} would be {format_mm(max(height, 0.0))} mm tall")
    at = Rectangle(left, row.foot, left + width, row.foot + height)
    standing, notes = stand_up(room, at, plan.depth, plan.room_height), []
    if not standing.goes:
        lower = round_down_mm(standing.tallest - standing.spare.U, _STEP_MM)
        if lower < _LEAST_MM:
            raise _no_room(room, f"{name} can't be stood up at any height")
        notes.append(
            f"{name} is {format_mm(height - lower)} mm lower than the ceiling lets it be: taller, "
            f"it can't be stood up (built in two parts, it could be {format_mm(height)} mm)."
        )
        height = lower
        at = Rectangle(left, row.foot, left + width, row.foot + height)
        standing = stand_up(room, at, plan.depth, plan.room_height)
    return Carcass(name, left, row.foot, width, height, plan.depth, standing), notes


def _strips(
    room: Opening, plan: BuildPlan, row: Row, carcasses: Sequence[Carcass]
) -> list[StripSize]:
    """Those that are wanted, from left to right, then top and plinth."""
    first, last = carcasses[0], carcasses[-1]
    right, found = last.left + last.width, []
    sides: tuple[tuple[Side, Carcass, float], ...] = (
        ("left", first, first.left),
        ("right", last, right),
    )
    for side, carcass, x in sides:
        if plan.face(side) and side in row.meets:
            top = min(_ceiling(room, *sorted((x, room.wall_x(side, carcass.foot, 0.0)))))
            span = (room.floor_y(x, 0.0), top)
            found.append(strip_size(room, plan, Edge(side, f"{side} strip", x, span)))
    if plan.face("top"):
        groups: list[tuple[str, float, float, Carcass]] = (
            [(f"top strip {n}", c.left, c.left + c.width, c) for n, c in enumerate(carcasses, 1)]
            if plan.heights == "each" and len(carcasses) > 1
            else [("top strip", first.left, right, first)]
        )
        for name, x0, x1, carcass in groups:
            top = carcass.foot + carcass.height
            found.append(strip_size(room, plan, Edge("top", name, top, (x0, x1))))
    if plan.face("plinth"):
        edge = Edge("plinth", "plinth", row.foot, (first.left, right))
        found.append(strip_size(room, plan, edge))
    return found


def _no_room(room: Opening, what: str) -> ScribeError:
    return ScribeError(
        "bays-dont-fit",
        what=what,
        where=room.name,
        do="make bays, strips or plinth smaller, or have fewer of them",
    )
