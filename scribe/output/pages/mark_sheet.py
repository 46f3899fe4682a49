"""Marking without a template: one page with the fewest stations, written large.

For a fitter without a printer: the same words and numbers stand in the report, for the phone. The
numbers are those of `CutEdge.marks`: at a station `a` along the edge, from the end where the tape
is hooked, `b` is marked square in from the edge. b is rounded down, so that none cuts into the
piece. Always made; of a cut whose line turns back on itself it says that it needs the template.
"""

from __future__ import annotations

from io import BytesIO

import numpy as np

from scribe.geom.polyline import line_through
from scribe.output.pages.mark_picture import mark_picture
from scribe.output.pages.on_canvas import BOLD, PLAIN, draw_picture
from scribe.output.pages.page_writer import MARGIN, PT, PageWriter
from scribe.output.pdf_canvas import pdf_canvas
from scribe.output.piece.holes import hole_lines
from scribe.output.piece.passes import mark_rows, marks_heading
from scribe.piece import CutEdge, Piece
from scribe.quantity import format_mm, round_up_mm

_SIZES = (20.0, 17.0, 14.0, 12.0, 10.5)  # points of the numbers, the largest that fits one page
_GAP = 4.0
STEPS = tuple(
    """\
Lay the blank face up, before anything is cut. Hook the tape at the named end and run it along the \
named edge.
At each a, measure b square in from that edge and mark it with a knife.
Join the marks as it says. WASTE lies between the line and the edge: hatch it. KEEP the other \
side: the saw goes in the waste, a plane to the line.""".splitlines()
)


def hook_words(piece: Piece, cut: CutEdge) -> str:
    """Where the tape goes for one cut, and a second way to one of its places."""
    where = f"Hook the tape at the {cut.from_end} end, along the {cut.edge} edge."
    return f"{where} {_check(piece, cut)}".strip()


def needs_template(cut: CutEdge) -> str:
    """What is said of a cut that can't be marked by stations."""
    return (
        f"The line to {cut.name} ({cut.edge} edge) turns back on itself: a station has more than "
        "one mark, so that it needs the template."
    )


def joins(cut: CutEdge) -> list[tuple[str, list[tuple[str, str]]]]:
    """For each stretch of the line, how its marks are joined, and (a, b) as people read them."""
    said = []
    for number, marks in enumerate(cut.marks):
        words = marks_heading(marks)
        if number:
            last, first = mark_rows(cut.marks[number - 1])[-1][0], mark_rows(marks)[0][0]
            where = f"At {first}" if first == last else f"From {last} to {first}"
            words = (
                f"{where} the line is steep: join the two marks, "
                f"saw 1 mm off that and hold the piece up. {words}"
            )
        said.append((words, mark_rows(marks)))
    return said


def mark_sheet_pdf(piece: Piece, paper: str) -> bytes:
    """The page, A4 or Letter; the same bytes for the same piece."""
    for size in _SIZES:
        stream = BytesIO()
        canvas = pdf_canvas(stream)
        canvas.setTitle(f"{piece.name}: mark directly")
        canvas.setCreator("scribe")
        page = PageWriter(canvas, paper if paper == "Letter" else "A4")
        _write(page, piece, size)
        pages = canvas.getPageNumber()
        canvas.save()
        if pages == 1:
            break
    return stream.getvalue()


def _write(page: PageWriter, piece: Piece, size: float) -> None:
    wide = page.canvas.stringWidth(piece.name, BOLD, 24 * PT)
    page.line(piece.name, 24.0 * min(1.0, (page.width - 2 * MARGIN) / wide), bold=True)
    outer = piece.blank.shape.outer
    sides = " x ".join(format_mm(float(side)) for side in np.ptp(outer, axis=0))
    page.line(f"Mark directly, without a template: on the FACE of the blank, {sides} mm", 13)
    by_stations = any(cut.marks for cut in piece.cuts)
    for number, step in enumerate(STEPS if by_stations else (), start=1):
        page.paragraph(f"{number}. {step}", 11)
    for cut in piece.cuts:
        _cut(page, piece, cut, size)
    lines = hole_lines(piece)
    if lines:
        page.y -= _GAP
        page.line("Holes", 14, bold=True)
        for line in lines:
            page.paragraph(line, 12)
    page.y -= _GAP
    down = "Every b is rounded down: what is left over, a plane takes. " if by_stations else ""
    page.paragraph(
        f"{down}Hold the piece up and look before you cut. U of the numbers and the cautions: see "
        "the report.",
        10,
    )


def _cut(page: PageWriter, piece: Piece, cut: CutEdge, size: float) -> None:
    page.y -= _GAP
    if not cut.marks:
        page.paragraph(needs_template(cut), 12)
        return
    picture = mark_picture(cut)
    smaller = min(1.0, size / _SIZES[1])
    wide, high = (smaller * side for side in picture.size)
    if not page.room(high + 3 * size * PT):
        page.turn()
    page.line(f"{cut.edge} edge, to {cut.name}", 15, bold=True)
    top, reach = page.y, page.width - 2 * MARGIN - wide - _GAP
    page.paragraph(hook_words(piece, cut), 11, width=reach)
    for words, rows in joins(cut):
        page.paragraph(words, 11, width=reach)
        _numbers(page, rows, size, reach)
    draw_picture(page.canvas, picture, page.width - MARGIN - wide, top - high, smaller)
    page.y = min(page.y, top - high)


def _numbers(page: PageWriter, rows: list[tuple[str, str]], size: float, reach: float) -> None:
    """Pairs of a and b in columns, read downwards, ruled so that the eye keeps its row."""
    canvas, point = page.canvas, size * PT
    one = max(canvas.stringWidth(a, PLAIN, point) for a, _ in rows) + 1.0
    other = one + max(canvas.stringWidth(b, BOLD, point) for _, b in rows) + 0.9 * point
    column = other + 1.5 * point
    deep = -(-len(rows) // max(int(reach // column), 1))
    step = 1.45 * point
    if not page.room((deep + 1) * step):
        page.turn()
    for first in range(0, len(rows), deep):
        x, y = MARGIN + (first // deep) * column, page.y - 11 * PT
        canvas.setFont(PLAIN, 11 * PT)
        canvas.drawRightString(x + one, y, "a")
        canvas.drawRightString(x + other, y, "b")
        for a, b in rows[first : first + deep]:
            y -= step
            canvas.setLineWidth(0.15)
            canvas.line(x, y - 0.3 * point, x + other, y - 0.3 * point)
            canvas.setFont(PLAIN, point)
            canvas.drawRightString(x + one, y, a)
            canvas.setFont(BOLD, point)
            canvas.drawRightString(x + other, y, b)
    page.y -= 11 * PT + deep * step + 0.5 * point


def _check(piece: Piece, cut: CutEdge) -> str:
    """A second way to one place, for a tape read wrongly: how far the line is from the edge
    opposite, as that is before anything is cut.
    """
    table = cut.removal
    rows = [k for k, kind in enumerate(table.kind) if kind not in ("end", "corner")]
    rows = [k for k in rows if table.measured[k]]
    if not rows:
        return ""
    at = rows[len(rows) // 2]
    station = round(float(table.station[at]))  # as it is told, and measured
    across = line_through(piece.blank.shape.outer, cut.start + station * cut.along, cut.out)
    if across is None:
        return ""
    remove = np.interp(
        station, (cut.line - cut.start) @ cut.along, -(cut.line - cut.start) @ cut.out
    )
    left = float(np.hypot(*(across[1] - across[0]))) - float(remove)
    told = format_mm(round_up_mm(left, 0.1))  # up, for whoever marks by it
    return f"Check: at {station} the line is {told} mm from the opposite edge."
