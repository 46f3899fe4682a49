"""Pieces fitted by hand arithmetic: lines, an arc, a step, a trapped shelf, a skirting notch."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from scribe.datum import Datum
from scribe.job import Distance, EdgeJob, Opening
from scribe.outline import Outline
from scribe.piece import Blank, Polygon
from tests.fit.by_hand import EXACT, area, fit, outline, rectangle, rows


def test_a_slope_is_taken_off_as_a_wedge():
    # The wall falls 6 mm over 600 mm: nothing comes off at the left, 6 mm at the right, and
    # 6 s / 600 between. Wedge: 600 * 6 / 2 = 1800 mm^2.
    wall = outline([[0, 0], [600, -6]])
    piece = fit(rectangle(600, 60), EdgeJob("wall", "top"), outlines={"wall": wall}, step=150.0)
    (cut,) = piece.cuts
    np.testing.assert_allclose(cut.removal.station, [0, 150, 300, 450, 600], atol=EXACT)
    np.testing.assert_allclose(cut.removal.remove, [0, 1.5, 3, 4.5, 6], atol=1e-5)
    np.testing.assert_allclose(cut.removal.width_left, [60, 58.5, 57, 55.5, 54], atol=1e-5)
    # Square to the edge instead of across the line: u * sqrt(1 + 0.01^2), GUM 5.1.2.
    np.testing.assert_allclose(cut.removal.u, 0.1 * np.sqrt(1.0001), rtol=1e-4)
    assert [cut.removal.kind[0], cut.removal.kind[-1]] == ["end", "end"]
    (waste,) = piece.waste
    assert area(waste) == pytest.approx(1800.0, abs=1e-3)
    assert (cut.keep, cut.from_end) == ("right", "left")


def test_an_arc_is_taken_off_by_its_sagitta():
    # A wall bulging into the room: R = 500, chord 200. Sagitta R - sqrt(R^2 - 100^2) =
    # 10.102051 (arithmetic; ISO 12780 calls the chord's reference line). Most comes off in
    # the middle, nothing at the ends.
    x = np.linspace(-100, 100, 2001)
    wall = outline(np.column_stack([x + 100, -np.sqrt(500.0**2 - x**2) + 500]))
    piece = fit(rectangle(200, 60), EdgeJob("wall", "top"), outlines={"wall": wall})
    hollow = rows(piece.cuts[0])[100.0, "hollow"]
    assert hollow[0] == pytest.approx(10.102051, abs=1e-6)
    assert hollow[1] == pytest.approx(60 - 10.102051, abs=1e-6)
    ends = [rows(piece.cuts[0])[s, "end"][0] for s in (0.0, 200.0)]
    # An end is read 0.0002 mm inside, where the arc has a slope of 0.2.
    np.testing.assert_allclose(ends, 0.0, atol=1e-4)


def test_clearance_rounds_a_salient_corner():
    # To the left of 300 the wall stands 20 mm further in. Grown by 5 mm, its corner becomes a
    # quarter disc (Minkowski sum): 300 * 25 to the left, 295 * 5 to the right, between them
    # 5 * 20 and the quarter disc.
    wall = outline([[0, -20], [300, -20], [300, 0], [600, 0]])
    edge = EdgeJob("wall", "top", clearance=5.0, placing=Distance(100.0))
    piece = fit(rectangle(600, 100), edge, outlines={"wall": wall})
    waste = sum(area(part) for part in piece.waste)
    by_hand = 300 * 25 + 295 * 5 + 5 * 20 + np.pi * 5**2 / 4
    assert waste == pytest.approx(by_hand, abs=0.01)
    solid = shapely.Polygon([[-99, 80], [300, 80], [300, 100], [699, 100], [699, 199], [-99, 199]])
    library = solid.buffer(5.0, quad_segs=256).intersection(shapely.box(0, 0, 600, 100)).area
    assert waste == pytest.approx(library, abs=0.01)


def test_a_step_shows_both_of_its_values():
    wall = outline([[0, 0], [410, 0], [410, -20], [600, -20]])
    piece = fit(rectangle(600, 60), EdgeJob("wall", "top"), outlines={"wall": wall})
    table = piece.cuts[0].removal
    corner = [n for n, kind in enumerate(table.kind) if kind == "corner"]
    np.testing.assert_allclose(table.station[corner], [410, 410], atol=EXACT)
    np.testing.assert_allclose(table.remove[corner], [0, 20], atol=EXACT)
    # Beside the corner the cut is parallel to the edge, so u is that across the line.
    np.testing.assert_allclose(table.u, 0.1, atol=1e-9)
    assert not {"peak", "hollow"} & {table.kind[n] for n in corner}


def test_a_step_that_overhangs_by_a_hair_is_read_beside_it():
    # The face of the step leans back 0.02 mm between its ends: read at 410, a line across the
    # piece would leave the wood, cross a hair of air and meet the wood again.
    wall = outline([[0, 0], [410, 0], [409.98, -15], [410.01, -20], [600, -20]])
    piece = fit(rectangle(600, 60), EdgeJob("wall", "top"), outlines={"wall": wall})
    table = piece.cuts[0].removal
    corner = [n for n, kind in enumerate(table.kind) if kind == "corner"]
    np.testing.assert_allclose(table.station[corner], [409.98, 410.01], atol=EXACT)
    np.testing.assert_allclose(table.remove[corner], [0, 20], atol=EXACT)
    np.testing.assert_allclose(table.width_left, 60 - table.remove, atol=EXACT)
    assert piece.cuts[0].passes is not None
    assert piece.cuts[0].marks


def test_a_shelf_trapped_between_two_walls_and_a_back():
    """Left wall leans in 4 mm over 300, right wall 6 mm; opening 900 at the front, back flat.

    With clearances of 1 mm the finished shelf is 900 - 2 = 898 mm wide at the front, and
    898 - 4 - 6 = 888 at the back (to second order in the slopes: 1 mm * slope^2 / 2 < 2e-4).
    """
    walls = {
        # Stations from the front; the building on the left of travel upwards.
        "left": outline([[0, 0], [4, 320]], datum=Datum(np.zeros(2), np.array([0, 1.0]), "plumb")),
        # Stations from the front as well: the building on the right.
        "right": outline(
            [[0, 0], [-6, 320]], "right", datum=Datum(np.zeros(2), np.array([0, 1.0]), "plumb")
        ),
        "back": outline([[0, 0], [950, 0]]),
    }
    shelf = fit(
        rectangle(920, 300),
        EdgeJob("left", "left", clearance=1.0, minimum_width=800.0),
        EdgeJob("right", "right", clearance=1.0, placing=Opening(900.0)),
        EdgeJob("back", "top", clearance=0.5),
        outlines=walls,
        step=100.0,
    )
    ring = shapely.Polygon(shelf.keep.outer)
    front = ring.intersection(shapely.LineString([[-10, 0.0], [1000, 0.0]])).length
    # 4 mm over 320, cut off at 300: 3.75 and 5.625.
    behind = ring.intersection(shapely.LineString([[-10, 299.9], [1000, 299.9]])).length
    assert front == pytest.approx(898.0, abs=0.001)
    assert behind == pytest.approx(898 - 3.75 - 5.625 + 0.1 * 10 / 320, abs=0.001)
    left, right, back = shelf.cuts
    assert [cut.edge for cut in shelf.cuts] == ["left", "right", "top"]
    # Touch on the left: nothing comes off at the front corner, where the wall is furthest.
    assert left.removal.remove[0] == pytest.approx(0.0, abs=1e-4)
    assert (left.from_end, left.keep) == ("bottom", "right")
    assert (right.from_end, right.keep) == ("bottom", "left")
    # Corners where two outlines meet are exact: both cut lines end in the same point.
    np.testing.assert_allclose(left.line[-1], back.line[0], atol=1e-9)
    np.testing.assert_allclose(right.line[-1], back.line[-1], atol=1e-9)
    # The back is flat: touching, it takes nothing off.
    np.testing.assert_allclose(back.removal.remove, 0.0, atol=1e-6)


def test_a_notch_over_a_skirting_with_a_vertical_front():
    """End panel 2000 x 300, its back edge to the wall, over a skirting 120 high and 18 thick.

    The panel lies with its foot to the left. The outline rises from the floor, up the front
    of the skirting, back over its top, and up the wall: not a function of the station there.
    Touching the wall, the notch is 18 deep and ends at 120; with 2 mm clearance the room is
    grown by 2, so the panel is held off the wall by 2 and the notch is 18 deep still, and
    ends at 122.
    """
    plumb = Datum(np.zeros(2), np.array([0.0, 1.0]), "plumb line", "floor")
    wall = outline([[-18, 0], [-18, 120], [0, 120], [0, 2100]], "right", datum=plumb)
    panel = fit(
        rectangle(2000, 300),
        EdgeJob("wall", "bottom", clearance=2.0),
        outlines={"wall": wall},
        up="right",
        step=500.0,
    )
    (cut,) = panel.cuts
    table = rows(cut)
    assert table[0.0, "end"][0] == pytest.approx(18.0, abs=1e-3)
    corner = cut.removal.station[[kind == "corner" for kind in cut.removal.kind]]
    # The rounded corner, R = 2, is steep (slope 2) up to 2 (1 - 2 / sqrt 5) = 0.211 from its end;
    # its chords are up to 2 * sqrt(2 * 2e-4 / 2) = 0.03 long.
    np.testing.assert_allclose(corner, [122.0 - 0.211, 122.0], atol=0.04)
    assert table[500.0, "step"][0] == pytest.approx(0.0, abs=1e-3)
    assert cut.from_end == "floor"
    np.testing.assert_array_equal(panel.up, [1, 0])
    (waste,) = panel.waste
    # 18 * 122 less the rounded inner corner: a square of 2 less a quarter disc.
    assert area(waste) == pytest.approx(18 * 122 - (4 - np.pi), abs=0.01)


def test_waste_may_fall_into_several_parts():
    wall = outline([[0, -5], [100, 0], [200, -5], [300, 0], [400, -5]])
    piece = fit(rectangle(400, 60), EdgeJob("wall", "top"), outlines={"wall": wall})
    assert len(piece.waste) == 3
    assert sum(area(part) for part in piece.waste) == pytest.approx(4 * 100 * 5 / 2, abs=1e-3)
    (cut,) = piece.cuts  # one cut still, that touches the blank's edge twice
    table = rows(cut)
    assert {s for s, kind in table if kind == "peak"} == {100.0, 300.0}
    assert {s for s, kind in table if kind == "hollow"} >= {200.0}


def test_a_blank_of_another_shape_is_measured_square_to_its_own_edge():
    # A sloping ceiling: the blank's top edge already slopes with 3 in 4. The ceiling is 8 mm
    # lower along the plumb direction: square to the edge that is 8 * 4 / 5 = 6.4 mm.
    blank = Blank(Polygon(np.array([[0.0, 0], [400, 0], [400, 500], [0, 200]])))
    ceiling = outline([[-50, 192 - 37.5], [500, 192 + 375]])
    piece = fit(
        blank, EdgeJob("ceiling", "top", placing=Distance(0.0)), outlines={"ceiling": ceiling}
    )
    (cut,) = piece.cuts
    inner = (cut.removal.station > 20) & (cut.removal.station < 480)
    np.testing.assert_allclose(cut.removal.remove[inner], 6.4, atol=1e-6)
    assert cut.removal.station[-1] == pytest.approx(500.0, abs=10)  # 5 = hypot(3, 4)


def test_what_was_not_measured_is_carried_to_the_cut():
    x = np.arange(0.0, 601.0, 10.0)
    gap = (x > 200) & (x < 300)
    wall = outline(np.column_stack([x, np.zeros_like(x)]), measured=~gap)
    piece = fit(
        rectangle(600, 60), EdgeJob("wall", "top", placing=Distance(58)), outlines={"wall": wall}
    )
    (cut,) = piece.cuts
    table = dict(zip(cut.removal.station.tolist(), cut.removal.measured.tolist(), strict=True))
    assert table[250.0] is False
    assert table[150.0] is True


def test_u_is_carried_and_interpolated():
    wall = Outline([[0, 0], [600, 0]], [0.1, 0.3], "left")
    piece = fit(
        rectangle(600, 60), EdgeJob("wall", "top", placing=Distance(58)), outlines={"wall": wall}
    )
    table = piece.cuts[0].removal
    np.testing.assert_allclose(table.u, 0.1 + 0.2 * table.station / 600, atol=1e-6)


def test_an_end_whose_name_says_nothing_is_noted():
    wall = outline([[0, 0], [300, -2]])
    piece = fit(rectangle(600, 300), EdgeJob("wall", "right"), outlines={"wall": wall})
    assert any("top end of the right edge" in note for note in piece.notes)
    assert piece.cuts[0].from_end == "top"
