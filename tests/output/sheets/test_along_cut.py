"""Brackets and words along a cut: where they lie, and that no line comes near the cut itself."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from scribe.fit.piece import fit_piece
from scribe.job import Distance, EdgeJob, PieceJob
from scribe.outline import Outline
from scribe.output.piece.draw_piece import draw
from scribe.output.piece.mirror import mirror
from scribe.output.sheets.along_cut import brackets, cut_notes
from scribe.piece import Blank, Piece, Polygon
from scribe.tools import Tool

SAW = Tool("jigsaw", "saw", radius=10.0, least=2.0, kerf=1.2, standoff=1.0)
PLANE = Tool("plane", "finish", most=1.5)


def notched() -> Piece:
    """A notch of 20 mm with upright sides from 250 to 350, and a bevel whose left end is seen."""
    points = [[-1, 0], [250, 0], [250, -20], [350, -20], [350, 0], [601, 0]]
    wall = Outline(np.array(points, float), np.full(6, 0.1), "left")
    blank = Blank(Polygon(np.array([[0.0, 0], [600, 0], [600, 100], [0, 100]])), 18.0)
    edge = EdgeJob("wall", "top", placing=Distance(95.0), bevel_deg=4.0, seen=("left",))
    return fit_piece(PieceJob("strip", blank, (edge,)), {"wall": wall}, [SAW, PLANE])


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_bracket_spans_what_is_tight_or_square(mirrored: bool) -> None:
    """The blade of radius 10 leaves both corners of the notch; the bevel stops at 30."""
    piece = mirror(notched()) if mirrored else notched()
    found = brackets(piece)
    x = [sorted((-1.0 if mirrored else 1.0) * path.points[[1, 2], 0]) for path in found]
    assert any(low == 0.0 and high == pytest.approx(30.0) for low, high in x)
    assert any(low == pytest.approx(250.0, abs=1.0) and high < 262.0 for low, high in x)
    assert any(low > 338.0 and high == pytest.approx(350.0, abs=1.0) for low, high in x)
    keep, line = shapely.Polygon(piece.keep.outer), shapely.LineString(piece.cuts[0].line)
    for path in found:
        bracket = shapely.LineString(path.points)
        assert keep.contains(bracket)
        assert bracket.distance(line) >= 1.4  # nobody takes one for the other


def test_the_template_says_what_to_use_instead() -> None:
    drawing = draw(notched())
    said = [text.words for text in drawing.layer("labels").texts]
    assert "tight for the jigsaw: chisel or file by hand" in said
    assert "back bevel 4 degrees, land 2 mm" in said
    assert "square here: this end is seen" in said
    points = [at for at, words in cut_notes(notched()) if words.startswith("tight")]
    assert [round(float(at[0]), -1) for at in points] == [250.0, 350.0]
