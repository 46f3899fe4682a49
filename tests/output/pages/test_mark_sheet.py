"""Marking without a template: one page, every number on it, and none that cuts into the piece."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2
import pytest

from scribe.geom.polyline import resample
from scribe.job_file import read_job
from scribe.output.pages.mark_picture import mark_picture
from scribe.output.pages.mark_sheet import hook_words, joins, mark_sheet_pdf
from scribe.output.piece.drawing import text_box
from scribe.output.piece.passes import mark_rows
from scribe.piece import Marks, Piece
from scribe.recipes.fitted import fitted_piece

FIXTURES = Path(__file__).parents[3] / "fixtures"
A4_PT = (210 / 25.4 * 72, 297 / 25.4 * 72)  # ISO 216


def pages(content: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(content)
    return [page.get_textpage().get_text_bounded() for page in document]


def test_it_is_one_page_with_every_number(piece: Piece) -> None:
    content = mark_sheet_pdf(piece, "A4")
    assert content == mark_sheet_pdf(piece, "A4")
    document = pypdfium2.PdfDocument(content)
    assert len(document) == 1
    assert document[0].get_size() == pytest.approx(A4_PT, abs=0.1)
    [said] = pages(content)
    for cut in piece.cuts:
        assert f"{cut.from_end} end, along the {cut.edge} edge" in " ".join(said.split())
        for marks in cut.marks:
            for a, b in mark_rows(marks):
                assert a in said.split()
                assert b in said.split()
    assert "WASTE" in said
    assert "KEEP" in said


def test_no_number_on_it_cuts_into_the_piece(piece: Piece) -> None:
    """As read, every mark lies on the waste's side of the cut line, or on it.

    At an upright step a station has all depths between two: the deeper one counts.
    """
    for cut in piece.cuts:
        station = (cut.line - cut.start) @ cut.along
        remove = -(cut.line - cut.start) @ cut.out
        for _, rows in joins(cut):
            for a, b in rows:
                near = np.abs(station - float(a)) < 0.06
                there = max([float(np.interp(float(a), station, remove)), *remove[near].tolist()])
                assert float(b) <= there + 1e-6


def test_its_check_is_true_of_the_blank_before_it_is_cut(piece: Piece) -> None:
    """Marked and measured on a rectangle: what is left and what comes off are its whole width."""
    size = np.ptp(piece.blank.shape.outer, axis=0)
    for cut in piece.cuts:
        found = re.search(r"at (\d+) the line is ([\d.]+) mm", hook_words(piece, cut))
        station, left = float(found[1]), float(found[2])
        line = cut.line - cut.start
        remove = -np.interp(station, line @ cut.along, line @ cut.out)
        # Rounded up by a tenth at most; the line itself is written to a micrometre.
        assert -1e-3 <= left + remove - abs(float(size @ cut.out)) <= 0.101


def test_a_shelf_scribed_on_three_sides_fits_one_page() -> None:
    job = read_job(FIXTURES / "alcove-shelf/job.toml")
    shelf = fitted_piece(job, "shelf", lambda _: None)
    assert len(pages(mark_sheet_pdf(shelf, "A4"))) == 1


def test_holes_are_on_it_and_a_line_that_turns_back_is_left_to_the_template() -> None:
    job = read_job(FIXTURES / "pipe-boxing/job.toml")
    boxing = fitted_piece(job, "boxing front", lambda _: None)
    [said] = pages(mark_sheet_pdf(boxing, "Letter"))
    assert "flow pipe: centre 150 mm from the left edge" in " ".join(said.split())
    back = replace(boxing, cuts=tuple(replace(cut, marks=()) for cut in boxing.cuts))
    [said] = pages(mark_sheet_pdf(back, "A4"))
    assert "needs the template" in " ".join(said.split())


@pytest.mark.parametrize(("after", "said"), [(40.0, "At 40 the line"), (42.0, "From 40 to 42 the")])
def test_where_the_line_is_steep(made: dict[str, Piece], after: float, said: str) -> None:
    cut = made["short strip"].cuts[0]
    first = Marks("straight edge", np.array([0.0, 40.0]), np.array([2.0, 3.0]), 0.3, True)
    second = Marks("straight edge", np.array([after, 90.0]), np.array([8.0, 7.0]), 0.3, True)
    (_, (words, _)) = joins(replace(cut, marks=(first, second)))
    assert words.startswith(said)


def test_the_picture_says_where_the_tape_is_hooked(piece: Piece) -> None:
    for cut in piece.cuts:
        picture = mark_picture(cut)
        texts = {text.words: text_box(text) for text in picture.texts}
        assert {"a", "b", "KEEP", "WASTE", f"hook: {cut.from_end} end"} <= texts.keys()
        a, b, c, d = zip(*texts.values(), strict=True)
        assert min(*a, *b) >= 0.0
        assert max(c) <= picture.size[0]
        assert max(d) <= picture.size[1]
        # Waste lies beyond what is kept, towards the edge that is cut.
        middle = {
            w: np.array([(x0 + x1) / 2, (y0 + y1) / 2]) for w, (x0, y0, x1, y1) in texts.items()
        }
        assert (middle["WASTE"] - middle["KEEP"]) @ cut.out > 0.0
        assert (middle["a"] - middle[f"hook: {cut.from_end} end"]) @ cut.along > 0.0
        assert "Hook the tape at the" in hook_words(piece, cut)
        x0, y0, x1, y1 = texts[f"hook: {cut.from_end} end"]
        lines = [resample(path.points, 0.2) for path in picture.paths if len(path.points) == 2]
        for x, y in np.vstack(lines):
            assert not (x0 < x < x1 and y0 < y < y1), "a line runs through where the tape is hooked"
