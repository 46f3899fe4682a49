"""Material left between two stretches of a border, against arithmetic and shapely."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribe.geom.webs import thinnest_web


def slotted(width: float, left: float, slot: float, deep: float) -> tuple[np.ndarray, np.ndarray]:
    """A board of 200 mm height with a slot from its top, and the slot's own border."""
    right = left + slot
    cut = np.array([[right, 200.0], [right, 200 - deep], [left, 200 - deep], [left, 200.0]])
    ring = np.vstack([[[0.0, 0.0], [width, 0.0], [width, 200.0]], cut, [[0.0, 200.0]]])
    return ring, cut


@given(st.floats(2.0, 9.9), st.floats(12.0, 60.0), st.floats(60.0, 150.0))
@settings(max_examples=25)
def test_a_tongue_is_as_wide_as_it_is(web: float, slot: float, deep: float) -> None:
    """Between slot and end: `web` mm; to the other end and below it is far more."""
    found, at = thinnest_web(*slotted(300.0, web, slot, deep), 10.0)
    assert found == pytest.approx(web, abs=1e-6)
    assert 0.0 < at[0] < web


def test_corners_are_no_webs() -> None:
    """A slot in the middle of a board: its mouth's corners are sharp, and nothing is thin."""
    found, _ = thinnest_web(*slotted(300.0, 130.0, 30.0, 100.0), 10.0)
    assert found > 10.0


def test_wood_below_a_deep_slot() -> None:
    """The slot ends 7 mm above the lower edge."""
    found, at = thinnest_web(*slotted(300.0, 130.0, 30.0, 193.0), 10.0)
    assert found == pytest.approx(7.0, abs=1e-6)
    assert at[1] == pytest.approx(3.5, abs=0.5)
