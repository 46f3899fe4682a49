"""A third wall behind a trapped piece, and what to ease, against closed formulas."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from scribe.fit.entry.easing import eased
from scribe.fit.entry.third_wall import reaches
from scribe.fit.entry.way_in import in_plane


def upright(x: float, lean: float = 0.0) -> np.ndarray:
    return np.array([[x - 2000.0 * lean, -2000.0], [x + 2000.0 * lean, 2000.0]])


@pytest.mark.parametrize("turn_deg", [0.0, 0.5, 3.0, 12.0])
def test_a_turned_rectangle_reaches_back_by_its_corner(turn_deg: float) -> None:
    """Half of a rectangle L x D is (L/2) sin q + (D/2) cos q high; a flat wall lies D/2 away."""
    q = np.radians(turn_deg)
    corners = np.array([[-300.0, -50], [300, -50], [300, 50], [-300, 50]])
    ring = corners @ np.array([[np.cos(q), np.sin(q)], [-np.sin(q), np.cos(q)]])
    reach = reaches(ring, np.array([[-2000.0, 50.0], [2000.0, 50.0]]))
    expected = 300.0 * np.sin(q) + 50.0 * (np.cos(q) - 1.0)
    assert reach == pytest.approx(np.full(len(reach), expected), abs=1e-5)


@pytest.mark.parametrize("deep", [20.0, 60.0])
def test_a_pier_behind_lets_a_piece_drift_by_its_clearance_only(deep: float) -> None:
    """Both side walls lean by 1 in 50: pulled out by p the piece must drift by p / 50. A pier of
    that depth stands in a notch with 0.5 mm on either side, and so do the walls: what is left is
    1 - (p / 50), and from p = 50 on nothing.
    """
    lean, gap = 0.02, 0.5
    piece = np.array(
        [
            [-500 + gap, 0], [500 - gap, 0],
            [500 - gap + 300 * lean, 300], [100 + gap, 300], [100 + gap, 300 - deep],
            [-100 - gap, 300 - deep], [-100 - gap, 300], [-500 + gap + 300 * lean, 300],
        ]
    )  # fmt: skip
    sides = upright(-500.0, lean), upright(500.0, lean)
    behind = np.array(
        [
            [-2000.0, 300],
            [-100, 300],
            [-100, 300 - deep],
            [100, 300 - deep],
            [100, 300],
            [2000, 300],
        ]
    )
    alone = in_plane(piece, *sides, turns=False)
    held = in_plane(piece, *sides, turns=False, behind=behind)
    assert alone.spare == pytest.approx(1.0, abs=0.05)
    # Steps of 2 mm ask for 0.04 mm at once; drifts are looked at every 0.05 mm.
    assert held.spare == pytest.approx(1.0 - deep * lean, abs=0.04 + 0.05)
    assert held.behind


@pytest.mark.parametrize("seed", range(4))
def test_eased_as_told_a_piece_slides_in(seed: int) -> None:
    """Between two walls that wave by up to 6 mm, each piece cut with 0.5 mm clearance."""
    rng = np.random.default_rng(seed)
    y = np.arange(-600.0, 601.0, 20.0)
    left = np.column_stack([-400.0 + rng.uniform(-3, 3, len(y)), y])
    right = np.column_stack([400.0 + rng.uniform(-3, 3, len(y)), y])
    own = np.arange(0.0, 241.0, 20.0)
    west = np.interp(own, y, left[:, 0]) + 0.5
    east = np.interp(own, y, right[:, 0]) - 0.5
    piece = np.vstack([np.column_stack([west, own])[::-1], np.column_stack([east, own])])
    stuck = in_plane(piece, left, right, turns=False)
    assert stuck.spare < 0.0
    ease = eased(piece, left, right, stuck.path)
    # Levels of 1 mm on slopes of up to 6 in 20: half a level is 0.15 mm, on either side.
    assert ease.most >= -stuck.spare - 0.3
    sign = 1.0 if ease.right else -1.0
    edge = np.interp(ease.level, own, east if ease.right else west)
    off = [
        shapely.box(
            min(x - sign * o, x + sign * 50), y - 0.5, max(x - sign * o, x + sign * 50), y + 0.5
        )
        for x, y, o in zip(edge, ease.level, ease.off, strict=True)
        if o > 0.0
    ]
    rest = shapely.difference(shapely.Polygon(piece), shapely.union_all(off))
    ring = shapely.get_coordinates(rest.exterior)[:-1]
    assert in_plane(ring, left, right, turns=False).spare >= -0.3
    if stuck.spare < -1.0:
        assert in_plane(ring, left, right, turns=False).spare > stuck.spare / 2


def test_a_wall_that_reaches_behind_the_piece_lets_nothing_in() -> None:
    """A pier that is wider in front than at its root, by 2 mm on a clearance of 0.5."""
    piece = np.array(
        [[-499.5, 0], [499.5, 0], [499.5, 300], [100.5, 300], [102.5, 240], [-102.5, 240],
         [-100.5, 300], [-499.5, 300]]
    )  # fmt: skip
    pier = [[-2000.0, 300], [-100, 300], [-102, 240], [102, 240], [100, 300], [2000, 300]]
    for turns in (False, True):
        found = in_plane(piece, upright(-500.0), upright(500.0), turns=turns, behind=np.array(pier))
        assert found.spare < 0.0
        assert found.behind
