"""Undoing the tips, on pins placed by arithmetic: no picture, no noise."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribe.capture.gauge.contact import Surface, contact_surface
from scribe.capture.gauge.find import Frame
from scribe.capture.gauge.tip import Shape
from scribe.capture.gauge.tips import Tips
from tests.capture.comb import Array, Wall

PITCH = 1.27
ROUND = Shape(flat=0.0, round=0.6, u=0.0, known=True)
FLAT = Shape(flat=0.6, round=0.01, u=0.0, known=True)


def pushed(wall: Wall, shape: Shape, pins: int = 31) -> Tips:
    """Pins stopped where the first point of their tip meets the wall, found on a fine grid."""
    s = (np.arange(pins) - pins // 2) * PITCH
    reach = shape.flat + shape.round
    off = np.linspace(-reach, reach, 4001)
    apex = (wall(s[:, None] + off) + shape.drop(off)).min(axis=1)
    still = np.full(pins, 0.005)
    return Tips(Frame(np.zeros(2), 0.0), s, apex, still, np.arange(pins), PITCH, shape)


def heights(surface: Surface, wall: Wall) -> Array:
    """How far the points lie above the wall, measured along t."""
    return np.asarray(surface.points[:, 1] - wall(surface.points[:, 0]))


@pytest.mark.parametrize("shape", [ROUND, FLAT])
@pytest.mark.parametrize("slope", [-1.0, -0.3, 0.0, 0.2, 1.0])
def test_a_straight_wall_comes_back_at_any_slope(shape: Shape, slope: float) -> None:
    """A straight line is unchanged by opening and closing (mathematical morphology).

    Tolerance: the grid of the pushed pins, 0.3 um, and the corners of FLAT, 0.01 mm round.
    """
    surface = contact_surface(pushed(lambda s: slope * s, shape), 0.5 * PITCH)
    assert np.abs(heights(surface, lambda s: slope * s)).max() < 1e-3
    assert surface.measured.all()


def test_a_flat_pin_on_a_slope_stands_back_by_half_its_width_times_the_slope() -> None:
    """p m / 2 for a pin of width p: geometry of the corner that touches."""
    sharp = Shape(flat=PITCH / 2, round=1e-6, u=0.0, known=True)
    tips = pushed(lambda s: 0.8 * s, sharp)
    assert np.allclose(tips.t, 0.8 * tips.s - PITCH * 0.8 / 2, atol=1e-4)
    surface = contact_surface(tips, PITCH)
    assert np.abs(heights(surface, lambda s: 0.8 * s)).max() < 1e-3


def test_a_round_pin_on_a_slope_stands_back_by_its_parallel_curve() -> None:
    """r (sqrt(1 + m^2) - 1) along t: 0.6 * (sqrt(2) - 1) = 0.2485 for a slope of 1."""
    tips = pushed(lambda s: 1.0 * s, ROUND)
    assert np.allclose(tips.s - tips.t, 0.2485, atol=1e-4)


def test_a_groove_is_as_deep_as_the_tip_reaches() -> None:
    """A disk of radius R in a V of half angle b rests R (1 / sin b - 1) above its apex: for
    b = 45 degrees 0.41421 R. Here the wall is above, the groove opens downwards.
    """
    tips = pushed(lambda s: -np.abs(s), ROUND)
    middle = len(tips.s) // 2
    assert tips.t[middle] == pytest.approx(-0.41421 * 0.6, abs=1e-3)
    surface = contact_surface(tips, 0.25 * PITCH)
    near = np.abs(surface.points[:, 0]) < 2 * PITCH
    missed = np.abs(heights(surface, lambda s: -np.abs(s)))[near] / np.sqrt(2.0)
    assert (missed < 2.0 * surface.u[near]).mean() > 0.9


@given(
    st.floats(0.2, 1.5), st.floats(22.0, 50.0), st.floats(0.0, 6.2), st.sampled_from([ROUND, FLAT])
)
def test_waves_that_the_tip_can_follow_come_back(
    swing: float, wave: float, phase: float, shape: Shape
) -> None:
    """y = A cos(2 pi x / L) is unchanged by a disk of R <= L^2 / (4 pi^2 A): here R <= 8."""

    def wall(s: Array) -> Array:
        return np.asarray(swing * np.cos(2 * np.pi * s / wave + phase))

    surface = contact_surface(pushed(wall, shape), 0.5 * PITCH)
    missed = np.abs(heights(surface, wall))
    # Cubic interpolation over at most two pitches of a curve bent by A (2 pi / L)^2.
    bend = swing * (2 * np.pi / wave) ** 2
    assert missed.max() < 0.01 + 0.2 * bend * PITCH**2
    assert (missed < 2.0 * surface.u).mean() > 0.94


@pytest.mark.parametrize("shape", [ROUND, FLAT])
@pytest.mark.parametrize("place", [-0.6, -0.2, 0.1, 0.5])
@pytest.mark.parametrize("rise", [5.0, -5.0])
def test_a_step_lies_within_a_pitch_and_its_levels_are_kept(
    shape: Shape, place: float, rise: float
) -> None:
    surface = contact_surface(pushed(lambda s: np.where(s > place, rise, 0.0), shape), 0.5 * PITCH)
    edge = surface.points[~surface.measured]
    assert surface.steps == 1
    assert len(edge) == 2
    assert np.abs(edge[:, 0] - place).max() < PITCH / 2 + 0.02
    level = np.minimum(np.abs(surface.points[:, 1]), np.abs(surface.points[:, 1] - rise))
    assert np.quantile(level, 0.95) < 0.05


def test_a_missing_pin_leaves_a_hole_that_is_not_measured() -> None:
    tips = pushed(lambda s: 0.02 * s**2, ROUND)
    keep = ~np.isin(tips.index, [10, 11, 12])
    tips = Tips(
        tips.frame, tips.s[keep], tips.t[keep], tips.u[keep], tips.index[keep], PITCH, ROUND
    )
    surface = contact_surface(tips, 0.5 * PITCH)
    hole = (surface.points[:, 0] > tips.s[9] + 0.7) & (surface.points[:, 0] < tips.s[10] - 0.7)
    assert hole.any()
    assert not surface.measured[hole].any()
    assert surface.u[hole].min() > 2 * np.median(surface.u)
