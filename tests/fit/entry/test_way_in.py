"""Ways in between two walls, against closed formulas."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from scribe.fit.entry.way_in import border, in_plane


def wall(x, y=(-2000.0, 2000.0)) -> np.ndarray:
    return np.array([[float(a), float(b)] for a, b in zip(x, y, strict=True)])


def shelf(front: float, back: float, depth: float = 300.0) -> np.ndarray:
    """A shelf whose ends follow walls that part, or close in, evenly."""
    return np.array([[-front / 2, 0], [front / 2, 0], [back / 2, depth], [-back / 2, depth]], float)


def test_border_is_that_of_an_independent_library() -> None:
    ring = np.array([[0, 0], [40, 5], [35, 30], [20, 18], [5, 33]], float)
    y = np.arange(0.5, 33.0, 1.7)
    low, high = border(ring, y)
    for level, left, right in zip(y, low, high, strict=True):
        line = shapely.LineString([(-100, level), (200, level)])
        x = shapely.get_coordinates(shapely.intersection(shapely.Polygon(ring), line))[:, 0]
        assert (left, right) == (pytest.approx(x.min()), pytest.approx(x.max()))


def test_between_parallel_walls_it_slides_with_its_clearance() -> None:
    found = in_plane(shelf(998.0, 998.0), wall([-500, -500]), wall([500, 500]), turns=False)
    assert found.spare == pytest.approx(2.0, abs=1e-6)


def test_walls_that_close_in_towards_the_front_hold_it() -> None:
    """Each wall closes in by 1 mm in 100: over a depth of 300 the back is 6 mm wider than the
    front, and must pass where the front of the shelf will lie: 2 - 6 = -4 mm to spare.
    """
    left, right = wall([-480, -520]), wall([480, 520])
    piece = shelf(998.0, 1004.0)
    held = in_plane(piece, left, right, turns=False)
    assert held.spare == pytest.approx(-4.0, abs=0.05)  # a step of 2 mm of 0.02 mm a mm
    # The other way round it only gets looser.
    loose = in_plane(shelf(998.0, 992.0), wall([-520, -480]), wall([520, 480]), turns=False)
    assert loose.spare == pytest.approx(2.0, abs=0.05)


def test_a_nib_on_one_wall_is_passed_by_swinging() -> None:
    """A nib of 6 mm on the left wall in front of the shelf, and 400 mm of room to swing."""
    left = np.array(
        [[-500, 2000], [-500, 0], [-494, -1], [-494, -30], [-500, -31], [-500, -2000]], float
    )[::-1]
    piece = shelf(997.0, 997.0, 60.0)
    right = np.array([[500, -2000], [500, -45], [508, -46], [508, 2000]], float)
    straight = in_plane(piece, left, right, turns=False)
    swung = in_plane(piece, left, right, turns=True)
    assert straight.spare == pytest.approx(500 + 494 - 997, abs=1e-6)
    assert swung.spare >= straight.spare - 1e-9
