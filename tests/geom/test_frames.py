from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from scribe.geom.frames import outer_from_axis, turned

NUMBER = st.floats(-1000, 1000)


@given(NUMBER, NUMBER, st.floats(-4, 4), NUMBER, NUMBER)
def test_the_way_there_and_back_is_no_way(x: float, y: float, turn: float, px: float, py: float):
    a_from_b = turned(turn, (x, y))
    b_from_c = outer_from_axis((py, px), (np.cos(x), np.sin(x)))
    there = (a_from_b @ b_from_c).apply((px, py))
    assert np.allclose(there, a_from_b.apply(b_from_c.apply((px, py))), atol=1e-9)
    back = (a_from_b @ b_from_c).inverse().apply(there)
    assert np.allclose(back, (px, py), atol=1e-9)


def test_a_frame_is_never_a_mirror():
    frame = outer_from_axis((3.0, 4.0), (-1.0, 2.0))
    assert np.isclose(np.linalg.det(frame.rotation), 1.0)
    assert np.allclose(frame.apply((0.0, 0.0)), (3.0, 4.0))
    assert np.allclose(frame.turn((0.0, 1.0)), np.array([-2.0, -1.0]) / np.sqrt(5))
