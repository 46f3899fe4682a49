"""Check crosses: one on each sheet, where it says, whole millimetres from the first."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from scribe.job import PrintSettings
from scribe.output.piece.draw_piece import draw
from scribe.output.sheets.crosses import ARM_MM, cross_words, from_edges, with_crosses
from scribe.output.sheets.plan import plan_sheets
from scribe.output.sheets.sheets import SheetPlan
from scribe.piece import Piece


def laid(piece: Piece, paper: str) -> SheetPlan:
    drawing = draw(piece)
    return with_crosses(plan_sheets(drawing, PrintSettings(paper)), drawing, piece)


@pytest.mark.parametrize("paper", ["A4", "A3"])
def test_every_sheet_has_a_cross_in_clear_space(piece: Piece, paper: str) -> None:
    plan = laid(piece, paper)
    assert {cross.sheet for cross in plan.crosses} == {sheet.number for sheet in plan.sheets}
    groups = [sheet.group for sheet in plan.sheets]
    alone = sum(groups.count(group) == 1 for group in groups)  # these have two
    assert len(plan.crosses) == len(plan.sheets) + alone
    cuts = [shapely.LineString(cut.line) for cut in piece.cuts]
    for cross in plan.crosses:
        at = shapely.Point(cross.at)
        sheet = plan.sheets[cross.sheet - 1]
        assert shapely.Polygon(plan.own(sheet)).contains(at.buffer(ARM_MM))
        assert all(at.distance(line) > ARM_MM for line in cuts)
        marks = [mark for joint in plan.joints for mark in joint.marks]
        assert all(shapely.Polygon(mark.corners).distance(at) > ARM_MM for mark in marks)


def test_distances_run_from_the_first_cross(piece: Piece) -> None:
    """Straight from cross to cross, by Pythagoras; whole, so that a tape shows it on a line."""
    plan = laid(piece, "A4")
    first = plan.crosses[0]
    assert first.distance == 0.0
    assert np.hypot(*(first.at - piece.cuts[0].start)) < 80.0  # where the stations begin
    for cross in plan.crosses[1:]:
        assert cross.distance == int(cross.distance) > 0
        assert np.hypot(*(cross.at - first.at)) == pytest.approx(cross.distance, abs=1e-6)
        assert cross_words(cross) == f"cross {cross.number}: {cross.distance:g} mm from cross 1"


def test_crosses_can_be_found_on_the_blank(piece: Piece) -> None:
    """From its left and bottom edge; the same numbers for the back."""
    plan = laid(piece, "A4")
    low = piece.blank.shape.outer.min(axis=0)
    for face, back in zip(plan.crosses, plan.mirrored().crosses, strict=True):
        assert from_edges(face, piece, mirrored=False) == pytest.approx(face.at - low)
        assert from_edges(back, piece, mirrored=True) == pytest.approx(face.at - low)


def test_a_blank_without_straight_edges_has_none_to_measure_from(made: dict[str, Piece]) -> None:
    """As for a second cut, whose blank is the finished piece."""
    piece = made["long strip"]
    plan = laid(piece, "A4")
    second = replace(piece, blank=replace(piece.blank, shape=piece.keep))
    assert from_edges(plan.crosses[0], second, mirrored=False) is None
