"""The template to print: a cover with the numbers, then the drawing in full size, tiled.

User space is 1/72 inch (ISO 32000-1, 8.3.2.3); the catalog asks the viewer not to scale
(12.2, PrintScaling None), and since that is only asked, every page carries a check bar.
"""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

import numpy as np

from scribe.output.draw_piece import labelled
from scribe.output.drawing import Box, Drawing, Layer, Text, centred, text_box
from scribe.output.match_marks import MatchMark, combs, letter_place
from scribe.output.on_canvas import BOLD, CAP, PLAIN, draw_path, write_text
from scribe.output.pdf_cover import draw_cover
from scribe.output.tiles import FOOT_MM, Tile, TilePlan, plan_tiles, strip_space
from scribe.output.words import FACE, MIRRORED
from scribe.piece import Piece
from scribe.standards import PT_PER_MM

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

BAR_MM = 100
_THIN = 0.15
_INSET = 2.0  # of words in the foot of a mirrored sheet
_LETTER = 2.8  # height of a match mark's letter
_SHADE = 0.93  # grey of the strip on which the neighbour comes to lie


def template_pdf(
    drawing: Drawing, piece: Piece, *, paper: str, margin: float, overlap: float
) -> bytes:
    """The PDF of one piece; the same bytes for the same piece.

    margin: mm the printer leaves at every side. overlap: mm that neighbouring pages share.
    """
    from reportlab.pdfgen.canvas import Canvas

    plan = plan_tiles(drawing, paper=paper, margin=margin, overlap=overlap)
    stream = BytesIO()
    canvas = Canvas(stream, invariant=1, pageCompression=1)
    canvas.setTitle(piece.name + (" (mirrored)" if drawing.mirrored else ""))
    canvas.setCreator("scribe")
    canvas.setViewerPreference("PrintScaling", "None")
    draw_cover(canvas, drawing, piece, plan, paper)
    marks = [mark.box for tile in plan.tiles for mark in tile.marks]
    sheets = labelled(drawing, piece, [tile.own(overlap) for tile in plan.tiles], marks)
    for tile in plan.tiles:
        _draw_tile(canvas, sheets, plan, tile)
    canvas.save()
    return stream.getvalue()


def _draw_paths(canvas: Canvas, layer: Layer, box: Box) -> None:
    """The paths of a layer that come near the box."""
    low, high = np.array(box[:2]) - 1.0, np.array(box[2:]) + 1.0
    for path in layer.paths:
        if ((path.points.max(axis=0) < low) | (path.points.min(axis=0) > high)).any():
            continue
        draw_path(canvas, path)


def _draw_tile(canvas: Canvas, drawing: Drawing, plan: TilePlan, tile: Tile) -> None:
    width, height = plan.size
    x0, y0, x1, y1 = tile.box
    left, low = plan.margin, plan.margin + FOOT_MM
    canvas.setPageSize((width * PT_PER_MM, height * PT_PER_MM))
    canvas.scale(PT_PER_MM, PT_PER_MM)
    canvas.saveState()
    canvas.translate(left - x0, low - y0)
    window = canvas.beginPath()
    window.rect(x0, y0, x1 - x0, y1 - y0)
    canvas.clipPath(window, stroke=0)
    _draw_joins(canvas, drawing, plan, tile)
    for layer in drawing.layers:
        _draw_paths(canvas, layer, tile.box)
        for text in layer.texts:
            if _is_whole(text, tile) or not any(_is_whole(text, other) for other in plan.tiles):
                write_text(canvas, text)
    for mark in tile.marks:
        _draw_mark(canvas, mark, tile)
    canvas.restoreState()
    canvas.setLineWidth(_THIN)
    canvas.rect(left, low, x1 - x0, y1 - y0)
    _draw_foot(canvas, drawing, plan, tile)
    canvas.showPage()


def _is_whole(text: Text, tile: Tile) -> bool:
    """Words cut by the edge of a page are left to the neighbour that shows them whole."""
    a, b, c, d = text_box(text)
    x0, y0, x1, y1 = tile.box
    return x0 <= a and y0 <= b and c <= x1 and d <= y1


def _draw_joins(canvas: Canvas, drawing: Drawing, plan: TilePlan, tile: Tile) -> None:
    """The strips shared with neighbours, shaded where the neighbour comes to lie on top."""
    x0, y0, x1, y1 = tile.box
    reach = plan.overlap
    left, right = (x0, y0, x0 + reach, y1), (x1 - reach, y0, x1, y1)
    above, below = (x0, y1 - reach, x1, y1), (x0, y0, x1, y0 + reach)
    canvas.setFillGray(_SHADE)
    for strip, there in ((left, tile.left), (above, tile.above)):
        if there:
            a, b, c, d = strip
            canvas.rect(a, b, c - a, d - b, stroke=0, fill=1)
    canvas.setFillGray(0.0)
    canvas.setLineWidth(_THIN)
    if tile.left:
        canvas.line(x0 + reach, y0, x0 + reach, y1)
    if tile.above:
        canvas.line(x0, y1 - reach, x1, y1 - reach)
    for strip, angle_deg, words, there in (
        (left, 90.0, "sheet {} ends here", tile.left),
        (above, 0.0, "sheet {} ends here", tile.above),
        (right, 90.0, "trim, lay on {}", tile.right),
        (below, 0.0, "trim, lay on {}", tile.below),
    ):
        if there is None:
            continue
        text = Text((0.0, 0.0), words.format(there), _LETTER, angle_deg=angle_deg)
        space = strip_space(drawing, strip)
        for mark in tile.marks:
            space.take(mark.box, 1.0)
        a, b, c, d = text_box(text)
        place = space.place((c - a, d - b), np.array(strip[:2]))
        if place is not None:
            write_text(canvas, centred(text, place))


def _draw_mark(canvas: Canvas, mark: MatchMark, tile: Tile) -> None:
    """The half of a mark that this page has; the middle lines thicker than the outer ones."""
    upper = mark.upper == tile.number
    for comb in combs(upper=upper):
        for width, line in zip((_THIN, 2 * _THIN, _THIN), comb, strict=True):
            canvas.setLineWidth(width)
            (x0, y0), (x1, y1) = mark.place(line).tolist()
            canvas.line(x0, y0, x1, y1)
    size = _LETTER / CAP / max(1.0, 0.7 * len(mark.letter))
    x, y = mark.place(letter_place(upper=upper)).tolist()
    canvas.setFont(BOLD, size)
    canvas.drawCentredString(x, y - size * CAP / 2, mark.letter)


def _draw_foot(canvas: Canvas, drawing: Drawing, plan: TilePlan, tile: Tile) -> None:
    """The check bar and the page's name, in the strip above the lower margin."""
    x, y = plan.margin, plan.margin + 3.5
    canvas.setLineWidth(0.3)
    canvas.line(x, y, x + BAR_MM, y)
    for tick in range(0, BAR_MM + 1, 10):
        canvas.line(x + tick, y, x + tick, y - (3.0 if tick % 50 == 0 else 1.6))
    canvas.setFont(PLAIN, 2.6 / CAP)
    canvas.drawString(x, y + 1.8, f"This bar must be {BAR_MM}.0 mm; if not, print again at 100 %.")
    right, reach = plan.size[0] - plan.margin, plan.size[0] - 2 * plan.margin - BAR_MM - 6.0
    name = f"{drawing.name}  {tile.number}/{len(plan.tiles)}"
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
