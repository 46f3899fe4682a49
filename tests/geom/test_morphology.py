from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scribe.geom import morphology as m

HEIGHTS = st.lists(st.floats(-5, 5), min_size=3, max_size=40)
X = np.arange(-60.0, 60.001, 0.1)


def dilated(x: np.ndarray, z: np.ndarray, radius: float, at: np.ndarray) -> np.ndarray:
    """Height of the centre of a disc that rests on the samples, above places `at`."""
    away = at[:, None] - x
    rise = np.sqrt(np.maximum(radius**2 - away**2, 0.0))
    return np.where(np.abs(away) <= radius, z + rise, -np.inf).max(axis=1)


@pytest.mark.parametrize(("half_deg", "lift"), [(30, 1.0), (45, 0.41421), (60, 0.15470)])
def test_a_disc_in_a_groove(half_deg: float, lift: float):
    # Textbook: a disc in a V of half angle b stays R (1 / sin b - 1) above the apex.
    radius = 10.0
    slope = 1 / np.tan(np.radians(half_deg))
    felt = m.disk_closing(X, np.abs(X) * slope, radius)
    apex = np.argmin(np.abs(X))
    sinks = (0.1 * np.hypot(1, slope)) ** 2 / (8 * radius)  # between samples on the flank
    lost = 2 * sinks / np.sin(np.radians(half_deg))
    assert felt.height[apex] == pytest.approx(lift * radius, abs=lost + 5e-5 * radius)
    assert not felt.touched[apex]
    reach = radius * np.cos(np.radians(half_deg))  # contact points of the flanks
    assert felt.touched[np.abs(X) > reach + 0.2].all()
    assert not felt.touched[np.abs(X) < reach - 0.2].any()


@pytest.mark.parametrize(
    ("height", "wave", "largest"), [(2.0, 50.0, 31.6629), (1.0, 30.0, 22.7973)]
)
def test_a_cosine_is_felt_whole_up_to_its_own_radius(height: float, wave: float, largest: float):
    # Least radius of curvature of A cos(2 pi x / L) is L^2 / (4 pi^2 A).
    z = height * np.cos(2 * np.pi * X / wave)
    assert m.disk_closing(X, z, 0.99 * largest).touched.all()
    assert not m.disk_closing(X, z, 1.05 * largest).touched.all()


def test_a_slope_is_unchanged_and_a_step_gets_a_fillet():
    assert np.allclose(m.disk_closing(X, 0.8 * X, 7.0).height, 0.8 * X, atol=1e-12)
    radius = 5.0
    felt = m.disk_closing(X, np.where(X > 0.05, 9.0, 0.0), radius).height
    wall = X[X > 0.05][0]
    x = X[(X > wall - radius) & (X < wall)]
    fillet = radius - np.sqrt(radius**2 - (x - wall + radius) ** 2)
    # The disc may rest on the sample beside its lowest place: the sink between samples again.
    assert np.allclose(felt[(X > wall - radius) & (X < wall)], fillet, atol=0.1**2)


@settings(max_examples=60)
@given(HEIGHTS, st.floats(0.6, 30.0))
def test_disc_closing_keeps_its_algebra(heights: list[float], radius: float):
    x, z = np.arange(len(heights), dtype=float), np.array(heights)
    once = m.disk_closing(x, z, radius).height
    assert (once >= z).all()
    assert np.allclose(m.disk_closing(x, once, radius).height, once, atol=1e-7)
    assert (m.disk_closing(x, z + np.abs(np.sin(x)), radius).height >= once - 1e-7).all()
    assert (m.disk_closing(x, z, 2 * radius).height >= once - 1e-7).all()
    assert np.allclose(m.disk_closing(x, z[::-1], radius).height, once[::-1], atol=1e-7)


@settings(max_examples=60)
@given(HEIGHTS, st.floats(0.6, 12.0))
def test_disc_closing_equals_rolling_it_everywhere(heights: list[float], radius: float):
    # The definition: erosion of dilation, with discs at 4001 places. A place missed by d costs at
    # most its slope there; the true closing lies below what fewer discs give. A disc that only just
    # drops between two samples does so in a gap that no place may hit: such radii are left out.
    assume(abs(2 * radius - round(2 * radius)) > 0.02)
    x, z = np.arange(len(heights), dtype=float), np.array(heights)
    places = np.linspace(x[0] - radius + 1e-9, x[-1] + radius - 1e-9, 4001)
    path = dilated(x, z, radius, places)
    rolled = -dilated(places, -path, radius, x)
    once = m.disk_closing(x, z, radius).height
    assert (once <= rolled + 1e-7).all()
    inner = once[1:-1] - rolled[1:-1]
    assert np.abs(inner).max() < 60 * (places[1] - places[0]) + 1e-6
