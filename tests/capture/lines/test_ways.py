"""Ways among dark points: what goes on after a gap, and what is no line."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.grid import Grid
from scribe.capture.lines.ways import continued, lines

Array = npt.NDArray[np.float64]


def straight(start: Array, direction: float, length: float) -> Array:
    """A way with a point to every mm; direction in degrees."""
    s = np.arange(0.0, length)
    turned = np.deg2rad(direction)
    return np.asarray(start + s[:, None] * [np.cos(turned), np.sin(turned)])


def test_a_line_goes_on_round_a_bend_that_is_missing() -> None:
    """The lowest 10 mm of a hollow of radius 14 mm, between its two slopes."""
    half = np.deg2rad(20.0)
    foot = 14.0 * np.array([np.sin(half), 1.0 - np.cos(half)])
    after = straight(foot, 20.0, 30.0)
    before = (after * [-1.0, 1.0])[::-1]
    whole = continued(before, after)
    assert whole is not None
    assert len(whole) == len(before) + len(after)


def test_a_line_that_was_begun_again_aside_is_another_one() -> None:
    one = straight(np.array([0.0, 0.0]), 0.0, 40.0)
    for aside, same in ((1.0, True), (3.0, False)):
        other = straight(np.array([50.0, aside]), 0.0, 40.0)
        assert (continued(one, other) is not None) == same


def test_another_line_beside_a_line_makes_no_edge_of_it_but_a_board_does() -> None:
    step = 0.4
    y, x = np.mgrid[0.0:60.0:step, 0.0:90.0:step]
    way = np.column_stack([np.arange(10.0, 80.0), np.full(70, 30.0)])

    def found(values: Array) -> int:
        grid = Grid((0.0, 0.0), step, values)
        return len(list(lines(grid, way, np.ones(len(way)), 2.0)))

    drawn = np.where(np.abs(y - 30.0) < 0.4, -1.0, 0.0)
    assert found(drawn) == 1
    assert found(drawn + np.where(np.abs(y - 35.0) < 0.5, -1.0, 0.0)) == 1
    assert found(drawn + np.where(y > 31.0, -0.6, 0.0) + 0.0 * x) == 0
