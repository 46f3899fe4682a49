from __future__ import annotations

import numpy as np
import pytest

from scribe.datum import Datum
from scribe.errors import ScribeError
from scribe.geom.polyline import nearest, resample
from scribe.outline import Outline
from scribe.shape.offset import offset_translated
from scribe.shape.probe import undo_block, undo_washer
from tests.shape.washer import rolled

X = np.arange(0.0, 160.0, 0.25)


def wall_of(y: np.ndarray, u: float = 0.0) -> Outline:
    return Outline(np.column_stack([X, y]), np.full(len(X), u), "left", origin="wall")


def test_a_washer_undone_gives_the_wall_back():
    wall = wall_of(3.0 * np.sin(X / 12.0))  # least radius 12^2 / 3 = 48 mm
    drawn = rolled(wall, 15.0)
    found = undo_washer(drawn, 15.0)
    inside = (found.points[:, 0] > 1.0) & (found.points[:, 0] < 158.0)
    # Chords of 0.25 mm in a radius of 48 - 15 = 33 mm lie 0.25^2 / 8 / 33 inside the curve.
    assert np.abs(nearest(found.points[inside], wall.points).distance).max() < 1e-3
    assert found.measured.all()
    assert "washer" in found.origin


@pytest.mark.parametrize("noise", [0.0, 0.02])
def test_a_groove_too_tight_for_the_washer_comes_back_as_its_rim_and_is_flagged(noise: float):
    # A right-angled groove 12 mm deep: a disc of 10 mm stays 10 (sqrt 2 - 1) = 4.142 mm short of
    # its bottom (textbook), and misses the flanks within 10 / sqrt 2 of the axis.
    wall = wall_of(np.maximum(12.0 - np.abs(X - 80.0), 0.0))
    drawn = rolled(wall, 10.0)
    points = resample(drawn.points, 0.3)
    points = points + noise * np.random.default_rng(2).normal(size=points.shape)
    line = Outline(points, np.full(len(points), noise), "left")
    if noise == 0.0:
        line = drawn
    found = undo_washer(line, 10.0)
    axis = np.abs(found.points[:, 0] - 80.0)
    lowest = found.points[np.argmin(axis), 1]
    # The break is found to one spacing; noise moves the apex by a few of it.
    assert lowest == pytest.approx(12.0 - 4.142, abs=2e-3 if noise == 0.0 else 0.3)
    assert not found.measured[axis < 10 / np.sqrt(2) - 0.5 - 20 * noise].any()
    assert found.measured[axis > 10 / np.sqrt(2) + 0.5 + 50 * noise].all()


@pytest.mark.parametrize(
    # A wall of slope m drawn with a washer but undone as if a block had been used: the gap along
    # the push is r (sqrt(1 + m^2) - 1), square to the wall that by sqrt(1 + m^2) (plane geometry).
    ("slope", "gap", "square"),
    [
        (0.05, 0.025, 0.001248),
        (0.1, 0.100, 0.004963),
        (0.5, 2.361, 0.105573),
        (1.0, 8.284, 0.292893),
    ],
)
def test_the_wrong_construction_leaves_the_gap_of_the_handbook(slope, gap, square):
    wall = wall_of(slope * X)
    drawn = rolled(wall, 20.0)
    wrong = undo_block(drawn, 20.0)
    left = slope * wrong.points[:, 0] - wrong.points[:, 1]
    assert np.allclose(left, gap, atol=6e-4)  # printed to 0.001
    assert np.allclose(
        np.abs(nearest(wrong.points[5:-200], wall.points).distance), 20 * square, atol=2e-5
    )
    right = undo_washer(drawn, 20.0)
    assert np.allclose(slope * right.points[:, 0], right.points[:, 1], atol=1e-6)


@pytest.mark.parametrize(
    ("tilt_deg", "shift", "short"), [(1, 0.349, 0.003), (5, 1.743, 0.076), (10, 3.473, 0.304)]
)
def test_a_block_turned_in_the_hand(tilt_deg: float, shift: float, short: float):
    # 20 mm turned by q: d sin q along, d (1 - cos q) short (plane geometry).
    wall = wall_of(5.0 * np.sin(X / 9.0))
    q = np.radians(tilt_deg)
    drawn = offset_translated(wall, 20.0, (np.sin(q), -np.cos(q)))
    found = undo_block(drawn, 20.0).points - wall.points
    assert np.allclose(found, [shift, short], atol=6e-4)


def test_the_block_goes_towards_the_building_whatever_the_travel():
    wall = wall_of(np.sin(X / 9.0))
    drawn = offset_translated(wall, 12.0, (0.0, -1.0))
    back = Datum(np.zeros(2), np.array([-1.0, 0.0]), "straight edge")
    for line in (
        drawn,
        drawn.reversed(),
        drawn.with_(datum=back),
        drawn.reversed().with_(datum=back),
    ):
        found = undo_block(line, 12.0)
        assert np.allclose(np.sort(found.points[:, 0]), X)
        assert np.abs(nearest(found.points, wall.points).distance).max() < 1e-9


def test_refusals():
    wall = wall_of(np.zeros(len(X)))
    for undo in (undo_washer, undo_block):
        for size in (0.0, -3.0, float("nan")):
            with pytest.raises(ScribeError) as caught:
                undo(wall, size)
            assert caught.value.kind == "probe-size"
    across = Datum(np.zeros(2), np.array([0.0, 1.0]), "plumb line")
    with pytest.raises(ScribeError) as caught:
        undo_block(wall.with_(datum=across), 10.0)
    assert caught.value.kind == "probe-datum"
