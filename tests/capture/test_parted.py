"""Boards from which the offcut was not taken away, and boards with a groove, a line, a knot."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.capture.edges.edge import trace_edge
from scribe.capture.parted import refuse_parted
from scribe.errors import ScribeError
from tests.capture.fake_view import Array, FakeView, Paint, board_paint, seen

BOARD = np.array([[15.0, 5.0], [95.0, 5.0], [95.0, 58.0], [15.0, 58.0]])


def parted(
    width: float, x0: float = 0.0, x1: float = 110.0, dark: float = 0.09, face: float = 0.3
) -> FakeView:
    """A board sawn along a wave, so many mm apart, between two places along it."""
    board: Paint = board_paint(BOARD, face=face)

    def paint(x: Array, y: Array) -> Array:
        off = np.abs(y - 30.0 - 4.0 * np.sin(x / 9.0))
        gap = (off < width / 2) & (x > 15.0) & (x < 95.0) & (x > x0) & (x < x1)
        return np.where(gap, dark, board(x, y))

    return seen(paint)


@pytest.mark.parametrize(("width", "light"), [(1.6, 0.09), (3.0, 0.09), (8.0, 0.09), (2.0, 0.75)])
def test_an_offcut_left_lying_is_not_taken_for_the_piece(width: float, light: float) -> None:
    view = parted(width, dark=light)
    with pytest.raises(ScribeError) as refusal:
        refuse_parted(view, trace_edge(view))
    assert refusal.value.kind == "edge-parted"
    assert ", 3" in refusal.value.what or ", 2" in refusal.value.what


@pytest.mark.parametrize(
    ("width", "x0", "x1", "dark"),
    [
        (3.0, 40.0, 80.0, 0.09),
        (0.5, 0.0, 110.0, 0.09),
        (20.0, 0.0, 110.0, 0.09),
        (3.0, 0.0, 110.0, 0.24),
    ],
    ids=["a mark", "a line", "a dark half", "grain"],
)
def test_what_is_no_gap_from_side_to_side_parts_nothing(
    width: float, x0: float, x1: float, dark: float
) -> None:
    view = parted(width, x0, x1, dark)
    refuse_parted(view, trace_edge(view))


def test_the_darkest_streak_of_a_board_parts_nothing() -> None:
    """Three of them, one as deep as the others."""
    board = board_paint(BOARD)

    def paint(x: Array, y: Array) -> Array:
        on = (x > 15.0) & (x < 95.0)
        streak = np.min([np.abs(y - at - 2.0 * np.sin(x / 9.0)) for at in (20, 31, 44)], axis=0)
        return np.where((streak < 1.5) & on, 0.15, board(x, y))

    view = seen(paint)
    refuse_parted(view, trace_edge(view))


def test_behind_a_board_as_light_as_paper_it_may_be_a_shadow() -> None:
    found = trace_edge(parted(3.0))  # a dark board's, which lies there as well
    refuse_parted(parted(3.0, face=0.72, dark=0.3), found)


def test_a_gap_may_show_shade_and_paper() -> None:
    dark, light = parted(6.0, face=0.5), parted(2.0, face=0.5, dark=0.78)
    both = np.where(np.abs(light.picture - 0.78) < 0.05, light.picture, dark.picture)
    view = FakeView(both, blur_px=dark.blur_px)
    with pytest.raises(ScribeError, match="a gap runs across"):
        refuse_parted(view, trace_edge(dark))
