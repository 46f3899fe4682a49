"""Check crosses: one on every sheet, and how far each is from the first, for the tape.

The first stands where the stations begin. Distances run from it to each of the others and aren't
added up from joint to joint, so that errors of reading don't add up. They are whole millimetres.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from scribe.geom.frames import turned
from scribe.geom.polyline import nearest
from scribe.output.piece.drawing import Drawing, Path, text_box
from scribe.output.piece.free_space import FreeSpace, rectangle
from scribe.output.piece.mirror import mirror, turn, turned_drawing
from scribe.output.sheets.sheets import Cross, Sheet, SheetPlan
from scribe.output.sheets.vital import closed, dense, lines
from scribe.piece import Piece, Polygon
from scribe.quantity import format_mm

Array = npt.NDArray[np.float64]

ARM_MM = 3.0  # half a cross
_ROOM = 2.0 * (ARM_MM + 2.0)  # mm square, clear of all else
_INWARD = 12.0  # mm from line and joint to a cross, where there is room
_CLEAR = 1.0  # mm from lines


def with_crosses(plan: SheetPlan, drawing: Drawing, piece: Piece) -> SheetPlan:
    """The plan with its crosses, in order of the sheets from that where the stations begin."""
    line = lines(drawing)[0]
    seen = mirror(piece) if drawing.mirrored else piece
    first = next(sheet for sheet in plan.sheets if sheet.shows(line[:1]).all())
    order = [first, *(sheet for sheet in plan.sheets if sheet is not first)]
    wanted = [line[0], *(_wanted(plan, sheet, line) for sheet in order[1:])]
    for sheet in _single(plan):  # which nothing but its crosses may hold
        order.append(sheet)
        wanted.append(line[-1] if sheet is first else sheet.corners[0])
    crosses: list[Cross] = []
    for sheet, at in zip(order, wanted, strict=True):
        place = _place(plan, sheet, drawing, seen, at, [cross.at for cross in crosses])
        crosses.append(_on_whole_mm(len(crosses) + 1, sheet, place, crosses))
    return replace(plan, crosses=tuple(crosses))


def _single(plan: SheetPlan) -> list[Sheet]:
    """Sheets that are joined to no other."""
    groups = [sheet.group for sheet in plan.sheets]
    return [sheet for sheet in plan.sheets if groups.count(sheet.group) == 1]


def cross_paths(crosses: list[Cross]) -> tuple[Path, ...]:
    """Both arms of each."""
    arms = np.diag([ARM_MM, ARM_MM])
    return tuple(Path(np.array([c.at - arm, c.at + arm])) for c in crosses for arm in arms)


def cross_words(cross: Cross) -> str:
    """What stands beside a cross."""
    if cross.number == 1:
        return "cross 1: measure from here"
    return f"cross {cross.number}: {format_mm(cross.distance)} mm from cross 1"


def from_edges(cross: Cross, piece: Piece, *, mirrored: bool) -> tuple[float, float] | None:
    """mm that a cross lies from the left and from the bottom edge of the blank before it is cut;
    None where these aren't straight.
    """
    ring = piece.blank.shape.outer
    sides = np.abs(np.roll(ring, -1, axis=0) - ring)
    if len(ring) != 4 or float(sides.min(axis=1).max()) > 1e-6:
        return None
    at = cross.at * ([-1.0, 1.0] if mirrored else [1.0, 1.0])
    x, y = (at - ring.min(axis=0)).tolist()
    return x, y


def _wanted(plan: SheetPlan, sheet: Sheet, line: Array) -> Array:
    """On the last sheet of the line its far end, else beside the joint with an earlier sheet."""
    if sheet.shows(line[-1:]).all():
        return np.asarray(line[-1])
    before = [joint for joint in plan.joints if joint.lower == sheet.number]
    if not before:
        return np.asarray(sheet.corners.mean(axis=0))
    trim = dense(before[0].trim, 5.0)
    on_line = nearest(trim, line)
    at = on_line.point[int(np.abs(on_line.distance).argmin())]
    return np.asarray(at - _INWARD * before[0].frame.rotation[:, 1])


def _place(
    plan: SheetPlan, sheet: Sheet, drawing: Drawing, seen: Piece, wanted: Array, taken: list[Array]
) -> Array:
    """Inside the piece and clear of lines, words and marks, else anywhere on the sheet."""
    frame = turned(sheet.turn)
    own = Polygon(frame.apply(plan.own(sheet)))
    window = (*own.outer.min(axis=0).tolist(), *own.outer.max(axis=0).tolist())
    view = turned_drawing(drawing, sheet.turn)
    for area in (turn(seen, sheet.turn).keep, rectangle(window)):
        space = FreeSpace(area, window)
        space.only(own)
        for name in ("cut", "blank", "stations", "datum"):
            for path in view.layer(name).paths:
                space.take_line(closed(path), _CLEAR + (_INWARD - _ROOM / 2.0) * (name == "cut"))
        for text in view.layer("stations").texts:
            space.take(text_box(text), _CLEAR)
        for joint in plan.of(sheet):
            for mark in joint.marks:
                space.take(mark.seen(frame).box, _CLEAR)
        for x, y in frame.apply(np.array(taken).reshape(-1, 2)):
            space.take((x - _ROOM, y - _ROOM, x + _ROOM, y + _ROOM), 0.0)
        found = space.place((_ROOM, _ROOM), frame.apply(wanted))
        if found is not None:
            return frame.inverse().apply(found)
    return np.asarray(sheet.corners.mean(axis=0))


def _on_whole_mm(number: int, sheet: Sheet, at: Array, before: list[Cross]) -> Cross:
    """Moved towards the first cross by less than a millimetre."""
    if not before:
        return Cross(number, sheet.number, at, 0.0)
    way = at - before[0].at
    exact = float(np.hypot(*way))
    whole = float(np.floor(exact))
    return Cross(number, sheet.number, before[0].at + way * (whole / exact), whole)
