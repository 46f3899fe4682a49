"""The template to print: a cover with the numbers, then the drawing in full size, tiled.

User space is 1/72 inch (ISO 32000-1, 8.3.2.3); the catalog asks the viewer not to scale
(12.2, PrintScaling None), and since that is only asked, every page carries a check bar.
"""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

from scribe.output.draw_piece import FACE, MIRRORED
from scribe.output.drawing import STROKES, Drawing, Layer
from scribe.output.pdf_cover import draw_cover
from scribe.output.tiles import FOOT_MM, Tile, TilePlan, plan_tiles
from scribe.piece import Piece
from scribe.standards import PT_PER_MM

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

BAR_MM = 100
CAP = 0.718  # height of a capital of Helvetica over its font size (Adobe font metrics)
_THIN, _MARK = 0.15, 5.0


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
    for tile in plan.tiles:
        _draw_tile(canvas, drawing, plan, tile)
    canvas.save()
    return stream.getvalue()


def draw_layers(canvas: Canvas, drawing: Drawing, *, words: bool = True) -> None:
    """All layers, in the canvas's mm."""
    for layer in drawing.layers:
        _draw_paths(canvas, layer)
        for text in layer.texts if words else ():
            canvas.saveState()
            canvas.translate(*text.at)
            canvas.rotate(text.angle_deg)
            canvas.setFont("Helvetica-Bold" if text.bold else "Helvetica", text.size / CAP)
            draw = {
                "start": canvas.drawString,
                "middle": canvas.drawCentredString,
                "end": canvas.drawRightString,
            }[text.anchor]
            draw(0, 0, text.words)
            canvas.restoreState()


def _draw_paths(canvas: Canvas, layer: Layer) -> None:
    for path in layer.paths:
        stroke = STROKES[path.kind]
        canvas.setLineWidth(stroke.width)
        canvas.setDash(*(([list(stroke.dashes)]) if stroke.dashes else ()))
        outline = canvas.beginPath()
        outline.moveTo(*path.points[0].tolist())
        for point in path.points[1:].tolist():
            outline.lineTo(*point)
        if path.closed:
            outline.close()
        canvas.drawPath(outline)
    canvas.setDash()


def _draw_tile(canvas: Canvas, drawing: Drawing, plan: TilePlan, tile: Tile) -> None:
    width, height = plan.size
    x0, y0, x1, y1 = tile.box
    left, low = plan.margin, plan.margin + FOOT_MM
    canvas.setPageSize((width * PT_PER_MM, height * PT_PER_MM))
    canvas.scale(PT_PER_MM, PT_PER_MM)
    canvas.saveState()
    window = canvas.beginPath()
    window.rect(left, low, x1 - x0, y1 - y0)
    canvas.clipPath(window, stroke=0)
    canvas.translate(left - x0, low - y0)
    draw_layers(canvas, drawing)
    canvas.restoreState()
    canvas.setLineWidth(_THIN)
    canvas.rect(left, low, x1 - x0, y1 - y0)
    for mark in tile.marks:
        _draw_mark(canvas, left + mark.at[0] - x0, low + mark.at[1] - y0, mark.letter)
    _draw_foot(canvas, drawing, plan, tile)
    canvas.showPage()


def _draw_mark(canvas: Canvas, x: float, y: float, letter: str) -> None:
    """A cross in a circle with its letter: 0.3 mm of misplacement shows in the circle."""
    canvas.setLineWidth(_THIN)
    canvas.line(x - _MARK, y, x + _MARK, y)
    canvas.line(x, y - _MARK, x, y + _MARK)
    canvas.circle(x, y, 1.5)
    canvas.setFont("Helvetica-Bold", 3.5 / CAP)
    canvas.drawString(x + 1.6, y + 1.6, letter)


def _draw_foot(canvas: Canvas, drawing: Drawing, plan: TilePlan, tile: Tile) -> None:
    """The check bar and the page's name, in the strip above the lower margin."""
    x, y = plan.margin, plan.margin + 1.0
    canvas.setLineWidth(0.3)
    canvas.line(x, y + 4.0, x + BAR_MM, y + 4.0)
    for tick in range(0, BAR_MM + 1, 10):
        canvas.line(x + tick, y + 4.0, x + tick, y + (1.0 if tick % 50 == 0 else 2.2))
    canvas.setFont("Helvetica", 2.2 / CAP)
    canvas.drawString(x + 1.0, y + 5.0, f"0 to {BAR_MM} must be {BAR_MM}.0 mm: print at 100 %")
    canvas.setFont("Helvetica-Bold", 3.5 / CAP)
    name = f"{drawing.name}   {tile.number}/{len(plan.tiles)}"
    right = plan.size[0] - plan.margin
    canvas.drawRightString(right, y + 3.4, name)
    canvas.setFont("Helvetica-Bold" if drawing.mirrored else "Helvetica", 2.6 / CAP)
    side = MIRRORED if drawing.mirrored else FACE
    canvas.drawRightString(right, y, side)
