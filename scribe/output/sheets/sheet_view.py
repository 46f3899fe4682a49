"""What one sheet shows: the drawing turned as the sheet lies, its words upright and whole on it."""

from __future__ import annotations

from scribe.geom.frames import turned
from scribe.output.piece.draw_piece import labelled
from scribe.output.piece.drawing import Drawing, Layer
from scribe.output.piece.mirror import mirror, turn, turned_drawing
from scribe.output.sheets.crosses import cross_paths, cross_words
from scribe.output.sheets.sheets import Sheet, SheetPlan
from scribe.piece import Piece, Polygon


def sheet_view(drawing: Drawing, piece: Piece, plan: SheetPlan, sheet: Sheet) -> Drawing:
    """The drawing in the frame of the sheet's box, with the words of this sheet alone."""
    frame = turned(sheet.turn)
    seen = turn(mirror(piece) if drawing.mirrored else piece, sheet.turn)
    crosses = [cross.seen(frame) for cross in plan.crosses if cross.sheet == sheet.number]
    marks = [mark.seen(frame) for joint in plan.of(sheet) for mark in joint.marks]
    own = Polygon(frame.apply(plan.own(sheet)))
    view = turned_drawing(drawing, sheet.turn).with_layers(Layer("check", cross_paths(crosses)))
    notes = [(cross.at, cross_words(cross)) for cross in crosses]
    within = frame.apply(sheet.corners)
    return labelled(view, seen, [own], notes, marks, angle=sheet.turn, within=within)
