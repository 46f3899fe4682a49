"""Section properties against handbook formulas and against summing up thin layers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribe.geom.section import Part, bending_stiffness


def test_a_tee_of_one_material() -> None:
    # Handbook example by the parallel-axis theorem: flange 100 x 20 on a web 20 x 80.
    # axis = (2000 x 90 + 1600 x 40) / 3600 = 67.778 from the foot;
    # I = 100 x 20^3/12 + 2000 x 22.222^2 + 20 x 80^3/12 + 1600 x 27.778^2 = 3 142 222 mm^4.
    tee = [Part(100.0, 20.0, 90.0, 1.0), Part(20.0, 80.0, 40.0, 1.0)]
    assert bending_stiffness(tee) == pytest.approx(3_142_222.2, abs=0.1)


def test_two_equal_boards_glued_are_eight_times_as_stiff_as_one() -> None:
    one = Part(200.0, 18.0, 9.0, 3000.0)
    glued = [one, one._replace(middle=27.0)]
    assert bending_stiffness(glued) == pytest.approx(8 * bending_stiffness([one]))


@given(st.floats(5, 40), st.floats(5, 80), st.floats(2, 20), st.floats(0.1, 80))
def test_against_thin_layers(thick: float, high: float, broad: float, ratio: float) -> None:
    # A board with a strip under it, summed as 4000 layers of E b dy (y - axis)^2.
    parts = [Part(300.0, thick, thick / 2, 1.0), Part(broad, high, -high / 2, ratio)]
    y = np.linspace(-high, thick, 8001)
    middle, dy = (y[1:] + y[:-1]) / 2, np.diff(y)
    width = np.where(middle > 0, 300.0, broad * ratio) * dy
    axis = (width * middle).sum() / width.sum()
    layers = float((width * (middle - axis) ** 2).sum())
    # One layer lies across the joint: at most dy of the whole width is misjudged.
    assert bending_stiffness(parts) == pytest.approx(layers, rel=0.02)
