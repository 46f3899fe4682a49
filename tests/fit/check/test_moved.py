"""Whether a move saves a cut: known moves come back, and nothing better is found by trying."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
import shapely

from scribe.fit.check.moved import best_move
from scribe.fit.piece import fit_piece
from scribe.job import EdgeJob, Opening, PieceJob
from scribe.outline import Outline
from scribe.piece import Blank, CutEdge, Piece, Polygon

Array = npt.NDArray[np.float64]

X = np.arange(0.0, 600.5, 1.0)


def strip(wall: np.ndarray, clearance: float = 0.0) -> tuple[Piece, CutEdge]:
    outline = Outline(np.column_stack([X, wall]), np.full(len(X), 0.02), "left")
    blank = Blank(Polygon(np.array([[0.0, 0], [600, 0], [600, 100], [0, 100]])))
    piece = fit_piece(
        PieceJob("strip", blank, (EdgeJob("wall", "top", clearance),)), {"wall": outline}
    )
    return piece, piece.cuts[0]


def as_cut(cut: CutEdge, along: float = 0.0, proud: np.ndarray | float = 0.0) -> np.ndarray:
    """The planned line, cut so far along and so proud at the stations of X."""
    away = np.interp(cut.line[:, 0], X, np.broadcast_to(proud, X.shape))
    return np.asarray(cut.line + np.column_stack([np.full(len(away), along), away]))


def gapes(cut: CutEdge, edge: np.ndarray, along: float, turn: float) -> float:
    """What gapes after a move, by shapely alone: pushed up until it touches, then looked at.

    turn: mm by which the end goes up against the beginning.
    """
    middle = (edge[0] + edge[-1]) / 2.0
    angle = turn / np.ptp(edge[:, 0])
    rotation = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    placed = (edge - middle) @ rotation.T + middle + [along, 0.0]
    wall = shapely.LineString(cut.line)
    x0, x1 = cut.line[0, 0], cut.line[-1, 0]
    placed = placed[(placed[:, 0] > x0) & (placed[:, 0] < x1)]
    room = np.interp(placed[:, 0], *cut.line.T) - placed[:, 1]
    placed = placed + np.array([0.0, room.min()])
    return float(max(wall.distance(shapely.Point(at)) for at in placed.tolist()))


def test_a_cut_slipped_along_is_saved_by_a_shift() -> None:
    """1.4 mm too far along: pushed back by as much, nothing gapes (told in tenths: 0.05 over)."""
    piece, cut = strip(4.0 * np.sin(X / 25.0))
    edge = as_cut(cut, along=1.4)
    stays = best_move(cut, edge, piece, 1.0, along=0.0, turn=0.0)
    # It rests where two flanks meet: |4 / 25 * 1.4| to either side, less by the slope there.
    assert stays.gap == pytest.approx(gapes(cut, edge, 0.0, 0.0), abs=0.01)
    assert stays.gap > 0.3
    saved = best_move(cut, edge, piece, 1.0)
    assert saved.along == pytest.approx(-1.4)
    assert saved.gap < 0.02
    assert abs(saved.into) < 0.02


@pytest.mark.parametrize(
    ("shape", "error"),
    [(np.square, 1 / 8), (np.sqrt, 1 / 8), (lambda x: np.sin(x * np.pi / 2), 0.10525683),
     (np.exp, 0.10593342)],
)  # fmt: skip
def test_turned_until_it_lies_best(shape: Callable[[Array], Array], error: float) -> None:
    """The best line in the Chebyshev sense (textbook values): what gapes is twice its error.

    10 mm for each unit. A turn told in tenths is off by 0.05 mm at the ends at most, and 600 mm
    in steps of 1 mm miss a steep end by sqrt(1/600) / 8 * 10 at most; the exact value is nearer.
    """
    piece, cut = strip(np.zeros(len(X)))
    move = best_move(cut, as_cut(cut, proud=10 * shape(X / 600)), piece, 1.0, along=0.0, turn=30.0)
    assert move.gap == pytest.approx(20 * error, abs=0.06)


def test_a_joint_that_a_seal_closes_is_left_as_wide_as_planned() -> None:
    """Short by 2 mm but for a bump: without a seal it is pushed home until it touches, through the
    clearance of 3 mm; with one until its proudest place lies on the planned line.
    """
    piece, cut = strip(np.zeros(len(X)), clearance=3.0)
    proud = np.where(np.abs(X - 300.0) < 20.0, -0.5, -2.0)
    edge = np.column_stack([X, cut.line[0, 1] + proud])
    home = best_move(cut, edge, piece, 1.0, turn=0.0)
    assert home.into == pytest.approx(3.5)
    sealed = best_move(replace(cut, seal=True), edge, piece, 1.0, turn=0.0)
    assert sealed.into == pytest.approx(0.5)
    assert sealed.gap == pytest.approx(home.gap) == pytest.approx(1.5)


def test_nothing_better_is_found_by_trying() -> None:
    """Every shift and turn in steps of 0.2 mm, judged by shapely, leaves no less."""
    rng = np.random.default_rng(5)
    wall = 3.0 * np.sin(X / 31.0) + 1.5 * np.sin(X / 11.0 + 1.0)
    knots = np.linspace(0.0, 600.0, 9)
    piece, cut = strip(wall, clearance=0.5)
    edge = as_cut(cut, 0.8, np.interp(X, knots, rng.normal(0.0, 0.4, 9)))[::4]
    move = best_move(cut, edge, piece, 1.0, along=2.0, turn=1.0)
    assert gapes(cut, edge, move.along, move.turn) == pytest.approx(move.gap, abs=0.03)
    tried = [
        gapes(cut, edge, along, turn)
        for along in np.arange(-2.0, 2.01, 0.4)
        for turn in np.arange(-1.0, 1.01, 0.5)
    ]
    assert move.gap <= min(tried) + 0.02


def test_an_edge_beside_it_that_meets_the_building_holds_it() -> None:
    """Both ends scribed with 0.5 mm: it can go to the left by no more than that."""
    run = np.arange(0.0, 250.5, 1.0)
    flat = Outline(np.column_stack([run, 0.0 * run]), np.full(len(run), 0.02), "left")
    wall = Outline(
        np.column_stack([X, 4.0 * np.sin(X / 25.0)]), np.full(len(X), 0.02), "left"
    )  # fmt: skip
    blank = Blank(Polygon(np.array([[0.0, 0], [600, 0], [600, 240], [0, 240]])))
    edges = (
        EdgeJob("left", "left", 0.5, start="bottom"),
        EdgeJob("right", "right", 0.5, start="top", placing=Opening(598.0)),
        EdgeJob("back", "top", 0.0, start="left"),
    )
    piece = fit_piece(PieceJob("shelf", blank, edges), {"left": flat, "right": flat, "back": wall})
    cut = next(each for each in piece.cuts if each.edge == "top")
    edge = cut.line + np.array([1.4, 0.0])
    free = best_move(cut, edge, piece, 2.0)
    assert free.along == pytest.approx(-0.5)
    assert free.gap > 0.1
