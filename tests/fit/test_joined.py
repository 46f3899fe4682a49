"""Marks joined by a straight edge or a batten stand for the cut line within the tolerance."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline

from scribe.fit.joined import marks
from scribe.piece import Marks

HALF = 0.1  # of the tolerance of 0.3 mm, a tenth of rounding taken off


def joined(found: Marks, at: np.ndarray) -> np.ndarray:
    if found.join == "batten":
        return CubicSpline(found.station, found.remove, bc_type="natural")(at)
    return np.interp(at, found.station, found.remove)


def test_a_straight_cut_needs_its_two_ends() -> None:
    for join in ("straight edge", "batten"):
        found = marks(np.array([0.0, 800.0]), np.array([5.0, 9.0]), join)
        assert found.station.tolist() == [0.0, 800.0]
        assert found.remove == pytest.approx([4.9, 8.9])  # stood off by a tenth: rounded down


def test_an_arc_needs_as_many_as_its_sagitta_says() -> None:
    """Sagitta h of a chord c on radius R: h = R - sqrt(R^2 - c^2/4) (closed form).

    R = 5000 mm and h = 0.1 mm give c = 63.2 mm, so 600 mm need 10 chords: 11 marks. Samples
    lie 2 mm apart, so that a chord is 62 mm: 9.7 of them.
    """
    s = np.arange(0.0, 600.5, 0.5)
    r = np.sqrt(5000.0**2 - (s - 300.0) ** 2) - 4980.0
    found = marks(s, r, "straight edge")
    assert len(found.station) == 11
    assert len(marks(s, r, "batten").station) <= 6  # a batten bends by nature


@given(st.lists(st.floats(0.5, 6.0), min_size=4, max_size=7))
@settings(max_examples=30, deadline=None)
def test_no_smaller_set_of_its_corners_would_do(heights: list[float]) -> None:
    """Exhaustive search over all subsets of the profile's own corners."""
    s = np.arange(0.0, len(heights))  # corners on whole millimetres, where marks may stand
    r = np.array(heights)
    found = marks(s, r, "straight edge")
    inner = range(1, len(s) - 1)
    for count in range(len(s) - 1):
        for some in combinations(inner, count):
            at = [0, *some, len(s) - 1]
            if np.abs(np.interp(s, s[at], r[at]) - r).max() <= HALF:
                assert len(found.station) <= len(at)
                return


@given(
    st.lists(st.floats(0.0, 12.0), min_size=3, max_size=9),
    st.sampled_from(["straight edge", "batten"]),
    st.floats(0.25, 1.0),
)
@settings(max_examples=40, deadline=None)
def test_the_joined_line_never_takes_too_much(heights, join, tolerance: float) -> None:
    s = np.linspace(0.0, 400.0, 161)
    r = 1.0 + CubicSpline(np.linspace(0.0, 400.0, len(heights)), heights)(s).clip(0.0)
    found = marks(s, r, join, tolerance)
    left = r - joined(found, s)
    assert left.min() >= -1e-9
    assert left.max() <= tolerance + 1e-9
    assert found.most_left == pytest.approx(left.max(), abs=0.05)
