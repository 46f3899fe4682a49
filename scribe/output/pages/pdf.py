"""The template to print: a cover with the numbers, then the drawing in full size, on sheets.

User space is 1/72 inch (ISO 32000-1, 8.3.2.3); the catalog asks the viewer not to scale
(12.2, PrintScaling None), and since that is only asked, every page carries a check bar.
"""

from __future__ import annotations

from io import BytesIO

from scribe.job import PrintSettings
from scribe.output.pages.pdf_cover import draw_cover
from scribe.output.pages.pdf_sheet import draw_sheet
from scribe.output.pdf_canvas import pdf_canvas
from scribe.output.piece.drawing import Drawing, Picture
from scribe.output.sheets.sheet_view import sheet_view
from scribe.output.sheets.sheets import SheetPlan
from scribe.piece import Piece


def template_pdf(
    drawing: Drawing, picture: Picture, piece: Piece, plan: SheetPlan, settings: PrintSettings
) -> bytes:
    """The PDF of one piece; the same bytes for the same piece. picture: as `draw_cover` has it."""
    stream = BytesIO()
    canvas = pdf_canvas(stream)
    canvas.setTitle(piece.name + (" (mirrored)" if drawing.mirrored else ""))
    canvas.setCreator("scribe")
    canvas.setViewerPreference("PrintScaling", "None")
    draw_cover(canvas, drawing, picture, piece, plan, settings)
    for sheet in plan.sheets:
        draw_sheet(canvas, sheet_view(drawing, piece, plan, sheet), plan, sheet)
    canvas.save()
    return stream.getvalue()
