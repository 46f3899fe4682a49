"""The first pages of a template: what it is, how to join it, and the table in large type."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, cast

from scribe.job import PrintSettings
from scribe.output.cautions import CAUTIONS
from scribe.output.pages.cover_joining import (
    MAP,
    crosses_told,
    draw_crosses,
    draw_key,
    draw_map,
    draw_steps,
)
from scribe.output.pages.cover_table import draw_table
from scribe.output.pages.draft import Draft
from scribe.output.pages.on_canvas import BOLD, PLAIN, draw_picture
from scribe.output.pages.page_writer import LEADING, MARGIN, PT, ROW, PageWriter
from scribe.output.piece.drawing import Drawing, Picture
from scribe.output.piece.holes import hole_lines
from scribe.output.piece.passes import pass_lines, tight_lines
from scribe.output.piece.pictogram import SIZE
from scribe.output.piece.way_in_picture import way_in_picture, way_in_words
from scribe.output.sheets.sheets import SheetPlan
from scribe.output.words import FACE, MIRRORED
from scribe.piece import CutEdge, Piece
from scribe.quantity import format_mm

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

_SMALLER = (0.95, 0.9, 0.85)  # 14 pt are 12 then, the cautions' 9 pt nearly 8
_LOWEST = 10.0  # mm above the paper's edge, for the last lines
_WAY_IN = 75.0  # mm, the highest picture of the way in


def draw_cover(
    canvas: Canvas,
    drawing: Drawing,
    picture: Picture,
    piece: Piece,
    plan: SheetPlan,
    settings: PrintSettings,
) -> None:
    """Cover, tables and cautions; the canvas stands at a fresh page before and after. picture: of
    the piece in place; for the back, of the board turned over.

    Written a little smaller where that saves a page, rather than leave the last one nearly empty.
    """

    def drafted(scale: float) -> Draft:
        draft = Draft()
        page = PageWriter(cast("Canvas", draft), settings.paper, scale)
        _draw_picture(page, picture)
        _write(page, drawing, piece, plan, settings)
        return draft

    whole = drafted(1.0)
    if whole.pages > 1:
        smaller = (drafted(scale) for scale in _SMALLER)
        whole = next((each for each in smaller if each.pages < whole.pages), whole)
    whole.onto(canvas)
    canvas.showPage()


def _write(
    page: PageWriter, drawing: Drawing, piece: Piece, plan: SheetPlan, settings: PrintSettings
) -> None:
    """All but the picture, which stands at the right of the first page."""
    _cautions(page)
    top = page.y - SIZE[1] - 2.0
    _title(page, piece.name, page.width - 2 * MARGIN - SIZE[0] - 4.0)
    _side(page, drawing)
    top = min(top, page.y)
    _facts(page, piece, plan, settings, top)
    if len(plan.sheets) > 1:
        page.y = min(page.y, draw_map(page, drawing, plan, top))
    page.y -= 2.0
    for note in piece.notes:
        page.paragraph(note, 12)
    draw_steps(page, plan)
    draw_key(page)
    if crosses_told(plan):
        draw_crosses(page, drawing, piece, plan)
    _way_in(page, piece)
    _lines(page, "Holes", hole_lines(piece))
    for cut in piece.cuts:
        draw_table(page, cut)
        _passes(page, cut)
    _trust(page, joined=plan.assembly is not None)


def _title(page: PageWriter, name: str, reach: float) -> None:
    """The piece's name, made smaller if it is longer than reach."""
    size = 30.0
    wide = page.canvas.stringWidth(name, BOLD, size * PT)
    page.line(name, size * min(1.0, reach / wide), bold=True)


def _side(page: PageWriter, drawing: Drawing) -> None:
    """Which side the sheets are for; the back's in white on black, told at a glance."""
    if not drawing.mirrored:
        page.line(FACE, 16, bold=True, after=1.6)
        return
    canvas, high = page.canvas, 9.0
    reach = page.width - 2 * MARGIN - SIZE[0] - 4.0
    canvas.rect(MARGIN, page.y - high, reach, high, stroke=0, fill=1)
    canvas.setFillGray(1.0)
    canvas.setFont(BOLD, 16 * PT)
    canvas.drawString(MARGIN + 2.0, page.y - high / 2.0 - 2.0, MIRRORED)
    canvas.setFillGray(0.0)
    page.y -= high + 1.5
    said = "Edges and ends are named as seen from the face: on these sheets left lies right."
    page.paragraph(said, 12, width=reach)
    page.y -= 2.0


def _draw_picture(page: PageWriter, picture: Picture) -> None:
    """At the right of the first page."""
    low, left = page.y - SIZE[1], page.width - MARGIN - SIZE[0]
    draw_picture(page.canvas, picture, left, low)


def _cautions(page: PageWriter) -> None:
    """At the foot of the first page, which then ends above them."""
    from reportlab.lib.utils import simpleSplit

    size, reach = 9.0, page.width - 2 * MARGIN
    lines = [
        line
        for caution in CAUTIONS
        for line in simpleSplit(f"- {caution.sentence}", PLAIN, size * PT, reach)
    ]
    step = size * PT * 1.2
    y = MARGIN + step * (len(lines) - 1)
    page.floor = y + 10.0
    page.canvas.setFont(BOLD, 12 * PT)
    page.canvas.drawString(MARGIN, y + 5.0, "Cautions")
    page.canvas.setFont(PLAIN, size * PT)
    for line in lines:
        page.canvas.drawString(MARGIN, y, line)
        y -= step


def _facts(
    page: PageWriter, piece: Piece, plan: SheetPlan, settings: PrintSettings, top: float
) -> None:
    """Blank, cuts and sheets; top: height of the map's upper end, if there is one."""
    outer = piece.blank.shape.outer
    size = [format_mm(float(side)) for side in outer.max(axis=0) - outer.min(axis=0)]
    thick = "" if piece.blank.thickness is None else f" x {format_mm(piece.blank.thickness)}"
    beside_map, beside_picture = (page.width - 2 * MARGIN - w - 4.0 for w in (MAP[0], SIZE[0]))
    lines = [f"Blank: {size[0]} x {size[1]}{thick} mm"]
    edges = [(cut.edge, cut.name, format_mm(cut.clearance, 2)) for cut in piece.cuts]
    for edge, name, gap in dict.fromkeys(edges):  # a slot parts one edge into two cuts
        lines.append(f"Cut: {edge} edge to {name}, clearance {gap} mm")
    lines.append(f"On {settings.paper_words}: {plan.words}")
    for words in lines:
        above = page.y - 14 * PT * LEADING > top
        page.paragraph(words, 14, width=beside_picture if above else beside_map)
    if plan.assembly is not None:
        page.paragraph(plan.assembly.words, 12, width=beside_map)


def _way_in(page: PageWriter, piece: Piece) -> None:
    """How a trapped piece goes in, whole on a page."""
    if piece.passage is None:
        return
    picture = way_in_picture(piece.passage, (page.width - 2 * MARGIN, _WAY_IN))
    words = way_in_words(piece.passage)
    page.y -= 2.0
    high = picture.size[1] + (14.0 + 12.0 * len(page.split(words, 12))) * PT * LEADING + 2.0
    if not page.room(high):
        page.turn()
    page.line("The way in", 14, bold=True)
    page.paragraph(words, 12)
    draw_picture(page.canvas, picture, MARGIN, page.y - picture.size[1])
    page.y -= picture.size[1] + 2.0


def _passes(page: PageWriter, cut: CutEdge) -> None:
    """Which tool takes what, and where one can't follow."""
    _lines(page, "Passes", pass_lines(cut))
    _lines(page, "Too tight", tight_lines(cut))


def _lines(page: PageWriter, title: str, lines: Sequence[str]) -> None:
    """A heading and what stands below it, whole on a page where one can hold it all."""
    if not lines:
        return
    page.y -= 2.0
    paragraphs = [page.split(line, 12) for line in lines]
    height = (14.0 + 12.0 * sum(map(len, paragraphs))) * PT * LEADING
    if not page.room(height if height < page.height - 2 * MARGIN else 3 * ROW):
        page.turn()
    page.line(title, 14, bold=True)
    for paragraph in paragraphs:
        page.together(paragraph, 12)


def _trust(page: PageWriter, *, joined: bool) -> None:
    """What the table's U holds; joined: sheets put together have a U of their own."""
    page.y -= 2.0
    on_paper = " What U on paper adds to it is the root of the sum of both squares."
    words = (
        "+/- U holds the truth in about 95 of 100 cases (k = 2): how well the outline is known."
        f"{on_paper if joined else ''} Pushing the gauge home, the paper's stretch and the cut come"
        " on top. What to remove is rounded down: a plane finishes it. Where it says not measured,"
        " hold the piece up and look before you cut. Sheets from the printer of the target, the"
        " same way round, are rid of its error of scale; the numbers aren't."
    )
    # Smaller rather than alone on a page; on the first the cautions stand below its floor.
    if page.floor <= MARGIN:
        page.floor = _LOWEST
    ways = [(page.split(words, size), size) for size in (11.0, 10.0)]
    fits = (way for way in ways if page.room(len(way[0]) * way[1] * PT * LEADING))
    page.together(*next(fits, ways[0]))
