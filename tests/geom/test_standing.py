"""Standing a box up: handbook triangles, a turned rectangle drawn step by step as the judge."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribe.geom.standing import (
    best_tipping,
    highest_stretch,
    lowest_over,
    spare_over_sweep,
    tallest_to_tip,
    tilt_diagonal,
)

LEVEL = np.array([[-9000.0, 2400.0], [9000.0, 2400.0]])


@pytest.mark.parametrize(
    ("height", "foot", "diagonal"), [(2400.0, 1000.0, 2600.0), (1980.0, 509.0, 2044.375)]
)
def test_the_diagonal_is_that_of_the_triangle(height: float, foot: float, diagonal: float) -> None:
    """5-12-13; sqrt(1980^2 + 509^2) = sqrt(4 179 481) = 2044.378, by hand."""
    assert tilt_diagonal(height, foot) == pytest.approx(diagonal, abs=0.005)
    assert float(tallest_to_tip(diagonal, foot)) == pytest.approx(height, abs=0.005)


def test_under_a_level_ceiling_the_diagonal_decides() -> None:
    spare, at = spare_over_sweep(LEVEL, 0.0, 500.0, 1, 2200.0, 600.0)
    assert spare == pytest.approx(2400.0 - np.hypot(2200.0, 600.0))
    assert at == pytest.approx(500.0)


def drawn(ceiling: np.ndarray, edge: float, lies: int, height: float, foot: float) -> float:
    """The least room over the corners and sides of the rectangle, turned in 721 steps."""
    along = np.linspace(0.0, 1.0, 60)
    sides = np.vstack([
        np.column_stack([height * along, np.full(60, foot)]),  # what lies up
        np.column_stack([np.full(60, height), foot * along]),  # the head
        np.column_stack([height * along, np.zeros(60)]),
    ])  # fmt: skip
    least = np.inf
    for turn in np.linspace(0.0, np.pi / 2, 721):
        x = np.cos(turn) * sides[:, 0] - np.sin(turn) * sides[:, 1]
        y = np.sin(turn) * sides[:, 0] + np.cos(turn) * sides[:, 1]
        least = min(least, float((np.interp(edge + lies * x, *ceiling.T) - y).min()))
    return least


@settings(max_examples=25)
@given(
    st.floats(-1.0, 1.0), st.floats(-1.0, 1.0), st.sampled_from([1, -1]),
    st.floats(800.0, 2300.0), st.floats(200.0, 900.0),
)  # fmt: skip
def test_a_rectangle_turned_step_by_step_agrees(
    first: float, second: float, lies: int, height: float, foot: float
) -> None:
    """A ceiling of two slopes over the edge. Between two of 721 steps a corner moves on by
    radius * 0.0022 and rises above its chord by radius * 0.0022^2 / 8 < 0.002 mm; between two
    corners of the ceiling the steepest slope 1 adds as much as the move along it.
    """
    ceiling = np.array([[-4000.0, 3000.0 - 4000.0 * first], [0.0, 3000.0],
                        [4000.0, 3000.0 + 4000.0 * second]])  # fmt: skip
    spare, _ = spare_over_sweep(ceiling, 0.0, 0.0, lies, height, foot)
    seen = drawn(ceiling, 0.0, lies, height, foot)
    step = np.hypot(height, foot) * np.pi / 2 / 720
    assert spare <= seen + 1e-9  # the circle is the worst there is
    assert seen - spare <= 1.5 * step + 0.01


def test_under_a_slope_it_is_tipped_where_the_ceiling_is_high() -> None:
    """Level to 1500, then falling at 45 degrees: lying away from the slope it clears it."""
    ceiling = np.array([[0.0, 2500.0], [3500.0, 2500.0], [4500.0, 1500.0]])
    found = best_tipping(ceiling, 0.0, 2300.0, 500.0, (0.0, 4500.0))
    assert found is not None
    assert found.spare == pytest.approx(2500.0 - np.hypot(2300.0, 500.0), abs=1e-6)
    assert lowest_over(ceiling, found.edge - 500.0, found.edge + 500.0)[0] == 2500.0


def test_it_must_lie_down_first() -> None:
    assert best_tipping(LEVEL, 0.0, 2300.0, 500.0, (0.0, 2799.0)) is None
    assert best_tipping(LEVEL, 0.0, 2300.0, 500.0, (0.0, 2800.0)) is not None


@settings(max_examples=40)
@given(st.lists(st.floats(1500.0, 2600.0), min_size=3, max_size=7), st.floats(100.0, 2500.0))
def test_no_stretch_is_higher(heights: list[float], width: float) -> None:
    """Against 500 places."""
    ceiling = np.column_stack([np.linspace(0.0, 3000.0, len(heights)), heights])
    left, low = highest_stretch(ceiling, width, (0.0, 3000.0))
    assert lowest_over(ceiling, left, left + width)[0] == pytest.approx(low)
    places = np.linspace(0.0, 3000.0 - width, 500)
    best = max(lowest_over(ceiling, float(x), float(x) + width)[0] for x in places)
    assert low >= best - 1e-9
