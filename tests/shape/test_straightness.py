from __future__ import annotations

import numpy as np
import pytest

from scribe.errors import ScribeError
from scribe.outline import Outline
from scribe.shape.straightness import straightness_of

# Radius 1000 over a chord of 300 (ISO 12780-1 parameters; sagitta and mean by plane geometry).
X = np.linspace(-150.0, 150.0, 2001)
CROWN = np.sqrt(1000.0**2 - X**2) - np.sqrt(1000.0**2 - 150.0**2)


@pytest.mark.parametrize("solid", ["left", "right"])
def test_a_peak_stands_out_of_the_building(solid: str):
    bulge = CROWN if solid == "right" else -CROWN  # into the room either way
    wall = Outline(np.column_stack([X, bulge]), np.full(len(X), 0.03), solid)
    for travelled in (wall, wall.reversed()):
        found = straightness_of(travelled)
        assert found.p == pytest.approx(3.763, abs=0.005)
        assert found.v == pytest.approx(7.551, abs=0.005)
        assert found.t_minimum_zone == pytest.approx(11.314, abs=1e-3)
        assert found.u_t == pytest.approx(0.03 * np.sqrt(2))


def test_unmeasured_points_do_not_count_and_two_are_too_few():
    wall = Outline(np.column_stack([X, CROWN]), np.zeros(len(X)), "right")
    half = wall.with_(measured=np.abs(X) < 75.0)
    # The sagitta of the half chord: R - sqrt(R^2 - 75^2), less one spacing on either side.
    assert straightness_of(half).t_minimum_zone == pytest.approx(2.8166, abs=0.02)
    with pytest.raises(ScribeError) as caught:
        straightness_of(wall.with_(measured=np.arange(len(X)) < 2))
    assert caught.value.kind == "straightness-points"
