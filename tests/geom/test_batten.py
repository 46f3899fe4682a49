"""The batten against SciPy's natural cubic spline, and against a bent beam by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribe.geom.batten import batten

gaps = st.lists(st.floats(1.0, 400.0), min_size=1, max_size=12)


@given(gaps, st.integers(0, 1000))
def test_is_the_natural_cubic_spline(apart: list[float], seed: int) -> None:
    # Source: scipy.interpolate.CubicSpline, bc_type "natural", an independent implementation.
    from scipy.interpolate import CubicSpline

    marks = np.concatenate([[0.0], np.cumsum(apart)])
    offsets = np.random.default_rng(seed).uniform(-5.0, 5.0, len(marks))
    at = np.linspace(0.0, marks[-1], 57)
    expected = CubicSpline(marks, offsets, bc_type="natural")(at)
    assert batten(marks, offsets, at) == pytest.approx(expected, abs=1e-9)


def test_three_marks_bend_like_a_beam_loaded_in_its_middle() -> None:
    # A simply supported beam, span 2, pushed 1 aside in its middle: at a quarter of the span it
    # is at (3 x L^2 - 4 x^3) / L^3 = (3 * 0.5 * 4 - 4 * 0.125) / 8 = 0.6875 (beam theory).
    assert batten(np.array([0.0, 1, 2]), np.array([0.0, 1, 0]), np.array([0.5]))[0] == 0.6875


def test_several_battens_at_once_are_each_what_it_is_alone() -> None:
    rng = np.random.default_rng(3)
    marks = np.cumsum(rng.uniform(1.0, 90.0, (5, 7)), axis=1)
    offsets, at = rng.uniform(-5.0, 5.0, (5, 7)), np.linspace(91.0, 92.0, 4)
    together = batten(marks, offsets, at)
    for k in range(5):
        assert together[k] == pytest.approx(batten(marks[k], offsets[k], at), abs=1e-12)
