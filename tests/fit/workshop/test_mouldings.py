"""Mouldings at a spring angle: against printed values, solid geometry, and drawn errors."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribe.fit.workshop.mouldings import lying_flat, moulding_ends
from scribe.fit.workshop.sawn_ends import corner_deg
from scribe.opening import Opening
from scribe.saw import Moulding


@pytest.mark.parametrize(
    ("spring", "mitre", "bevel"), [(38.0, 31.62, 33.86), (45.0, 35.26, 30.00), (52.0, 38.24, 25.81)]
)
def test_a_square_corner_has_the_settings_of_the_trade(
    spring: float, mitre: float, bevel: float
) -> None:
    """What saws and mouldings have printed on them for 38, 45 and 52 degrees (from memory)."""
    assert np.abs(lying_flat(spring, 90.0)) == pytest.approx([mitre, bevel], abs=0.005)


def sawn(spring: float, corner: float) -> tuple[float, float]:
    """The same from a solid: a slab 100 mm wide and 20 thick leaning between wall and ceiling,
    its four long edges cut by the plumb plane that halves the corner, then laid on its back and
    measured: how far the ceiling's edge of the face reaches beyond the wall's, and the back's edge
    beyond the face's, square to the cut on the face.
    """
    s, half = np.radians(spring), np.radians(corner) / 2.0
    out_of_wall, up = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])
    rise = np.cos(s) * up + np.sin(s) * out_of_wall
    back = -np.cos(s) * out_of_wall + np.sin(s) * up
    # The plane through the corner, at x = 0 on the wall, that goes off into the room at C / 2 from
    # the wall, which comes from -x: reached where the point's x and y stand in that ratio.
    ends = {
        (a, b): (-(a * rise + b * back)[1] / np.tan(half))
        for a in (0.0, 100.0)
        for b in (0.0, 20.0)
    }
    ahead = ends[100.0, 0.0] - ends[0.0, 0.0]
    mitre = np.arctan2(ahead, 100.0)
    further = ends[0.0, 20.0] - ends[0.0, 0.0]
    return float(np.degrees(mitre)), float(np.degrees(np.arctan2(further * np.cos(mitre), 20.0)))


@given(st.floats(10.0, 80.0), st.floats(40.0, 320.0))
def test_a_solid_that_is_sawn_has_the_same_angles(spring: float, corner: float) -> None:
    if abs(corner - 180.0) > 1.0:
        assert lying_flat(spring, corner) == pytest.approx(sawn(spring, corner), abs=1e-6)


def test_u_is_what_the_settings_scatter_by() -> None:
    """4000 drawn pairs of spring and corner; a standard deviation is known to 1.1 % (1 sigma)."""
    rng = np.random.default_rng(3)
    (end,) = moulding_ends(
        Opening.square(1200, 2400, 350), [Moulding("cornice", 38.0, 0.25, 95.0, 0.4)]
    )
    drawn = np.array(
        [
            np.abs(lying_flat(*pair))
            for pair in zip(rng.normal(38.0, 0.25, 4000), rng.normal(95.0, 0.4, 4000), strict=True)
        ]
    )
    assert (end.mitre_u_deg, end.bevel_u_deg) == pytest.approx(drawn.std(axis=0), rel=0.04)
    assert end.hung_deg == pytest.approx(42.5)
    assert end.hung_u_deg == pytest.approx(0.2)


def test_without_a_corner_both_of_the_opening_are_worked_out() -> None:
    """The left wall splays by 20 mm over 400, 2.862 degrees: its corner opens by as much."""
    room = replace(Opening.square(1200, 2400, 400), left=(0.0, 0.0, 20.0, 20.0))
    left, right = moulding_ends(room, [Moulding("cornice", 45.0, 0.25)])
    assert (left.name, right.name) == (
        "cornice, left wall and back",
        "cornice, right wall and back",
    )
    opened = np.degrees(np.arctan(20.0 / 400.0))
    assert corner_deg(room, "left") == pytest.approx(90.0 + opened, abs=1e-6)
    assert (left.corner_deg, right.corner_deg) == pytest.approx((90.0 + opened, 90.0))
    assert left.longer == "the wall's edge and the back"
    assert left.corner_u_deg > 0.01


def test_round_a_breast_the_other_edge_is_the_longer() -> None:
    (end,) = moulding_ends(
        Opening.square(1200, 2400, 350), [Moulding("cornice", 38.0, 0.25, 270.0, 0.25)]
    )
    assert end.longer == "the ceiling's edge and the face"
    assert lying_flat(38.0, 270.0)[0] > 0.0  # it reaches further at the ceiling
    assert end.mitre_deg == pytest.approx(31.62, abs=0.005)
