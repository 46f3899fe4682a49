"""Marks go to the half millimetres of a tape where nothing is cut into by that."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribe.fit.marks.joined import marks
from scribe.fit.marks.on_tape import on_tape
from tests.fit.marks.test_joined import joined


@given(
    st.lists(st.floats(0.2, 9.0), min_size=3, max_size=8),
    st.lists(st.floats(13.0, 61.0), min_size=7, max_size=7),
    st.tuples(st.booleans(), st.booleans()),
)
@settings(max_examples=60)
def test_marks_go_to_the_tape_where_none_then_cuts_into_the_piece(
    heights: list[float], steps: list[float], out: tuple[bool, bool]
) -> None:
    """Corners at any fraction of a millimetre: stations in halves, or as they were.

    Where the profile may be passed it goes on level; there a mark stands no deeper than its end.
    """
    s = 0.13 + np.cumsum([0.0, *steps])[: len(heights)]
    r = np.array(heights)
    before = marks(s, r, "batten")
    found = on_tape(before, s, r, out=out)
    halves = found.station * 2 % 1 == 0
    assert (halves | np.isin(found.station, before.station)).all()
    assert found.most_left < before.most_left + 0.5 * np.abs(np.diff(r) / np.diff(s)).max() + 0.11
    at = np.unique(np.concatenate([np.linspace(found.station[0], found.station[-1], 900), s]))
    at = at[(at >= found.station[0]) & (at <= found.station[-1])]
    # Between the places looked at, 2 mm apart, a batten sags by a hair.
    assert (joined(found, at) - np.interp(at, s, r)).max() < 0.02
    assert found.station[0] <= s[0] if out[0] else found.station[0] >= s[0] - 1e-9
    assert found.station[-1] >= s[-1] if out[1] else found.station[-1] <= s[-1] + 1e-9
    assert found.remove * 10 == pytest.approx(np.round(found.remove * 10), abs=1e-6)


def test_the_ends_of_a_gentle_line_go_to_the_tape_towards_the_waste() -> None:
    """Inner marks stand on whole millimetres; an end goes out to the half before or after it."""
    s = np.array([4.37, 101.37, 233.81, 499.13])
    r = np.array([3.0, 5.0, 4.2, 6.4])
    found = on_tape(marks(s, r, "straight edge"), s, r, out=(True, True))
    assert (found.station * 2 % 1 == 0).all()
    assert (found.station[0], found.station[-1]) == (4.0, 499.5)
    within = on_tape(marks(s, r, "straight edge"), s, r, out=(False, False))
    assert (within.station[0], within.station[-1]) == (4.5, 499.0)
    assert max(found.most_left, within.most_left) <= 0.4 + 1e-9  # a tenth lower, to make room
