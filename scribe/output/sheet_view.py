"""What one sheet shows: the drawing turned as the sheet lies, its words upright and whole on it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scribe.geom.frames import turned
from scribe.output.draw_piece import labelled
from scribe.output.drawing import Drawing, Text, centred, text_box
from scribe.output.mirror import mirror, turn
from scribe.output.sheets import Sheet, SheetPlan
from scribe.piece import Piece, Polygon


def sheet_view(drawing: Drawing, piece: Piece, plan: SheetPlan, sheet: Sheet) -> Drawing:
    """The drawing in the frame of the sheet's box, with the words of this sheet alone."""
    frame = turned(sheet.turn)
    seen = turn(mirror(piece) if drawing.mirrored else piece, sheet.turn)
    marks = [mark.seen(frame) for joint in plan.of(sheet) for mark in joint.marks]
    own = Polygon(frame.apply(plan.own(sheet)))
    return labelled(turned_drawing(drawing, sheet.turn), seen, [own], marks, angle=sheet.turn)


def turned_drawing(drawing: Drawing, angle: float) -> Drawing:
    """The drawing turned about the origin, by radians; stations' words stay readable."""
    if angle == 0.0:
        return drawing
    frame = turned(angle)
    layers = [
        replace(
            layer,
            paths=tuple(replace(p, points=frame.apply(p.points)) for p in layer.paths),
            texts=tuple(_turned_text(text, angle) for text in layer.texts),
        )
        for layer in drawing.layers
    ]
    start, end = frame.apply(drawing.check.marks).tolist()
    check = replace(drawing.check, start=tuple(start), end=tuple(end))
    return replace(drawing, layers=tuple(layers), check=check)


def _turned_text(text: Text, angle: float) -> Text:
    """Readable from below or from the right, as before."""
    x0, y0, x1, y1 = text_box(text)
    middle = turned(angle).apply(np.array([(x0 + x1) / 2, (y0 + y1) / 2]))
    turn_deg = text.angle_deg + float(np.degrees(angle))
    if turn_deg > 91.0:
        turn_deg -= 180.0
    elif turn_deg <= -89.0:
        turn_deg += 180.0
    return centred(replace(text, angle_deg=turn_deg), middle)
