"""Pieces whose visible edge is turned: against hand arithmetic, and against brute force."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.datum import Datum
from scribe.fit.piece import fit_piece
from scribe.job import Distance, EdgeJob, PieceJob
from scribe.outline import Outline
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
    assert any(note.endswith("It touches all along.") for note in free.notes)


def test_the_largest_removal_is_least_of_all_turns() -> None:
    """A bow of 9 mm on a slope of 24: no datum turned in steps of 0.1 degrees is better.

    How much comes off is a convex function of the turn, so that the least of steps of 0.4 degrees
    has the least of all within one of these.
    """
    x = np.linspace(-40.0, 640.0, 341)
    wall = outline(np.column_stack([x, 0.04 * x + 9.0 * np.sin(np.pi * x / 600.0)]))
    best = fit(EdgeJob("wall", "top", least="largest"), wall=wall).cuts[0].removal.remove.max()

    def turned(degrees: float) -> float:
        angle = np.radians(degrees)
        datum = Datum(np.zeros(2), np.array([np.cos(angle), np.sin(angle)]), "two points")
        piece = fit(EdgeJob("wall", "top"), wall=wall.with_(datum=datum))
        return float(piece.cuts[0].removal.remove.max())

    coarse = np.arange(0.0, 4.0, 0.4)
    near = coarse[int(np.argmin([turned(each) for each in coarse]))]
    others = [turned(each) for each in near + np.arange(-0.4, 0.45, 0.1)]
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


@pytest.mark.parametrize(("edge", "solid"), [("top", "left"), ("bottom", "right")])
def test_a_surveyed_lean_turns_the_datum_away(edge: str, solid: str) -> None:
    """A straight wall along its sheet, said to run away by 20 mm on a metre: 88 mm from the
    visible edge of a blank of 100, 12 mm come off, and 12 - 600 * 0.02 = 0 at the far end.
    """
    wall = outline([[-50, 0.0], [650, 0.0]], solid)
    piece = fit(EdgeJob("wall", edge, placing=Distance(88.0), lean=20.0), wall=wall)
    removal = piece.cuts[0].removal
    first, last = np.argmin(removal.station), np.argmax(removal.station)
    assert removal.remove[[first, last]] == pytest.approx([12.0, 0.0], abs=0.01)


def test_what_a_survey_leaves_open_is_in_u() -> None:
    """u out 0.5 and 1.5 mm on a metre about station 0: at 600, hypot(0.1, 0.5, 0.9)."""
    wall = outline([[0, 0.0], [600, 0.0]])
    edge = EdgeJob("wall", "top", placing=Distance(88.0), lean=5.0, lean_u=1.5, distance_u=0.5)
    removal = fit(edge, wall=wall).cuts[0].removal
    assert removal.u[0] == pytest.approx(np.hypot(0.1, 0.5), abs=0.002)
    assert removal.u[-1] == pytest.approx(np.sqrt(0.1**2 + 0.5**2 + 0.9**2), abs=0.002)
