"""Pieces whose visible edge is turned: against hand arithmetic, and against brute force."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.fit.piece import fit_piece
from scribe.job import EdgeJob, PieceJob
from scribe.outline import Datum, Outline
from scribe.piece import Blank, Piece, Polygon


def outline(points, solid="left") -> Outline:
    points = np.array(points, float)
    return Outline(points, np.full(len(points), 0.1), solid)


def fit(edge: EdgeJob, **outlines: Outline) -> Piece:
    blank = Blank(Polygon(np.array([[0.0, 0], [600, 0], [600, 100], [0, 100]])))
    return fit_piece(PieceJob("strip", blank, (edge,)), outlines)


@pytest.mark.parametrize(("edge", "solid"), [("top", "left"), ("bottom", "right")])
def test_a_sloping_wall_costs_nothing_when_the_piece_may_turn(edge: str, solid: str) -> None:
    """A straight wall that falls 30 mm over 600: level, 30 mm come off; turned, none."""
    sign = 1.0 if solid == "left" else -1.0
    wall = outline([[-50, 2.5 * sign], [650, -32.5 * sign]], solid)
    level = fit(EdgeJob("wall", edge), wall=wall)
    free = fit(EdgeJob("wall", edge, least="largest"), wall=wall)
    assert level.cuts[0].removal.remove.max() == pytest.approx(30.0, abs=1e-4)
    assert not free.cuts or free.cuts[0].removal.remove.max() == pytest.approx(0.0, abs=1e-6)
    assert any("30 mm" in note and "against 30 and 15" in note for note in free.notes)


def test_the_largest_removal_is_least_of_all_turns() -> None:
    """A bow of 9 mm on a slope of 24: no datum turned in steps of 0.1 degrees is better."""
    x = np.linspace(-40.0, 640.0, 341)
    wall = outline(np.column_stack([x, 0.04 * x + 9.0 * np.sin(np.pi * x / 600.0)]))
    best = fit(EdgeJob("wall", "top", least="largest"), wall=wall).cuts[0].removal.remove.max()
    others = []
    for angle in np.radians(np.arange(0.0, 4.0, 0.1)):
        datum = Datum(np.zeros(2), np.array([np.cos(angle), np.sin(angle)]), "two points")
        piece = fit(EdgeJob("wall", "top"), wall=wall.with_(datum=datum))
        others.append(piece.cuts[0].removal.remove.max())
    assert best <= min(others) + 1e-6
    assert best == pytest.approx(min(others), abs=600.0 * np.radians(0.1))


def test_the_clearance_is_kept_when_turned() -> None:
    x = np.linspace(-40.0, 640.0, 341)
    wall = outline(np.column_stack([x, 0.02 * x + 5.0 * np.cos(x / 60.0)]))
    piece = fit(EdgeJob("wall", "top", clearance=2.0, least="total"), wall=wall)
    (room,) = piece.room
    gap = np.hypot(*(piece.cuts[0].line[:, None] - room.outline.points).transpose(2, 0, 1))
    assert gap.min(axis=1) == pytest.approx(2.0, abs=0.02)  # points of the wall lie 2 mm apart


def test_parallel_to_a_neighbour_the_reveal_is_its_own_straightness() -> None:
    """The neighbour's edge leans 12 in 600 with a bump of 1 mm: the piece leans with it."""
    wall = outline([[-50, 0], [650, 0]])
    stile = outline([[0, -150], [300, -156 + 1.0], [600, -162]])
    piece = fit(EdgeJob("wall", "top", parallel="stile"), wall=wall, stile=stile)
    # The wall lies level and the visible edge falls 12 mm: seen from it, the wall rises.
    assert piece.cuts[0].removal.remove.max() == pytest.approx(12.0, abs=0.01)
    assert any("varies by 1 mm" in note for note in piece.notes)
