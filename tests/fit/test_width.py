"""Widths that must be left, and may be: by hand arithmetic on lines, arcs and steps."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.datum import Datum
from scribe.errors import ScribeError
from scribe.fit.piece import fit_piece
from scribe.job import Distance, EdgeJob, Opening, PieceJob
from scribe.outline import Outline
from scribe.piece import Blank, Piece, Polygon


def outline(points, solid="left") -> Outline:
    points = np.array(points, float)
    along = Datum(np.zeros(2), np.array([1.0, 0.0]), "two points")
    return Outline(points, np.full(len(points), 0.1), solid, datum=along)


def fit(*edges: EdgeJob, width: float = 60.0, **outlines: Outline) -> Piece:
    blank = Blank(Polygon(np.array([[0.0, 0], [600, 0], [600, width], [0, width]])))
    return fit_piece(PieceJob("strip", blank, edges), outlines)


def refusal(*edges: EdgeJob, **more) -> ScribeError:
    with pytest.raises(ScribeError) as caught:
        fit(*edges, **more)
    return caught.value


HAT = [[0, 0], [300, -20], [600, 0]]  # 20 mm further out of the building in the middle


def test_a_blank_that_touches_is_moved_on_until_its_width_is_what_may_be() -> None:
    """60 wide and touching at both ends; at most 52 may be left: 8 more come off, 8 to 28."""
    piece = fit(EdgeJob("wall", "top", maximum_width=52.0), wall=outline(HAT))
    table = piece.cuts[0].removal
    assert table.width_left.max() == pytest.approx(52.0, abs=1e-4)
    assert (table.remove.min(), table.remove.max()) == pytest.approx((8.0, 28.0), abs=1e-4)
    assert any("8 mm more comes off" in note for note in piece.notes)


def test_a_place_that_is_given_is_kept_and_the_width_refused() -> None:
    edge = EdgeJob("wall", "top", placing=Distance(58.0), maximum_width=55.0)
    error = refusal(edge, wall=outline(HAT))
    assert error.kind == "piece-too-wide"
    assert "3 mm narrower" in error.do


def test_both_widths_can_be_too_much_to_ask() -> None:
    """At most 52 and the wall 20 mm deep: 32 are left in the middle."""
    edge = EdgeJob("wall", "top", minimum_width=35.0, maximum_width=52.0)
    error = refusal(edge, wall=outline(HAT))
    assert error.kind == "piece-too-narrow"
    assert "only 32 mm is left at station 300" in error.what
    assert "3 mm wider" in error.do


def test_a_corner_that_another_cut_takes_is_no_narrow_place() -> None:
    """The left wall takes 38 mm of the end at the foot and 22 at the top; beside it the strip is
    60 - 20 mm wide at least.
    """
    left = outline([[-10, -40], [80, -20]], "left")
    piece = fit(
        EdgeJob("wall", "top", minimum_width=40.0),
        EdgeJob("side", "left", placing=Distance(600.0)),
        wall=outline(HAT),
        side=left,
    )
    top = next(cut for cut in piece.cuts if cut.edge == "top")
    assert not top.removal.whole[0]
    assert top.removal.width_left[top.removal.whole].min() == pytest.approx(40.0, abs=1e-3)


def test_the_station_that_decides_is_told() -> None:
    wall = outline([[0, -3], [410, 0], [600, -6]])
    notes = fit(EdgeJob("wall", "top"), wall=wall).notes
    assert any(note.startswith("Station 410 of the top edge decides") for note in notes)
    flat = fit(EdgeJob("wall", "top"), wall=outline([[0, 0], [600, 0]])).notes
    assert not any("decides" in note for note in flat)


def test_a_blank_cut_through_is_told_how_much_wider_it_must_be() -> None:
    """The hat reaches 100 mm out, the blank has 60 and touches at its ends: 40 more are needed."""
    error = refusal(EdgeJob("wall", "top"), wall=outline([[0, 0], [300, -100], [600, 0]]))
    assert error.kind == "piece-falls-apart"
    lacks = float(error.do.split("more than ")[1].split(" mm")[0])
    # Crumbs of 1 mm^2 don't count as a part: a tip of a hat of slope 1/3 is 3 h^2 in area.
    assert 40.0 - 1.0 <= lacks <= 40.1
    gone = refusal(
        EdgeJob("wall", "top", placing=Distance(-200.0)), wall=outline([[0, 0], [600, 0]])
    )
    assert gone.kind == "piece-all-waste"
    assert "more than 200.1 mm wider" in gone.what  # 1 mm^2 of 600 mm, rounded up


def test_the_least_total_keeps_the_width_that_must_be_left() -> None:
    """Brute force over 2000 slopes: of all edges that touch and take at most 60 - 46 = 14 mm,
    the programme's has the least area. Without the limit it would take more at one place.
    """
    points = [[-80, -2], [0, -2], [120, 4], [260, -9], [430, 0], [600, -22], [680, -22]]
    wall = outline(points)
    free = fit(EdgeJob("wall", "top", least="total"), wall=wall)
    held = fit(EdgeJob("wall", "top", least="total", minimum_width=43.0), wall=wall)
    assert free.cuts[0].removal.remove.max() > 17.5
    assert held.cuts[0].removal.remove.max() <= 17.0 + 1e-3
    x = np.linspace(0.0, 600.0, 6001)
    y = np.interp(x, *np.array(points, float).T)
    best = np.inf
    for slope in np.linspace(-0.06, 0.06, 2001):
        rest = slope * x - y
        rest -= rest.min()
        if rest.max() <= 17.0:
            best = min(best, float(np.trapezoid(rest, x)))
    waste, least = (sum(_area(part.outer) for part in each.waste) for each in (held, free))
    # Turned by 0.03, what lies 17 mm deep shifts by 0.5 mm along the edge, where the wall falls
    # with 22 / 170: the limit bites 0.07 mm earlier or later there, 0 at the other end.
    assert waste == pytest.approx(best, abs=600 * 0.07)
    assert waste > least + 600 * 0.14


def _area(ring) -> float:
    x, y = ring.T
    return 0.5 * abs(float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()))


def test_between_a_wall_and_a_stile_that_is_fitted_already() -> None:
    """The stile is a straight edge 58 mm from the wall's datum, leaning away by 5 mm on a metre:
    the strip fills what is between, less 0.5 mm to the wall.
    """
    x = np.linspace(-20.0, 620.0, 65)
    wall = outline(np.column_stack([x, 2.0 * np.sin(x / 90.0)]))
    stile = outline([[-20.0, 0.1], [620.0, -3.1]], "right")  # y = -0.005 x
    piece = fit(
        EdgeJob("stile", "bottom"),
        EdgeJob("wall", "top", placing=Opening(58.0), clearance=0.5),
        width=70.0,
        wall=wall,
        stile=stile,
    )
    table = next(cut for cut in piece.cuts if cut.edge == "top").removal
    inner = table.station[1:-1]
    between = 58.0 + 2.0 * np.sin(inner / 90.0) + 0.005 * inner
    # The clearance is square to the wall, whose slope is 2 / 90 at most: 0.5 * 0.0222^2 / 2.
    assert table.width_left[1:-1] == pytest.approx(between - 0.5, abs=0.01)
