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
        # The middle, and an end that leans by sin = 150 / 1000; the line through 2001 points hardly
        # moves with either.
        assert found.u_t == pytest.approx(0.03 * np.sqrt(1 + 1 - 0.15**2), rel=0.004)


def test_unmeasured_points_do_not_count_and_two_are_too_few():
    wall = Outline(np.column_stack([X, CROWN]), np.zeros(len(X)), "right")
    half = wall.with_(measured=np.abs(X) < 75.0)
    # The sagitta of the half chord: R - sqrt(R^2 - 75^2), less one spacing on either side.
    assert straightness_of(half).t_minimum_zone == pytest.approx(2.8166, abs=0.02)
    with pytest.raises(ScribeError) as caught:
        straightness_of(wall.with_(measured=np.arange(len(X)) < 2))
    assert caught.value.kind == "straightness-points"


def test_what_moves_or_turns_the_whole_is_not_in_its_straightness():
    """u equals the change of STRt for one cause alone, by differences; a turn changes nothing."""
    x = np.linspace(0.0, 200.0, 101)
    points = np.column_stack([x, 40.0 + 0.05 * x + 2.0 * np.sin(x / 18.0)])
    modes = {
        "shift": np.tile([0.1, 0.2], (101, 1)),
        "turn": 1e-3 * np.column_stack([-points[:, 1], points[:, 0]]),
        "bend": np.column_stack([np.zeros(101), 1e-5 * (x - 70.0) ** 2]),
        "stretch": points * [0.0, 0.003],
    }
    for name, mode in modes.items():
        u = np.hypot(*mode.T)
        wall = Outline(points, u, "right", budget={"pose": u}, shared={"pose": mode[None]})
        ahead, behind = (
            straightness_of(wall.with_(points=points + step * mode)).t for step in (0.01, -0.01)
        )
        change = abs(ahead - behind) / 0.02
        assert straightness_of(wall).u_t == pytest.approx(change, rel=0.01, abs=2e-5)
        assert (change > 1e-3) == (name in ("bend", "stretch"))
