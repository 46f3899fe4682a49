"""How surely a template lies: closed formulas on simple sheets, and what is told of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pypdfium2
import pytest

from scribe.job import PrintSettings
from scribe.output.pages.pdf import template_pdf
from scribe.output.piece.draw_piece import draw
from scribe.output.piece.pictogram import SIZE, in_place
from scribe.output.sheets.assembly import with_assembly
from scribe.output.sheets.match_marks import U_MM
from scribe.output.sheets.sheets import Assembly, SheetPlan
from scribe.output.sheets.template import lay_out
from scribe.piece import Piece, Polygon


def laid(piece: Piece, paper: str = "A4") -> tuple[SheetPlan, Assembly]:
    plan = lay_out(draw(piece), piece, PrintSettings(paper))
    assert plan.assembly is not None
    return plan, plan.assembly


def test_a_mark_is_known_to_half_a_step_in_two_combs() -> None:
    """0.15 / sqrt 3 mm for a comb, the mean of two: over sqrt 2. 0.0612 mm."""
    assert pytest.approx(0.15 / 3**0.5 / 2**0.5) == U_MM


def test_a_straight_strip_by_the_marks_alone(made: dict[str, Piece]) -> None:
    """Joint by joint: its middle to u / sqrt 2, its turn to u sqrt 2 / distance of its marks, times
    how far the last point of the cut lies from it.
    """
    piece = made["long strip"]
    plan, found = laid(piece)
    end = max(piece.cuts[0].line[[0, -1]], key=lambda at: float(at[0]))
    total = 0.0
    for joint in plan.joints:
        one, other = (mark.at for mark in joint.marks)
        turn = U_MM * 2**0.5 / float(np.hypot(*(one - other)))
        total += U_MM**2 / 2 + (turn * float(end[0] - joint.trim[0, 0])) ** 2
    assert found.alone == pytest.approx(total**0.5, rel=0.01)


def test_the_blanks_edges_hold_it(made: dict[str, Piece]) -> None:
    """Every sheet of a strip shows its edge: known there to 0.25 / sqrt 3 mm at both ends of a
    stretch, it lies no worse than that anywhere between.
    """
    _, found = laid(made["long strip"])
    assert found.across < 0.25 / 3**0.5
    assert found.across < 0.2 * found.alone
    assert found.by_crosses == ()


def test_sheets_of_their_own_are_laid_and_not_joined(made: dict[str, Piece]) -> None:
    plan, found = laid(made["trapped shelf"])
    assert (len(plan.sheets), len(plan.joints), found.alone) == (2, 0, 0.0)
    assert "marks" not in found.words


def test_one_sheet_is_not_joined(made: dict[str, Piece]) -> None:
    plan = lay_out(draw(made["short strip"]), made["short strip"], PrintSettings())
    assert len(plan.sheets) == 1
    assert plan.assembly is None


def test_it_is_told_rounded_up(made: dict[str, Piece]) -> None:
    told = Assembly(0.101, 0.08, 3, 0.5001, ()).words
    assert "U 0.3 mm across the line at worst (sheet 3), 0.2 mm along it" in told
    assert "1.1 mm at the far end" in told
    plan, found = laid(made["long strip"])
    assert plan.mirrored().assembly == found


def test_far_from_every_edge_crosses_lay_it(made: dict[str, Piece]) -> None:
    """A blank whose edges lie on no sheet: its outermost crosses, known to 0.5 / sqrt 3 mm each
    way, hold it; between them it is held better than by either, but for the chain's own bend.
    """
    piece, drawing = made["long strip"], draw(made["long strip"])
    low, high = np.array([-3000.0, -3000.0]), np.array([4000.0, 3000.0])
    far = np.array([low, [high[0], low[1]], high, [low[0], high[1]]])
    wide = replace(piece, blank=replace(piece.blank, shape=Polygon(far)))
    plan = with_assembly(lay_out(drawing, piece, PrintSettings()), drawing, wide)
    found = plan.assembly
    assert found is not None
    assert found.by_crosses == (1, len(plan.crosses))
    assert 0.5 / 3**0.5 / 2**0.5 < found.across < 2.0 * 0.5 / 3**0.5
    cover = pypdfium2.PdfDocument(
        template_pdf(drawing, in_place(wide, SIZE), wide, plan, PrintSettings())
    )[0]
    said = " ".join(cover.get_textpage().get_text_bounded().split())
    assert f"Mark crosses 1 and {len(plan.crosses)} on the blank as the table says" in said
    assert found.words in said
