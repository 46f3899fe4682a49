"""The first pages of a template: what it is, how to join it, and the table in large type."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from scribe.output.cautions import CAUTIONS
from scribe.output.drawing import STROKES, Drawing, LineKind
from scribe.output.holes import hole_lines
from scribe.output.on_canvas import draw_path, write_text
from scribe.output.passes import pass_lines, tight_lines
from scribe.output.pictogram import Picture, in_place, turned_over
from scribe.output.sheets import SheetPlan
from scribe.output.table import HEADINGS, removal_rows
from scribe.output.words import FACE, MIRRORED
from scribe.piece import CutEdge, Piece
from scribe.quantity import format_mm
from scribe.standards import PAPER_MM, PT_PER_MM

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

_PLAIN, _BOLD = "Helvetica", "Helvetica-Bold"
_MARGIN = 15.0
_PT = 1.0 / PT_PER_MM  # mm: font sizes below are in points, for people who set type
_LEADING = 1.35  # from line to line, over the size of the letters
_ROW = 7.0  # mm from line to line of the table, at 14 pt
_COLUMNS = (22.0, 58.0, 88.0, 128.0, 134.0)  # right edges, mm from the margin; the last is left
_MAP = (80.0, 48.0)  # mm, the largest map of the sheets
_PICTURE = (62.0, 46.0)  # mm of the piece in place
_KEY: tuple[tuple[LineKind, str], ...] = (
    ("cut", "cut"),
    ("bridged", "cut, not measured"),
    ("blank", "blank"),
    ("datum", "datum"),
    ("thin", "wall; hatched: waste"),
)


class _Writer:
    """Writes down a page and turns to the next when it is full."""

    def __init__(self, canvas: Canvas, paper: str) -> None:
        self.canvas = canvas
        self.width, self.height = PAPER_MM.get(paper, PAPER_MM["A4"])
        self.y, self.floor = 0.0, _MARGIN
        self._open()

    def _open(self) -> None:
        self.canvas.setPageSize((self.width * PT_PER_MM, self.height * PT_PER_MM))
        self.canvas.scale(PT_PER_MM, PT_PER_MM)
        self.y, self.floor = self.height - _MARGIN, _MARGIN

    def turn(self) -> None:
        """On to a new page."""
        self.canvas.showPage()
        self._open()

    def room(self, height: float) -> bool:
        """Is there so much left on this page?"""
        return self.y - height > self.floor

    def line(self, words: str, size: float, *, bold: bool = False, after: float = _LEADING) -> None:
        """One line; size in points. Turns the page first when it doesn't fit."""
        if not self.room(size * _PT):
            self.turn()
        self.y -= size * _PT
        self.canvas.setFont(_BOLD if bold else _PLAIN, size * _PT)
        self.canvas.drawString(_MARGIN, self.y, words)
        self.y -= size * _PT * (after - 1.0)

    def paragraph(self, words: str, size: float, *, width: float | None = None) -> None:
        """Words broken into lines that stay on one page."""
        lines = self.split(words, size, width)
        if not self.room(len(lines) * size * _PT * _LEADING):
            self.turn()
        for line in lines:
            self.line(line, size)

    def split(self, words: str, size: float, width: float | None = None) -> list[str]:
        """Words as lines no wider than width, mm; left out, the page's."""
        from reportlab.lib.utils import simpleSplit

        reach = width or self.width - 2 * _MARGIN
        return [str(line) for line in simpleSplit(words, _PLAIN, size * _PT, reach)]


def draw_cover(canvas: Canvas, drawing: Drawing, piece: Piece, plan: SheetPlan, paper: str) -> None:
    """Cover, tables and cautions; the canvas stands at a fresh page before and after."""
    page = _Writer(canvas, paper)
    _cautions(page)
    top = _pictures(page, piece, drawing)
    _title(page, piece.name, page.width - 2 * _MARGIN - _PICTURE[0] - 4.0)
    _side(page, drawing)
    top = min(top, page.y)
    _facts(page, drawing, piece, plan)
    if len(plan.sheets) > 1:
        page.y = min(page.y, _map(page, drawing, plan, top))
    page.y -= 2.0
    for note in piece.notes:
        page.paragraph(note, 12)
    _steps(page, drawing, plan)
    _key(page)
    _lines(page, "Holes", hole_lines(piece))
    for cut in piece.cuts:
        _table(page, cut)
        _passes(page, cut)
    _trust(page)
    canvas.showPage()


def _title(page: _Writer, name: str, reach: float) -> None:
    """The piece's name, made smaller if it is longer than reach."""
    size = 30.0
    wide = page.canvas.stringWidth(name, _BOLD, size * _PT)
    page.line(name, size * min(1.0, reach / wide), bold=True)


def _side(page: _Writer, drawing: Drawing) -> None:
    """Which side the sheets are for; the back's in white on black, told at a glance."""
    if not drawing.mirrored:
        page.line(FACE, 16, bold=True, after=1.6)
        return
    canvas, high = page.canvas, 9.0
    reach = page.width - 2 * _MARGIN - _PICTURE[0] - 4.0
    canvas.rect(_MARGIN, page.y - high, reach, high, stroke=0, fill=1)
    canvas.setFillGray(1.0)
    canvas.setFont(_BOLD, 16 * _PT)
    canvas.drawString(_MARGIN + 2.0, page.y - high / 2.0 - 2.0, MIRRORED)
    canvas.setFillGray(0.0)
    page.y -= high + 1.5
    said = "Edges and ends are named as seen from the face: on these sheets left lies right."
    page.paragraph(said, 12, width=reach)
    page.y -= 2.0


def _pictures(page: _Writer, piece: Piece, drawing: Drawing) -> float:
    """The piece in place, at the right; for the back, the board turned over. Returns their end."""
    low, left = page.y - _PICTURE[1], page.width - _MARGIN - _PICTURE[0]
    picture = turned_over(piece, _PICTURE) if drawing.mirrored else in_place(piece, _PICTURE)
    _draw_picture(page.canvas, picture, left, low)
    return low - 2.0


def _draw_picture(canvas: Canvas, picture: Picture, left: float, low: float) -> None:
    canvas.saveState()
    canvas.translate(left, low)
    for path in picture.paths:
        draw_path(canvas, path)
    for text in picture.texts:
        write_text(canvas, text)
    canvas.restoreState()


def _cautions(page: _Writer) -> None:
    """At the foot of the first page, which then ends above them."""
    from reportlab.lib.utils import simpleSplit

    size, reach = 9.0, page.width - 2 * _MARGIN
    lines = [
        line
        for caution in CAUTIONS
        for line in simpleSplit(f"- {caution.sentence}", _PLAIN, size * _PT, reach)
    ]
    step = size * _PT * 1.2
    y = _MARGIN + step * (len(lines) - 1)
    page.floor = y + 12.0
    page.canvas.setFont(_BOLD, 12 * _PT)
    page.canvas.drawString(_MARGIN, y + 5.0, "Cautions")
    page.canvas.setFont(_PLAIN, size * _PT)
    for line in lines:
        page.canvas.drawString(_MARGIN, y, line)
        y -= step


def _facts(page: _Writer, drawing: Drawing, piece: Piece, plan: SheetPlan) -> None:
    outer = piece.blank.shape.outer
    size = [format_mm(float(side)) for side in outer.max(axis=0) - outer.min(axis=0)]
    thick = "" if piece.blank.thickness is None else f" x {format_mm(piece.blank.thickness)}"
    width = page.width - 2 * _MARGIN - _MAP[0] - 4.0
    page.paragraph(f"Blank: {size[0]} x {size[1]}{thick} mm", 14, width=width)
    for cut in piece.cuts:
        gap = format_mm(cut.clearance, 2)
        page.paragraph(f"Cut: {cut.edge} edge to {cut.name}, clearance {gap} mm", 14, width=width)
    page.paragraph(f"{plan.words}, of full size", 14, width=width)
    check = format_mm(drawing.check.length)
    page.paragraph(f"Check by tape: {check} mm, cross to cross", 14, width=width)


def _map(page: _Writer, drawing: Drawing, plan: SheetPlan, top: float) -> float:
    """A small picture of the drawing with the numbered sheets; returns its lower end."""
    canvas = page.canvas
    corners = np.vstack([sheet.corners for sheet in plan.sheets])
    (x0, y0), (x1, y1) = corners.min(axis=0).tolist(), corners.max(axis=0).tolist()
    box = drawing.box()
    x0, y0, x1, y1 = min(x0, box[0]), min(y0, box[1]), max(x1, box[2]), max(y1, box[3])
    scale = min(_MAP[0] / (x1 - x0), _MAP[1] / (y1 - y0))
    left, low = page.width - _MARGIN - (x1 - x0) * scale, top - (y1 - y0) * scale
    canvas.saveState()
    canvas.translate(left - x0 * scale, low - y0 * scale)
    canvas.scale(scale, scale)
    for name in ("blank", "cut"):
        for path in drawing.layer(name).paths:
            draw_path(canvas, path, finer=(1.0 if name == "cut" else 0.6) / scale)
    canvas.setLineWidth(0.15 / scale)
    canvas.setFont(_BOLD, 12 * _PT / scale)
    for sheet in plan.sheets:
        frame = canvas.beginPath()
        frame.moveTo(*sheet.corners[0].tolist())
        for corner in sheet.corners[1:].tolist():
            frame.lineTo(*corner)
        frame.close()
        canvas.drawPath(frame)
        x, y = plan.own(sheet).mean(axis=0).tolist()
        canvas.setFillGray(1.0)
        canvas.circle(x, y, 3.4 / scale, stroke=1, fill=1)
        canvas.setFillGray(0.0)
        canvas.drawCentredString(x, y - 1.5 / scale, str(sheet.number))
    canvas.restoreState()
    return float(low - 2.0)


def _table(page: _Writer, cut: CutEdge) -> None:
    """One cut's rows at 14 pt, the heading again on every page."""
    rows = removal_rows(cut)
    page.y -= 3.0
    if not page.room(5 * _ROW):
        page.turn()
    page.line(f"{cut.name}: mm to remove, {cut.edge} edge", 16, bold=True, after=1.2)
    page.line(f"Stations from the {cut.from_end} end, along the blank's edge.", 12)
    _heading(page)
    for row in rows:
        if not page.room(_ROW):
            page.turn()
            _heading(page)
        _row(page, row, bold=row[4] not in ("", "end"))


def _passes(page: _Writer, cut: CutEdge) -> None:
    """Which tool takes what, and where one can't follow."""
    _lines(page, "Passes", pass_lines(cut))
    _lines(page, "Too tight", tight_lines(cut))


def _lines(page: _Writer, title: str, lines: Sequence[str]) -> None:
    """A heading and what stands below it, whole on a page where one can hold it all."""
    if not lines:
        return
    page.y -= 2.0
    count = sum(len(page.split(line, 12)) for line in lines)
    height = (14.0 + 12.0 * count) * _PT * _LEADING
    if not page.room(height if height < page.height - 2 * _MARGIN else 3 * _ROW):
        page.turn()
    page.line(title, 14, bold=True)
    for line in lines:
        page.paragraph(line, 12)


def _heading(page: _Writer) -> None:
    _row(page, HEADINGS, bold=True)
    canvas = page.canvas
    canvas.setLineWidth(0.3)
    canvas.line(_MARGIN, page.y - 1.6, page.width - _MARGIN, page.y - 1.6)
    page.y -= 1.0


def _row(page: _Writer, cells: tuple[str, ...], *, bold: bool) -> None:
    page.y -= _ROW
    page.canvas.setFont(_BOLD if bold else _PLAIN, 14 * _PT)
    for right, words in zip(_COLUMNS[:4], cells, strict=False):
        page.canvas.drawRightString(_MARGIN + right, page.y, words)
    page.canvas.setFont(_PLAIN, 12 * _PT)
    page.canvas.drawString(_MARGIN + _COLUMNS[4], page.y, cells[4])


def _steps(page: _Writer, drawing: Drawing, plan: SheetPlan) -> None:
    check = format_mm(drawing.check.length)
    page.y -= 2.0
    page.line("Put it together", 14, bold=True)
    steps = ["Print at 100 %; the bar on each sheet must be 100.0 mm."]
    if len(plan.sheets) > 1:
        steps.append(
            "Trim each sheet along the line that says so, lay it on the shaded strip of the"
            " next so that the thick lines of both marks run on unbroken, and tape. A thin line"
            " that runs on instead says that it lies 0.3 mm off."
        )
    steps.append(
        f"Measure {check} mm from cross to cross. If it is off by more than 0.5 mm, a sheet"
        " slipped or was scaled: do it again."
    )
    steps.append("Lay it on the blank by the blank's edges. Cut on the hatched side of the line.")
    for number, step in enumerate(steps, start=1):
        page.paragraph(f"{number}. {step}", 12)


def _key(page: _Writer) -> None:
    """What the kinds of lines mean, as they are drawn."""
    canvas, x = page.canvas, _MARGIN
    page.y -= 3.5
    canvas.setFont(_PLAIN, 9 * _PT)
    for kind, words in _KEY:
        stroke = STROKES[kind]
        canvas.setLineWidth(stroke.width)
        canvas.setDash(*(([list(stroke.dashes)]) if stroke.dashes else ()))
        canvas.line(x, page.y + 1.0, x + 15.0, page.y + 1.0)
        canvas.setDash()
        canvas.drawString(x + 16.5, page.y, words)
        x += 20.5 + canvas.stringWidth(words, _PLAIN, 9 * _PT)


def _trust(page: _Writer) -> None:
    page.y -= 3.0
    page.paragraph(
        "+/- U holds the truth in about 95 of 100 cases (k = 2): how well the outline is known."
        " Pushing the gauge home, the paper's stretch and the cut come on top. What to remove is"
        " rounded down, so that a plane can finish it. Where it says not measured, hold the piece"
        " up and look before you cut. If these sheets come from the printer of the target, the same"
        " way round, an error of its scale cancels on them; it doesn't cancel in the numbers.",
        11,
    )
