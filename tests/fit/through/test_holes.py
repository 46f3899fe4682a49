"""Holes through a piece: where they are, what is left, and what is refused."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely

from scribe.errors import ScribeError
from scribe.facing import side_facing
from scribe.fit.piece import fit_piece
from scribe.job import Closed, EdgeJob, HoleJob, Oblong, PieceJob, Round
from scribe.outline import Outline
from scribe.output.piece.holes import hole_lines, holes_csv
from scribe.piece import Blank, Piece, Polygon
from scribe.pipes import Pipe
from scribe.standards import PIPE_EXPANSION

FLOOR = Outline(np.array([[-50.0, 0.0], [900.0, 0.0]]), np.full(2, 0.1), "right")
SAG_MM = 2e-3  # what a circle's chords may miss, twice


def fitted(*holes: HoleJob, **outlines: Outline) -> Piece:
    blank = Blank(Polygon(np.array([[0.0, 0], [700, 0], [700, 360], [0, 360]])), 15.0)
    job = PieceJob("front", blank, (EdgeJob("floor", "bottom"),), holes=holes)
    return fit_piece(job, {"floor": FLOOR} | outlines)


def refused(*holes: HoleJob, **outlines: Outline) -> str:
    with pytest.raises(ScribeError) as caught:
        fitted(*holes, **outlines)
    return caught.value.kind


def keep_of(piece: Piece) -> Any:
    return shapely.Polygon(piece.keep.outer, piece.keep.holes)


def test_a_round_hole_is_the_pipe_and_its_clearance() -> None:
    # A pipe of 22 with 5 mm all round: 32 mm, at 150 from the left and 360 - 130 = 230 up.
    piece = fitted(HoleJob("flow", Round(22.0), (150.0, 130.0), ("left", "top"), clearance=5.0))
    [hole] = piece.holes
    assert hole.centre == pytest.approx([150.0, 230.0], abs=1e-9)
    assert hole.bore == pytest.approx(32.0)
    assert hole.from_edges == (("left", 150.0), ("top", 130.0))
    # shapely, which had no hand in it: blank less the disc.
    expected = shapely.box(0, 0, 700, 360) - shapely.Point(150, 230).buffer(16.0, quad_segs=400)
    assert keep_of(piece).symmetric_difference(expected).area < np.pi * 32.0 * SAG_MM
    assert np.allclose(piece.cuts[0].removal.width_left, 360.0)


def test_a_slot_opens_it_to_an_edge() -> None:
    piece = fitted(
        HoleJob("flow", Round(22.0), (150.0, 130.0), clearance=5.0, way="slot", towards="top")
    )
    assert not piece.keep.holes
    assert np.allclose(piece.cuts[0].removal.width_left, 360.0)  # the edge below loses no width
    assert keep_of(piece).intersection(shapely.box(134.1, 130, 165.9, 360)).area < 32 * 2 * SAG_MM


def test_a_split_runs_from_border_to_border_through_the_centres() -> None:
    two = [
        HoleJob(name, Round(22.0), (x, 200.0), clearance=5.0, way="split", towards="left")
        for name, x in (("flow", 150.0), ("return", 230.0))
    ]
    piece = fitted(*two)
    assert any("into 2 parts" in note for note in piece.notes)
    [line] = piece.splits
    np.testing.assert_allclose(line, [[0.0, 200.0], [700.0, 200.0]], atol=1e-6)


def test_what_stays_as_a_lid_is_said() -> None:
    lid = HoleJob("stopcock", Oblong(140.0, 110.0), (560.0, 240.0), access=True)
    piece = fitted(lid)
    assert any("lid" in note for note in piece.notes)
    assert piece.holes[0].size == pytest.approx((140.0, 110.0))


def test_a_closed_outline_goes_where_its_centre_is_measured() -> None:
    ring = np.array([[5.0, 5], [55, 5], [55, 35], [5, 35], [5, 5]])
    duct = Outline(ring, np.full(5, 0.1), side_facing(ring, "inside", "duct"))
    piece = fitted(HoleJob("duct", Closed("duct"), (400.0, 200.0), clearance=2.0), duct=duct)
    x0, y0, x1, y1 = shapely.Polygon(piece.keep.holes[0]).bounds
    assert (x0, y0, x1, y1) == pytest.approx((373.0, 183.0, 427.0, 217.0), abs=SAG_MM)


def test_a_pipe_grows_by_its_run() -> None:
    # 3200 mm of copper by 50 K: 3200 * 17e-6 * 50 = 2.72 mm (arithmetic; the value from memory).
    assert Pipe("copper", 3200.0).growth == pytest.approx(3200 * PIPE_EXPANSION["copper"] * 50)
    piece = fitted(
        HoleJob("flow", Round(22.0), (150.0, 130.0), clearance=2.0, pipe=Pipe("copper", 3200.0))
    )
    assert any("may press against the wood" in note for note in piece.notes)


def test_the_table_says_where_to_bore() -> None:
    piece = fitted(HoleJob("flow", Round(22.0), (150.0, 130.0), ("left", "top"), clearance=5.0))
    assert "150 mm from the left edge and 130 mm from the top edge" in hole_lines(piece)[0]
    assert "bore 32 mm" in hole_lines(piece)[0]
    row = holes_csv(piece).splitlines()[1].split(",")
    assert row[:5] == ['"flow"', "left", "150.00", "top", "130.00"]


def test_holes_that_can_not_be() -> None:
    assert refused(HoleJob("flow", Round(22.0), (150.0, 900.0))) == "hole-misses"
    wall = Outline(np.array([[0.0, 0], [0, 900]]), np.full(2, 0.1), "left")
    beside = HoleJob("flow", Round(22.0), (9.0, 9.0), beside="wall")
    assert refused(beside, wall=wall) == "hole-beside"
    open_one = Outline(np.array([[0.0, 0], [50, 0], [50, 30]]), np.full(3, 0.1), "left")
    assert refused(HoleJob("duct", Closed("duct"), (9.0, 9.0)), duct=open_one) == "hole-open"
    crooked = [
        HoleJob(name, Round(22.0), at, way="split", towards="left")
        for name, at in (("a", (100.0, 200.0)), ("b", (200.0, 206.0)), ("c", (300.0, 200.0)))
    ]
    assert refused(*crooked) == "hole-split"
    lid = HoleJob("stopcock", Oblong(140.0, 110.0), (560.0, 200.0), access=True)
    assert refused(crooked[0], lid) == "hole-split"
    # 20 mm over 80 mm: atan(20 / 80) = 14 degrees.
    steep = [
        HoleJob(name, Round(22.0), at, way="split", towards="left")
        for name, at in (("a", (100.0, 200.0)), ("b", (180.0, 220.0)))
    ]
    assert refused(*steep) == "hole-split"
    # The pipe's centre lies 4 mm above the blank: a level split through it misses the piece.
    above = HoleJob("high", Round(22.0), (150.0, 364.0), way="split", towards="left")
    assert refused(above) == "hole-split"
    # A bore of 32 mm whose centre is 17.5 mm from the edge leaves 1.5 mm.
    assert refused(HoleJob("flow", Round(22.0), (17.5, 200.0), clearance=5.0)) == "hole-web"
    beside = HoleJob("flow", Round(22.0), (17.5, 200.0), clearance=5.0, way="slot", towards="top")
    assert refused(beside) == "hole-web"


def test_wood_beside_a_slot_is_looked_at() -> None:
    """A slot of 32 mm, its centre 24 mm from the left edge: 24 - 16 = 8 mm are left all along it.

    Two of them 40 mm apart leave 40 - 32 = 8 mm between them; 60 mm apart, 28 mm: nothing is said.
    """

    def said(*at: float) -> list[str]:
        holes = [
            HoleJob(
                f"pipe {x:g}", Round(22.0), (x, 150.0), clearance=5.0, way="slot", towards="top"
            )
            for x in at
        ]
        return [note for note in fitted(*holes).notes if "may break out" in note]

    assert said(24.0) == [
        "Only 8 mm of wood are left beside the slot of hole pipe 24: it may break out there."
    ]
    assert len(said(200.0, 240.0)) == 2
    assert said(200.0, 260.0) == []
    beside = HoleJob("flow", Round(22.0), (200.0, 150.0), clearance=5.0, way="slot", towards="top")
    duct = HoleJob("duct", Oblong(40.0, 40.0), (240.0, 200.0))  # its left side at 220: 4 mm
    notes = fitted(beside, duct).notes
    assert (
        "Only 4 mm of wood are left beside the slot of hole flow: it may break out there." in notes
    )


def test_a_split_out_of_line_says_how_much_it_slants() -> None:
    """5 mm over 80: atan(5 / 80) = 3.6 degrees, 700 x 5 / 80 = 43.8 mm from end to end."""
    two = [
        HoleJob(name, Round(22.0), at, clearance=5.0, way="split", towards="left")
        for name, at in (("flow", (150.0, 200.0)), ("return", (230.0, 205.0)))
    ]
    [note] = [note for note in fitted(*two).notes if "slants" in note]
    assert "slants by 3.6 degrees, 43.8 mm from end to end" in note


def test_a_closed_line_has_no_side_and_an_open_one_no_inside() -> None:
    ring = np.array([[5.0, 5], [55, 5], [55, 35], [5, 35], [5, 5]])
    for points, building in ((ring, "above"), (ring[:-1], "inside")):
        with pytest.raises(ScribeError) as caught:
            side_facing(points, building, "duct")
        assert caught.value.kind == "outline-closed"
