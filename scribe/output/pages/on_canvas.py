"""Paths and words of a drawing on a PDF canvas whose user space is in mm."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scribe.output.piece.drawing import STROKES, Path, Picture, Text

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

CAP = 0.718  # height of a capital of Helvetica over its font size (Adobe font metrics)
PLAIN, BOLD = "Helvetica", "Helvetica-Bold"


def in_its_letters(words: str) -> bool:
    """Whether the fonts have every letter: those that every PDF reader brings are of Western
    Europe (ISO 32000-1, annex D: WinAnsiEncoding).
    """
    try:
        words.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True


def write_text(canvas: Canvas, text: Text) -> None:
    """The words where they belong, turned as they are."""
    canvas.saveState()
    canvas.translate(*text.at)
    canvas.rotate(text.angle_deg)
    canvas.setFont(BOLD if text.bold else PLAIN, text.size / CAP)
    draw = {
        "start": canvas.drawString,
        "middle": canvas.drawCentredString,
        "end": canvas.drawRightString,
    }[text.anchor]
    draw(0, 0, text.words)
    canvas.restoreState()


def draw_path(canvas: Canvas, path: Path, *, finer: float = 1.0) -> None:
    """One path in the stroke of its kind; finer: by how much user space is drawn smaller."""
    stroke = STROKES[path.kind]
    canvas.setLineWidth(stroke.width * finer)
    canvas.setDash(*(([dash * finer for dash in stroke.dashes],) if stroke.dashes else ()))
    outline = canvas.beginPath()
    outline.moveTo(*path.points[0].tolist())
    for point in path.points[1:].tolist():
        outline.lineTo(*point)
    if path.closed:
        outline.close()
    canvas.drawPath(outline)
    canvas.setDash()


def draw_picture(
    canvas: Canvas, picture: Picture, left: float, low: float, scale: float = 1.0
) -> None:
    """A picture with its lower-left corner at left, low."""
    canvas.saveState()
    canvas.translate(left, low)
    canvas.scale(scale, scale)
    for path in picture.paths:
        draw_path(canvas, path)
    for text in picture.texts:
        write_text(canvas, text)
    canvas.restoreState()
