"""What is drafted and put on a canvas is what was asked of it, to the last byte."""

from __future__ import annotations

from io import BytesIO
from typing import Any

from reportlab.pdfgen.canvas import Canvas

from scribe.output.pages.draft import Draft


def written(canvas: Any) -> None:
    """Two pages, with words, a path, and words that stand where others end."""
    canvas.setFont("Helvetica", 12)
    canvas.drawString(canvas.stringWidth("as wide", "Helvetica", 12), 20, "two", charSpace=0.5)
    canvas.showPage()
    path = canvas.beginPath()
    path.moveTo(1.0, 2.0)
    path.lineTo(3.0, 4.5)
    canvas.drawPath(path, stroke=1, fill=0)


def test_a_draft_on_a_canvas_is_what_was_drawn() -> None:
    draft = Draft()
    written(draft)
    contents = []
    for draw in (written, draft.onto):
        stream = BytesIO()
        canvas = Canvas(stream, invariant=1)
        draw(canvas)
        canvas.save()
        contents.append(stream.getvalue())
    assert contents[0] == contents[1]


def test_pages_are_counted_as_the_canvas_counts_them() -> None:
    canvas, draft = Canvas(BytesIO()), Draft()
    assert draft.pages == canvas.getPageNumber() == 1
    for each in (canvas, draft):
        written(each)
    assert draft.pages == canvas.getPageNumber() == 2
