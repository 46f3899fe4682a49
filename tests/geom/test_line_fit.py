from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage.measure import LineModelND

from scribe.geom.frames import turned
from scribe.geom.line_fit import convex_hull, least_squares_line, minimum_zone_line, straightness

HEIGHTS = st.lists(st.floats(-3, 3), min_size=3, max_size=30)


def profile(heights: list[float]) -> np.ndarray:
    return np.column_stack([np.arange(len(heights), dtype=float) * 2.0, heights])


def on(function, stop: float, n: int = 4001) -> np.ndarray:
    x = np.linspace(0.0, stop, n)
    return np.column_stack([x, function(x)])


# Best line in the Chebyshev sense: (slope, intercept, error), each from setting the error equal at
# both ends and at the place where the derivative equals the slope of the chord (textbook).
# The functions are convex or concave, so that the minimum-zone line is parallel to the chord
# too, and its zone is 2 * error * cos(slope angle).
CHEBYSHEV = [
    (np.square, 1.0, 1.0, -1 / 8, 1 / 8),
    (np.sqrt, 1.0, 1.0, 1 / 8, 1 / 8),
    (np.sin, np.pi / 2, 0.63661977, 0.10525683, 0.10525683),
    (np.exp, 1.0, 1.71828183, 0.89406658, 0.10593342),
]


@pytest.mark.parametrize(("function", "stop", "slope", "intercept", "error"), CHEBYSHEV)
def test_minimum_zone_is_the_best_line_of_chebyshev(function, stop, slope, intercept, error):
    points = on(function, stop)
    line = minimum_zone_line(points)
    found = line.direction[1] / line.direction[0]
    # A sampled curve misses its extreme by at most h^2 / 8 * |f''|; sqrt is steep at 0: 1e-6 holds.
    assert found == pytest.approx(slope, abs=1e-6)
    assert line.point[1] - found * line.point[0] == pytest.approx(intercept, abs=1e-6)
    zone = np.ptp(line.deviations(points))
    assert zone == pytest.approx(2 * error / np.hypot(1, slope), abs=1e-6)


def test_five_points_by_hand():
    # Hull (0,0) (1,1) (4,0): its strips are 1, 4 / sqrt(10) and 4 / sqrt(2) wide.
    points = profile([0, 1, 0, 0, 0]) / [2, 1]
    line = minimum_zone_line(points)
    assert np.allclose(line.direction, [1, 0])
    assert line.point[1] == pytest.approx(0.5)


def test_straightness_of_an_arc():
    # Radius 1000 over a chord of 300: the zone is the sagitta, R - sqrt(R^2 - (c/2)^2).
    # Least squares through 20001 even stations: +3.76314 / -7.55087 (mean height and crown).
    x = np.linspace(-150.0, 150.0, 20001)
    arc = np.column_stack([x, np.sqrt(1000.0**2 - x**2) - np.sqrt(1000.0**2 - 150.0**2)])
    found = straightness(arc)
    assert found.t_minimum_zone == pytest.approx(11.314003, abs=1e-6)
    assert found.p == pytest.approx(3.76314, abs=1e-4)
    assert found.v == pytest.approx(7.55087, abs=1e-4)
    assert found.t == pytest.approx(found.p + found.v)
    assert found.highest == 10000
    assert found.lowest in (0, 20000)
    # q of a parabola of height h about its mean: h * sqrt(4 / 45); the arc differs by (c/R)^2.
    assert found.q == pytest.approx(11.314 * np.sqrt(4 / 45), rel=0.01)


@given(HEIGHTS)
def test_least_squares_equals_another_library(heights: list[float]):
    points = profile(heights)
    line = least_squares_line(points)
    other = LineModelND.from_estimate(points)
    ours, theirs = line.deviations(points), other.residuals(points)
    assert (ours**2).sum() == pytest.approx((theirs**2).sum(), abs=1e-8)


@given(HEIGHTS)
def test_minimum_zone_is_never_wider_and_touches_both_sides(heights: list[float]):
    found = straightness(profile(heights))
    assert found.t_minimum_zone <= found.t + 1e-9
    # No strip at any of 2000 angles is narrower: the definition, by brute force.
    angle = np.linspace(0, np.pi, 2000)
    across = profile(heights) @ np.array([-np.sin(angle), np.cos(angle)])
    assert found.t_minimum_zone <= np.ptp(across, axis=0).min() + 1e-9
    deviation = minimum_zone_line(profile(heights)).deviations(profile(heights))
    assert deviation.max() == pytest.approx(-deviation.min(), abs=1e-9)


@given(HEIGHTS, st.floats(-3, 3))
def test_turning_the_profile_turns_the_line(heights: list[float], angle: float):
    points, move = profile(heights), turned(angle, (5.0, -7.0))
    for fit in (least_squares_line, minimum_zone_line):
        one, other = fit(points), fit(move.apply(points))
        same = one.deviations(points), other.deviations(move.apply(points))
        assert np.ptp(same[0]) == pytest.approx(np.ptp(same[1]), abs=1e-7)


@given(HEIGHTS)
def test_hull_equals_another_library(heights: list[float]):
    import shapely

    hull = convex_hull(profile(heights))
    other = shapely.convex_hull(shapely.multipoints(profile(heights)))
    if len(hull) > 2:
        assert shapely.area(shapely.Polygon(hull)) == pytest.approx(shapely.area(other), abs=1e-9)
