"""Match marks: which lines run on when a sheet lies off by a step."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribe.output.sheets.match_marks import HALF_MM, STEP_MM, MatchMark, combs


def breaks(shift: tuple[float, float]) -> np.ndarray:
    """(2, 3) mm along the joint by which each line is broken, the lower sheet shifted so."""
    upper, lower = combs(upper=True), combs(upper=False) + np.array(shift)
    slope = (lower[..., 1, 0] - lower[..., 0, 0]) / (lower[..., 1, 1] - lower[..., 0, 1])
    meets = lower[..., 0, 0] - slope * lower[..., 0, 1]
    return np.asarray(meets - upper[..., 0, 0])


def test_the_middle_lines_run_on_when_it_lies_right() -> None:
    assert breaks((0.0, 0.0))[:, 1] == pytest.approx([0.0, 0.0], abs=1e-12)
    assert np.abs(breaks((0.0, 0.0))[:, [0, 2]]) == pytest.approx(STEP_MM)


@pytest.mark.parametrize("shift", [(0.3, 0.0), (-0.3, 0.0), (0.0, 0.3), (0.0, -0.3)])
def test_an_outer_line_of_each_comb_runs_on_0_3_mm_off(shift: tuple[float, float]) -> None:
    found = np.abs(breaks(shift))
    assert found[:, [0, 2]].min(axis=1) == pytest.approx([0.0, 0.0], abs=1e-9)
    assert found[:, 1] == pytest.approx([0.3, 0.3])


@given(st.floats(0.3, 1.0), st.floats(0.0, 2 * np.pi))
def test_no_way_of_lying_off_is_hidden(size: float, angle: float) -> None:
    """|t| + |n| >= size: some middle line is broken by no less than the shift itself."""
    found = np.abs(breaks((size * np.cos(angle), size * np.sin(angle))))
    assert found[:, 1].max() >= size - 1e-9


def test_both_halves_stay_in_the_mark_and_apart() -> None:
    for upper in (True, False):
        left, right = combs(upper=upper)
        assert left[..., 0].max() < right[..., 0].min()
        assert np.abs(combs(upper=upper)[..., 0]).max() <= HALF_MM
    mark = MatchMark("A", np.array([100.0, 50.0]), np.array([0.0, 1.0]))
    assert mark.place(np.array([2.0, 3.0])).tolist() == [103.0, 52.0]
    flat = MatchMark("A", np.array([100.0, 50.0]), np.array([1.0, 0.0]))
    assert flat.place(np.array([2.0, 3.0])).tolist() == [102.0, 47.0]
