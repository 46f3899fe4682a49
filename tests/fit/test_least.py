"""Least removal as a linear programme, against lines whose best position is known."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribe.fit.least import lay, lay_straight
from scribe.geom.line_fit import minimum_zone_line
from scribe.job import Least


def curve(f, first: float, last: float) -> np.ndarray:
    x = np.linspace(first, last, 4001)
    return np.column_stack([x, f(x)])


# Best straight lines in the sense of Chebyshev (textbook results, recomputed by hand from the
# alternation: f' at the inner point equals the chord's slope). Removals are vertical there and
# square to the edge here; over 1000 mm a slope of 0.001 changes them by a millionth.
CHEBYSHEV = [
    (lambda x: x**2, (0.0, 1.0), 1.0, 1.0 / 8.0, [0.0, 0.5, 1.0]),
    (np.sqrt, (0.0, 1.0), 1.0, 1.0 / 8.0, [0.0, 0.25, 1.0]),
    (np.sin, (0.0, np.pi / 2), 0.63661977, 0.10525683, [0.0, 0.88068924, np.pi / 2]),
    (np.exp, (0.0, 1.0), 1.71828183, 0.10593342, [0.0, 0.54132485, 1.0]),
]


@pytest.mark.parametrize(("f", "span", "slope", "error", "stations"), CHEBYSHEV)
def test_lines_of_chebyshev(f, span, slope: float, error: float, stations: list[float]) -> None:
    front = curve(f, *span) * [1000.0, 1.0]
    ends = 1000.0 * span[0], 1000.0 * span[1]
    held = lay(front, ends, "largest")
    assert 1000.0 * np.tan(held.turn) == pytest.approx(slope, abs=1e-5)
    assert held.largest == pytest.approx(2 * error, abs=1e-5)
    # The curve is sampled every 0.4 mm of 1571 at most, and flat where it is met.
    assert held.deciding == pytest.approx(np.array(stations) * 1000.0 - ends[0], abs=0.5)
    zone = minimum_zone_line(front)  # the same line by the convex hull, ISO 12780-1
    assert held.turn == pytest.approx(np.arctan2(zone.direction[1], zone.direction[0]), abs=1e-8)


@given(
    st.lists(st.floats(-0.02, 0.02), min_size=3, max_size=12), st.sampled_from(["largest", "total"])
)
def test_no_line_through_two_of_its_points_is_better(heights: list[float], least: Least) -> None:
    """Brute force. A linear programme has its optimum at a corner, so the best edge is parallel to
    a line through two points of the front: all of them are tried. Heights of 0.02 mm on 600 turn
    the edge by less than 1e-4, whose cosine is 1 to 1e-8.
    """
    x = np.linspace(0.0, 600.0, len(heights))
    y = np.array(heights)
    best = np.inf
    for i, j in itertools.combinations(range(len(x)), 2):
        rest = (y[j] - y[i]) / (x[j] - x[i]) * x - y
        rest -= rest.min()
        best = min(best, rest.max() if least == "largest" else float(np.trapezoid(rest, x)) / 600.0)
    found = lay(np.column_stack([x, y]), (0.0, 600.0), least)
    # The solver keeps its bounds to 1e-7; the front's ends move by 600 (1 - cos 1e-4) = 3e-6.
    assert (found.largest if least == "largest" else found.mean) == pytest.approx(best, abs=1e-6)


def test_total_rests_on_the_support_under_the_middle() -> None:
    """By hand: a hat of 6 mm at 200 of 600. The area is least where the edge rests on the two
    corners whose span holds the middle (300): the hat's tip and the right end.
    """
    front = np.array([[-50.0, 0.0], [0.0, 0.0], [200.0, 6.0], [600.0, 0.0], [650.0, 0.0]])
    found = lay(front, (0.0, 600.0), "total")
    assert np.tan(found.turn) == pytest.approx(-6.0 / 400.0, abs=2e-4)
    assert lay_straight(front, (0.0, 600.0)).mean == pytest.approx(3.0)
    assert found.mean == pytest.approx(0.5 * 9.0 * 200.0 / 600.0, abs=0.05)


def test_an_overhang_counts_by_its_lowest_part() -> None:
    front = [[-10, 0], [200, 0], [100, 30], [300, 30], [300, 0], [610, 0]]
    found = lay_straight(np.array(front, float), (0.0, 600.0))
    # Over 200..300 the building starts at 30 mm; over 100..200 its underside hides the slope.
    assert found.largest == pytest.approx(30.0, abs=1e-6)
    assert 200.0 <= found.deciding[0] <= 300.0
