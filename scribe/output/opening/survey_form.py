"""The readings form: one A4 with a sketch of the opening and boxes to fill in on the knee."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

from scribe.output.pdf_canvas import pdf_canvas
from scribe.standards import PAPER_MM, PT_PER_MM

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

_PLAIN, _BOLD = "Helvetica", "Helvetica-Bold"
_LEFT, _RIGHT = 14.0, 196.0
_FOOT = (
    "All in mm. Take every size at least twice, in front and at the back, low and high:"
    " only what is checked can be found wrong."
)
_ROW = 7.2  # tall enough for a carpenter's pencil

# Heading, columns (key of the room file), rows to fill.
_TABLES: tuple[tuple[str, tuple[str, ...], int], ...] = (
    (
        "Widths, level",
        ("height above floor", "depth: front / back", "reads", "+/- mm, if unsure"),
        6,
    ),
    (
        "Heights, plumb",
        ("from left / right wall", "depth: front / back", "reads", "+/- mm, if unsure"),
        6,
    ),
    (
        "Depths, square to the front",
        ("from left / right wall", "height above floor", "reads", "+/- mm"),
        4,
    ),
    ("Diagonals", ("from (corner or spot)", "to", "reads", "+/- mm, if unsure"), 4),
    (
        "Lean, level and rule",
        ("wall, depth", "low end above floor", "length of level", "gap: + top in, - out"),
        4,
    ),
    ("Plumb line", ("wall, depth", "height, distance", "height, distance", "height, distance"), 3),
    (
        "Slope, level and rule",
        ("floor / ceiling, depth", "from left", "length of level", "gap: + up to right"),
        4,
    ),
    ("Breaks of a sloping ceiling", ("from left wall", "or depth from the front", "+/- mm", ""), 2),
    (
        "In the way",
        ("what, on which wall", "from left or front, above floor", "wide x tall", "stands out"),
        4,
    ),
)


def form_pdf() -> bytes:
    """The PDF; the same bytes each time."""
    stream = BytesIO()
    canvas = pdf_canvas(stream)
    canvas.setTitle("readings of a room")
    canvas.setCreator("scribe")
    width, height = PAPER_MM["A4"]
    for page, tables in enumerate((_TABLES[:3], _TABLES[3:])):
        canvas.setPageSize((width * PT_PER_MM, height * PT_PER_MM))
        canvas.scale(PT_PER_MM, PT_PER_MM)
        y = height - 16.0
        _write(canvas, _LEFT, y, "Readings of a room", 16, _BOLD)
        _write(canvas, 110.0, y, "room ______________________   date ___________", 10)
        y -= 7.0
        if page == 0:
            y = _sketch(canvas, y)
        for heading, columns, rows in tables:
            y = _table(canvas, y - 9.0, heading, columns, rows)
        _write(canvas, _LEFT, 10.0, _FOOT, 8.5)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _sketch(canvas: Canvas, top: float) -> float:
    """The opening from the front, and what each reading means; returns where it ends."""
    x0, x1, y1 = 30.0, 112.0, top - 6.0
    y0 = y1 - 78.0
    dx, dy = 13.0, 9.0
    canvas.setLineWidth(0.5)
    canvas.rect(x0, y0, x1 - x0, y1 - y0)
    canvas.setLineWidth(0.25)
    canvas.rect(x0 + dx, y0 + dy, x1 - x0 - 2 * dx, y1 - y0 - 2 * dy)
    for sx, sy in ((0, 0), (1, 0), (0, 1), (1, 1)):
        x, y = (x1 if sx else x0), (y1 if sy else y0)
        canvas.line(x, y, x - dx if sx else x + dx, y - dy if sy else y + dy)
    canvas.setDash([1.5, 1.0])
    canvas.line(x0, y0, x1, y1)
    canvas.line(x1, y0, x0, y1)
    for part in (0.12, 0.5, 0.88):
        canvas.line(x0, y0 + part * (y1 - y0), x1, y0 + part * (y1 - y0))
    canvas.setDash()
    middle = (x0 + x1) / 2
    _write(canvas, middle, y0 + 3.0, "floor", 9, align=0.5)
    _write(canvas, middle, y1 - 6.0, "ceiling", 9, align=0.5)
    _write(canvas, middle, (y0 + y1) / 2 + 8.0, "back wall", 9, align=0.5)
    _write(canvas, x0 - 2.0, (y0 + y1) / 2, "left", 9, align=1.0)
    _write(canvas, x1 + 2.0, (y0 + y1) / 2, "right", 9)
    for line, words in enumerate((
        "Hold a line or straight edge across the",
        "front: depths count from it to the back.",
        "Heights count up from the floor.",
        "Widths: low, half way, high; front, back.",
        "Heights: near both walls and between.",
        "A sloping ceiling: on each side of every",
        "break, and where the break is.",
        "Diagonals: both, corner to corner.",
        "Skirting ___ tall ___ out, on ________",
        "Cornice  ___ tall ___ out, on ________",
        "Tape +/- ___   level +/- ___ on a metre",
    )):  # fmt: skip
        _write(canvas, 126.0, y1 - 3.0 - 7.2 * line, words, 9.5)
    return y0 - 2.0


def _table(canvas: Canvas, y: float, heading: str, columns: tuple[str, ...], rows: int) -> float:
    """A heading, column names, and empty rows; returns where it ends."""
    _write(canvas, _LEFT, y, heading, 11, _BOLD)
    y -= 5.0
    wide = (_RIGHT - _LEFT - 8.0) / len(columns)
    for k, words in enumerate(columns):
        _write(canvas, _LEFT + 9.0 + k * wide, y + 1.0, words, 8)
    canvas.setLineWidth(0.2)
    for row in range(rows):
        low = y - (row + 1) * _ROW
        _write(canvas, _LEFT + 3.0, low + 2.2, str(row + 1), 9, align=0.5)
        for k in range(len(columns)):
            canvas.rect(_LEFT + 8.0 + k * wide, low, wide, _ROW)
    return y - rows * _ROW


def _write(
    canvas: Canvas, x: float, y: float, text: str, size_pt: float, font: str = _PLAIN, *,
    align: float = 0.0,
) -> None:  # fmt: skip
    size = size_pt / PT_PER_MM
    canvas.setFont(font, size)
    canvas.drawString(x - align * canvas.stringWidth(text, font, size), y, text)
