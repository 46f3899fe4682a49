"""Least removal as a linear programme, against lines whose best position is known."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribe.fit.least import lay, lay_straight
from scribe.geom.line_fit import minimum_zone_line


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


@given(st.lists(st.floats(-20.0, 20.0), min_size=3, max_size=12), st.floats(-0.2, 0.2))
def test_no_other_turn_takes_less(heights: list[float], turn: float) -> None:
    """Brute force: turned by any other angle about its middle and touching, it loses more."""
    x = np.linspace(-100.0, 700.0, len(heights))
    front = np.column_stack([x, heights])
    found = lay(front, (0.0, 600.0), "largest")
    cosine, sine = np.cos(found.turn + turn), np.sin(found.turn + turn)
    away = front - [300.0, 0.0]
    dense = np.column_stack(
        [np.interp(np.arange(-400.0, 401.0), away[:, 0], away[:, k]) for k in (0, 1)]
    )
    along, depth = dense @ [cosine, sine], dense @ [-sine, cosine]
    within = np.abs(along) <= 300.0
    assert np.ptp(depth[within]) >= found.largest * (1.0 - 1e-3) - 0.3


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
