"""One sheet of a template as a page: what it shows of the drawing, its joints, its foot."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from scribe.geom.frames import turned
from scribe.output.pages.on_canvas import BOLD, CAP, PLAIN, draw_path, write_text
from scribe.output.piece.drawing import Box, Drawing, Layer, Text, centred, text_box, text_corners
from scribe.output.sheets.joints import joint_space
from scribe.output.sheets.match_marks import HALF_MM, REACH_MM, MatchMark, combs, letter_place
from scribe.output.sheets.sheets import FOOT_MM, Joint, Sheet, SheetPlan
from scribe.output.words import FACE, MIRRORED, upright
from scribe.standards import PT_PER_MM

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

Array = npt.NDArray[np.float64]

BAR_MM = 100
_THIN = 0.15
_INSET = 2.0  # of words in the foot of a mirrored sheet
_LETTER = 2.8  # height of a match mark's letter
_SHADE = 0.93  # grey of the strip on which the neighbour comes to lie


def draw_sheet(canvas: Canvas, view: Drawing, plan: SheetPlan, sheet: Sheet) -> None:
    """view: the drawing in the frame of the sheet's box."""
    width, height = sheet.size
    x0, y0, x1, y1 = sheet.box
    left, low = plan.margin, plan.margin + FOOT_MM
    canvas.setPageSize((width * PT_PER_MM, height * PT_PER_MM))
    canvas.scale(PT_PER_MM, PT_PER_MM)
    canvas.saveState()
    canvas.translate(left - x0, low - y0)
    window = canvas.beginPath()
    window.rect(x0, y0, x1 - x0, y1 - y0)
    canvas.clipPath(window, stroke=0)
    joints = [joint.seen(turned(sheet.turn)) for joint in plan.of(sheet)]
    for joint in joints:
        _shade(canvas, plan, sheet, joint)
    for layer in view.layers:
        _draw_paths(canvas, layer, sheet.box)
        for text in layer.texts:
            if layer.id == "labels" or _belongs(text, plan, sheet):
                write_text(canvas, text)
    for joint in joints:
        _joint_words(canvas, view, plan, sheet, joint)
        for mark in joint.marks:
            _draw_mark(canvas, mark, upper=joint.upper == sheet.number)
    canvas.restoreState()
    canvas.setLineWidth(_THIN)
    canvas.rect(left, low, x1 - x0, y1 - y0)
    _draw_foot(canvas, view, plan, sheet)
    canvas.showPage()


def _belongs(text: Text, plan: SheetPlan, sheet: Sheet) -> bool:
    """Words cut by the edge of a page are left to the neighbour that shows them whole."""
    corners = turned(-sheet.turn).apply(text_corners(text))
    return bool(sheet.shows(corners).all()) or not any(
        other.shows(corners).all() for other in plan.sheets
    )


def _shade(canvas: Canvas, plan: SheetPlan, sheet: Sheet, joint: Joint) -> None:
    """On the lower sheet where the upper one comes to lie, as deep as the strip they share; on
    the upper one what is cut away, unless it ends there anyway.
    """
    way, aside = joint.frame.rotation.T
    if joint.lower == sheet.number:
        a, b = joint.trim
        far = plan.overlap * aside
    else:
        x0, y0, x1, y1 = sheet.box
        reach = float(np.hypot(x1 - x0, y1 - y0))
        a, b = joint.trim + reach * np.array([[-1.0], [1.0]]) * way
        far = -reach * aside
    _clear(canvas, np.array([a, b, b + far, a + far]), _SHADE)
    canvas.setLineWidth(_THIN)
    canvas.line(*a.tolist(), *b.tolist())


def _joint_words(
    canvas: Canvas, view: Drawing, plan: SheetPlan, sheet: Sheet, joint: Joint
) -> None:
    """What to do with a strip, or which sheet ends there, in it and clear of all else."""
    upper = joint.upper == sheet.number
    said = f"trim, lay on {joint.lower}" if upper else f"sheet {joint.upper} ends here"
    length = float(np.hypot(*(joint.trim[1] - joint.trim[0])))
    strip = (0.0, 0.0, length, plan.overlap)
    space = joint_space(view, joint, strip)
    for mark in joint.marks:
        x = float(joint.frame.inverse().apply(mark.at)[0])
        space.take((x - HALF_MM, -REACH_MM, x + HALF_MM, REACH_MM), 1.0)
    text = Text((0.0, 0.0), said, _LETTER)
    a, b, c, d = text_box(text)
    place = space.place((c - a, d - b), np.array([0.0 if upper else length, 0.0]))
    if place is not None:
        text = Text((0.0, 0.0), said, _LETTER, angle_deg=upright(joint.along))
        text = centred(text, joint.frame.apply(place))
        _clear(canvas, text_corners(text), 1.0 if upper else _SHADE)
        write_text(canvas, text)


def _clear(canvas: Canvas, corners: Array, grey: float) -> None:
    """An area painted over."""
    shape = canvas.beginPath()
    shape.moveTo(*corners[0].tolist())
    for point in corners[1:].tolist():
        shape.lineTo(*point)
    shape.close()
    canvas.setFillGray(grey)
    canvas.drawPath(shape, stroke=0, fill=1)
    canvas.setFillGray(0.0)


def _draw_paths(canvas: Canvas, layer: Layer, box: Box) -> None:
    """The paths of a layer that come near the box."""
    low, high = np.array(box[:2]) - 1.0, np.array(box[2:]) + 1.0
    for path in layer.paths:
        if ((path.points.max(axis=0) < low) | (path.points.min(axis=0) > high)).any():
            continue
        draw_path(canvas, path)


def _draw_mark(canvas: Canvas, mark: MatchMark, *, upper: bool) -> None:
    """The half of a mark that this page has; the middle lines thicker than the outer ones."""
    for comb in combs(upper=upper):
        for width, line in zip((_THIN, 2 * _THIN, _THIN), comb, strict=True):
            canvas.setLineWidth(width)
            (x0, y0), (x1, y1) = mark.place(line).tolist()
            canvas.line(x0, y0, x1, y1)
    size = _LETTER / CAP / max(1.0, 0.7 * len(mark.letter))
    x, y = mark.place(letter_place(upper=upper)).tolist()
    canvas.setFont(BOLD, size)
    canvas.drawCentredString(x, y - size * CAP / 2, mark.letter)


def _draw_foot(canvas: Canvas, drawing: Drawing, plan: SheetPlan, sheet: Sheet) -> None:
    """The check bar and the page's name, in the strip above the lower margin."""
    x, y = plan.margin, plan.margin + 3.5
    canvas.setLineWidth(0.3)
    canvas.line(x, y, x + BAR_MM, y)
    for tick in range(0, BAR_MM + 1, 10):
        canvas.line(x + tick, y, x + tick, y - (3.0 if tick % 50 == 0 else 1.6))
    canvas.setFont(PLAIN, 2.6 / CAP)
    canvas.drawString(x, y + 1.8, f"This bar must be {BAR_MM}.0 mm; if not, print again at 100 %.")
    right, reach = sheet.size[0] - plan.margin, sheet.size[0] - 2 * plan.margin - BAR_MM - 6.0
    name = f"{drawing.name}  {sheet.number}/{len(plan.sheets)}"
    side, font = (MIRRORED, BOLD) if drawing.mirrored else (FACE, PLAIN)
    if drawing.mirrored:  # white on black: told from the face's sheets across the room
        canvas.rect(right - reach, plan.margin, reach, FOOT_MM - 0.4, stroke=0, fill=1)
        canvas.setFillGray(1.0)
        right, reach = right - _INSET, reach - 2 * _INSET
    _right(canvas, right, y + 2.3, name, BOLD, 4.0, reach)
    _right(canvas, right, y - 2.7, side, font, 2.8, reach)
    canvas.setFillGray(0.0)


def _right(
    canvas: Canvas, x: float, y: float, words: str, font: str, cap: float, reach: float
) -> None:
    """Words that end at x, made smaller if they're longer than reach."""
    size = cap / CAP
    size *= min(1.0, reach / canvas.stringWidth(words, font, size))
    canvas.setFont(font, size)
    canvas.drawRightString(x, y, words)
