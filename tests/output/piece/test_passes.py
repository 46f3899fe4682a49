"""What the fitter reads about passes, marks and tight spots."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scribe.fit.piece import fit_piece
from scribe.job import EdgeJob, PieceJob
from scribe.outline import Outline
from scribe.output.piece.passes import mark_rows, marks_heading, pass_lines, tight_lines
from scribe.piece import Blank, CutEdge, Polygon
from scribe.tools import Tool

SAW = Tool("jigsaw", "saw", radius=10.0, least=2.0, kerf=1.2, standoff=1.0)
PLANE = Tool("plane", "finish", most=1.5)
ROUTER = Tool("router", "finish", radius=12.0, most=3.0)


def cut(points, *tools: Tool) -> CutEdge:
    points = np.array(points, float)
    wall = Outline(points, np.full(len(points), 0.05), "left")
    blank = Blank(Polygon(np.array([[0.0, 0], [1000, 0], [1000, 80], [0, 80]])))
    (made,) = fit_piece(
        PieceJob("strip", blank, (EdgeJob("wall", "top"),)), {"wall": wall}, tools
    ).cuts
    return made


def test_a_wedge_is_planed_to_where_it_must_be_sawn() -> None:
    """6 mm over 1000: 1.5 mm are reached at 250, and 2 mm, the least for the saw, at 333;
    stretches are looked at millimetre by millimetre.
    """
    wedge = cut([[0, 0], [1000, -6]], SAW, PLANE)
    assert pass_lines(wedge) == [
        "Keep the jigsaw 1 mm off the line, its kerf of 1.2 mm in the waste.",
        "0-251: plane, 0.0-1.5 mm",
        "251-334: chisel or file by hand, 1.5-1.9 mm",
        "334-1000: jigsaw, then plane, 2.0-6.0 mm",
    ]
    (marks,) = wedge.marks
    assert mark_rows(marks) == [("0", "0.0"), ("1000", "6.0")]
    assert marks_heading(marks).startswith("2 marks, joined with a straight edge")


def test_a_notch_is_too_tight_for_a_round_cutter() -> None:
    notch = cut([[0, 0], [400, 0], [400, -15], [600, -15], [600, 0], [1000, 0]], SAW, ROUTER)
    first, *_ = tight_lines(notch)
    assert "too tight for the" in first
    assert first.endswith("Use chisel or file by hand.")


def test_a_guided_router_leaves_a_fillet_of_its_radius() -> None:
    """A notch of 15 mm: in each of its corners a bit of 6.35 mm leaves its own radius standing."""
    guided = Tool("router", "finish", radius=6.35, most=50.0, guided=True)
    points = [[0, 0], [400, 0], [400, -15], [600, -15], [600, 0], [1000, 0]]
    (line,) = (said for said in tight_lines(cut(points, SAW, guided)) if "router" in said)
    assert line.startswith("400-40")
    assert "-600: guided by its bearing, the router leaves a fillet of radius 6.4 mm, up to" in line
    assert line.endswith("Take it out with chisel or file by hand.")


def test_many_tight_places_are_counted() -> None:
    """A wall of saw teeth 40 mm apart: the fitter reads one sentence for a tool."""
    x = np.arange(0.0, 1001.0, 20.0)
    teeth = np.column_stack([x, -4.0 - 3.0 * (-1.0) ** np.arange(len(x))])
    lines = tight_lines(cut(teeth, SAW, ROUTER))
    assert len(lines) <= 2
    assert any("24 places between" in line or "25 places between" in line for line in lines)


def test_a_hollow_shorter_than_a_millimetre_is_one_station() -> None:
    x = np.arange(0.0, 1001.0, 20.0)
    teeth = cut(np.column_stack([x, -4.0 - 3.0 * (-1.0) ** np.arange(len(x))]), SAW, PLANE)
    spot = replace(teeth.passes.tight[0], start=129.8, stop=130.3)
    (line,) = tight_lines(replace(teeth, passes=replace(teeth.passes, tight=(spot,))))
    assert line.startswith("130: too tight")
