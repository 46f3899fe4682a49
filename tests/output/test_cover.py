"""The cover of a template, read back: whatever stands on it, nothing is printed over another."""

from __future__ import annotations

import re
from dataclasses import fields, replace
from io import BytesIO
from itertools import combinations

import numpy as np
import pypdfium2
import pytest
from reportlab.pdfgen.canvas import Canvas

from scribe.job import PrintSettings
from scribe.output.pages.pdf_cover import draw_cover
from scribe.output.piece.draw_piece import draw, wordless
from scribe.output.piece.drawing import Drawing
from scribe.output.piece.pictogram import SIZE, in_place, turned_over
from scribe.output.sheets.sheet_view import sheet_view
from scribe.output.sheets.sheets import SheetPlan
from scribe.output.sheets.template import lay_out
from scribe.piece import CutEdge, Piece, Polygon

A4 = PrintSettings()
TOUCH_PT = 1.0  # boxes of letters reach a little above and below what is inked


def overlaps(page: pypdfium2.PdfPage) -> list[tuple[str, str]]:
    """Pairs of words whose boxes lie over each other."""
    text = page.get_textpage()
    boxes = [text.get_rect(k) for k in range(text.count_rects())]
    return [
        (text.get_text_bounded(*one), text.get_text_bounded(*two))
        for one, two in combinations(boxes, 2)
        if min(one[2], two[2]) - max(one[0], two[0]) > TOUCH_PT
        and min(one[3], two[3]) - max(one[1], two[1]) > TOUCH_PT
    ]


def covered(drawing: Drawing, piece: Piece, plan: SheetPlan) -> pypdfium2.PdfDocument:
    """The pages of the cover alone."""
    canvas, pictured = Canvas(BytesIO(), invariant=1), turned_over if drawing.mirrored else in_place
    draw_cover(canvas, drawing, pictured(piece, SIZE), piece, plan, A4)
    return pypdfium2.PdfDocument(canvas.getpdfdata())


def with_rows(cut: CutEdge, count: int) -> CutEdge:
    """The same cut with a shorter table, and neither passes nor hollows told."""
    table = cut.removal
    columns = {each.name: getattr(table, each.name)[:count] for each in fields(table)}
    return replace(cut, removal=replace(table, **columns), passes=None)


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("rows", [2, 5, 8])
def test_no_words_stand_over_others(made: dict[str, Piece], rows: int, mirrored: bool) -> None:
    """However far down the table ends: above the cautions, among them, or on the next page."""
    (cut,) = made["short strip"].cuts
    short = replace(made["short strip"], cuts=(with_rows(cut, rows),))
    drawing = wordless(short, mirrored=mirrored)
    plan = lay_out(drawing, short, A4)
    for count in range(8):
        piece = replace(short, notes=tuple(f"Note {k}." for k in range(count)))
        for page in covered(drawing, piece, plan):
            assert not overlaps(page)


def test_an_edge_that_a_slot_parts_is_named_once(made: dict[str, Piece]) -> None:
    (cut,) = made["short strip"].cuts
    parted = replace(made["short strip"], cuts=(cut, cut))
    drawing = draw(parted)
    [cover, *_] = covered(drawing, parted, lay_out(drawing, parted, A4))
    assert cover.get_textpage().get_text_bounded().count("Cut: ") == 1


def test_no_row_of_a_table_stands_alone_on_a_page(made: dict[str, Piece]) -> None:
    """Rows repeated to any number: a page that goes on with the table has three of them at least.

    A row is a line whose first two words are numbers.
    """
    (cut,) = made["short strip"].cuts
    several = {}
    for repeats in range(3, 9):
        table = cut.removal
        columns = {
            each.name: np.concatenate([getattr(table, each.name)] * repeats)
            for each in fields(table)
        }
        for less in range(4):
            long = replace(table, **{name: c[: len(c) - less] for name, c in columns.items()})
            piece = replace(
                made["short strip"], cuts=(replace(cut, removal=long, passes=None),), notes=()
            )
            drawing = draw(piece)
            counts = [
                rows_on(page)
                for page in covered(drawing, piece, lay_out(drawing, made["short strip"], A4))
            ]
            several[repeats, less] = counts
            assert all(count == 0 or count >= 3 for count in counts)
    assert any(len(counts) - counts.count(0) > 1 for counts in several.values())


def rows_on(page: pypdfium2.PdfPage) -> int:
    """Lines of the table on a page."""
    lines = page.get_textpage().get_text_bounded().splitlines()
    return sum(bool(re.match(r"-?\d[\d.]*\s+-?\d+\.\d", line)) for line in lines)


def test_a_cover_is_written_smaller_rather_than_leave_a_page_nearly_empty(
    made: dict[str, Piece],
) -> None:
    """One note more at a time: the second page comes later than at full size, and not for less
    than shrinking to 85 % holds; letters never get smaller than that.
    """
    (cut,) = made["short strip"].cuts
    short = replace(made["short strip"], cuts=(with_rows(cut, 8),))
    drawing, plan = draw(short), lay_out(draw(short), short, A4)
    heights, pages = [], []
    for count in range(25):
        piece = replace(short, notes=tuple(f"Note {k}." for k in range(count)))
        document = covered(drawing, piece, plan)
        pages.append(len(document))
        heights.append(letters(document[0]))
    full = heights[0]
    assert pages[0] == 1
    smaller = [k for k, height in enumerate(heights) if height < 0.99 * full]
    assert smaller
    assert all(pages[k] == 1 for k in smaller)
    assert min(heights) == pytest.approx(0.85 * full, rel=0.02)
    assert pages[smaller[-1] + 1] == 2
    assert heights[smaller[-1] + 1] == pytest.approx(full)


def letters(page: pypdfium2.PdfPage) -> float:
    """The height of the tallest line, the piece's name, in points."""
    text = page.get_textpage()
    boxes = [text.get_rect(k) for k in range(text.count_rects())]
    return float(max(high - low for _, low, _, high in boxes))


def test_what_is_measured_from_cross_to_cross_is_said_on_cover_and_sheet(
    made: dict[str, Piece],
) -> None:
    """Beside the second cross too where the piece has no room left for it."""
    piece = made["short strip"]
    drawing = draw(piece)
    plan = lay_out(drawing, piece, A4)
    apart = f"{plan.crosses[1].distance:.0f} mm"
    said = covered(drawing, piece, plan)[0].get_textpage().get_text_bounded()
    assert f"cross 1 to cross 2: it must be {apart}" in " ".join(said.split())
    full = replace(piece, keep=Polygon(np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]])))
    for each in (piece, full):
        view = sheet_view(drawing, each, plan, plan.sheets[0])
        assert f"cross 2: {apart} from cross 1" in [t.words for t in view.layer("labels").texts]
