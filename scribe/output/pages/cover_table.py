"""The table of a cut in large type, on as many pages as it takes."""

from __future__ import annotations

from scribe.output.pages.on_canvas import BOLD, PLAIN
from scribe.output.pages.page_writer import MARGIN, PT, ROW, PageWriter
from scribe.output.piece.table import HEADINGS, removal_rows
from scribe.piece import CutEdge

_LAST_ROWS = 3  # of a table: fewer never stand on a page by themselves
_COLUMNS = (20.0, 46.0, 68.0, 100.0, 106.0)  # right edges, mm from the margin; the last is left


def draw_table(page: PageWriter, cut: CutEdge) -> None:
    """One cut's rows at 14 pt, the heading again on every page; the last ones stay together."""
    rows = removal_rows(cut)
    page.y -= 3.0
    if not page.room(5 * ROW):
        page.turn()
    page.line(f"{cut.name}: mm to remove, {cut.edge} edge", 16, bold=True, after=1.2)
    page.line(f"Stations from the {cut.from_end} end, along the blank's edge.", 12)
    _heading(page)
    for left, row in zip(range(len(rows), 0, -1), rows, strict=True):
        if not page.room((left if left == _LAST_ROWS else 1) * ROW):
            page.turn()
            _heading(page)
        _row(page, row, bold=row[4] not in ("", "end"))
    page.y -= 1.5


def _heading(page: PageWriter) -> None:
    _row(page, HEADINGS, bold=True)
    canvas = page.canvas
    canvas.setLineWidth(0.3)
    canvas.line(MARGIN, page.y - 1.6, page.width - MARGIN, page.y - 1.6)
    page.y -= 1.0


def _row(page: PageWriter, cells: tuple[str, ...], *, bold: bool) -> None:
    page.y -= ROW
    page.canvas.setFont(BOLD if bold else PLAIN, 14 * PT)
    for right, words in zip(_COLUMNS[:4], cells, strict=False):
        page.canvas.drawRightString(MARGIN + right, page.y, words)
    page.canvas.setFont(PLAIN, 12 * PT)
    page.canvas.drawString(MARGIN + _COLUMNS[4], page.y, cells[4])
