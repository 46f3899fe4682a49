"""What one sheet shows: the drawing turned as the sheet lies, its words upright and whole on it."""

from __future__ import annotations

from itertools import pairwise
from math import ceil

import numpy as np
import numpy.typing as npt

from scribe.geom.frames import turned
from scribe.output.piece.draw_piece import CELL_MM, labelled
from scribe.output.piece.drawing import Drawing, Layer
from scribe.output.piece.mirror import mirror, turn, turned_drawing
from scribe.output.sheets.crosses import cross_paths, cross_words
from scribe.output.sheets.sheets import Sheet, SheetPlan, clipped
from scribe.piece import Piece, Polygon

Array = npt.NDArray[np.float64]


def sheet_view(drawing: Drawing, piece: Piece, plan: SheetPlan, sheet: Sheet) -> Drawing:
    """The drawing in the frame of the sheet's box, with the words of this sheet alone."""
    frame = turned(sheet.turn)
    seen = turn(mirror(piece) if drawing.mirrored else piece, sheet.turn)
    crosses = [cross.seen(frame) for cross in plan.crosses if cross.sheet == sheet.number]
    marks = [mark.seen(frame) for joint in plan.of(sheet) for mark in joint.marks]
    windows = [Polygon(part) for part in _parted(frame.apply(plan.own(sheet)))]
    view = turned_drawing(drawing, sheet.turn).with_layers(Layer("check", cross_paths(crosses)))
    notes = [(cross.at, cross_words(cross)) for cross in crosses]
    within = frame.apply(sheet.corners)
    return labelled(view, seen, windows, notes, marks, angle=sheet.turn, within=within)


def _parted(area: Array) -> list[Array]:
    """A sheet too long to be seen at once, in parts that each have their own words."""
    low, high = area.min(axis=0), area.max(axis=0)
    side = int(np.argmax(high - low))
    bounds = np.linspace(low[side], high[side], ceil(float(high[side] - low[side]) / CELL_MM) + 1)
    parts = []
    for first, last in pairwise(bounds):
        ahead = clipped(area, area[:, side] - first)
        parts.append(clipped(ahead, last - ahead[:, side]))
    return parts
