from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribe.geom.profile_filter import ALPHA, GaussianFilter

# ISO 16610-21: long-wave transmission, wavelength / cutoff -> height kept (formula; the constant
# 0.4697 also in published instrument manuals).
TRANSMISSION = [
    (1 / 3, 0.001953),
    (0.5, 0.0625),
    (0.8, 0.338564),
    (1.0, 0.5),
    (1.5, 0.734867),
    (2.0, 0.840896),
    (5.0, 0.972655),
    (10.0, 0.993092),
]


@pytest.mark.parametrize(("ratio", "height"), TRANSMISSION)
def test_a_sine_is_passed_as_the_standard_says(ratio: float, height: float):
    cutoff, step = 8.0, 0.05
    x = np.arange(0.0, 200.0, step)
    wave = np.cos(2 * np.pi * (x - 100.0) / (ratio * cutoff))
    middle = np.argmin(np.abs(x - 100.0))
    kept = GaussianFilter(x, cutoff).values(wave)[middle]
    assert kept == pytest.approx(height, abs=2e-6)  # table rounded to 6 places, 1e-7 cut off
    # The table by its own formula (ISO 16610-21, 4.3): 2^-((Lc / L)^2).
    assert 0.5 ** (1.0 / ratio**2) == pytest.approx(height, abs=5e-7)


def test_alpha_and_the_shift_of_a_parabola():
    assert pytest.approx(0.469718639, abs=5e-10) == ALPHA  # sqrt(ln 2 / pi)
    x = np.arange(-40.0, 40.0, 0.1)
    filtered = GaussianFilter(x, 10.0).values(x**2)
    # Shifted by sigma^2 = 0.0351152 Lc^2 away from the ends.
    assert filtered[400] - x[400] ** 2 == pytest.approx(3.51152, abs=2e-4)


@given(
    st.floats(-2, 2),
    st.floats(-50, 50),
    st.floats(0.5, 30),
    st.lists(st.floats(0.05, 3), min_size=3, max_size=60),
)
def test_a_ramp_stays_a_ramp_to_its_ends(slope, height, cutoff, gaps):
    # ISO 16610-28, moment retainment of order 1; here at uneven stations too.
    x = np.cumsum(gaps)
    filtered = GaussianFilter(x, cutoff)
    ramp = height + slope * x
    assert np.allclose(filtered.values(ramp), ramp, atol=1e-9)
    two = np.column_stack([ramp, -ramp])
    assert np.allclose(filtered.values(two), two, atol=1e-9)


def test_slopes_are_those_of_the_ramp():
    x = np.linspace(0.0, 30.0, 301)
    assert np.allclose(GaussianFilter(x, 5.0).slopes(0.7 * x - 2), 0.7, atol=1e-9)


def test_uncertainty_of_a_filtered_value_inside():
    # White noise: variance falls to 1.50538 (dx / Lc) (from the integral of s^2: 1/(alpha sqrt 2)).
    x = np.arange(0.0, 100.0, 0.1)
    u = GaussianFilter(x, 8.0).u_values(np.full(len(x), 0.3))
    assert u[500] ** 2 == pytest.approx(0.3**2 * 1.50538 * 0.1 / 8.0, rel=1e-5)


def test_uncertainty_is_a_prediction_at_the_ends_and_beside_gaps():
    rng = np.random.default_rng(5)
    x = np.concatenate([np.arange(0.0, 10.0, 0.5), np.arange(16.0, 30.0, 0.25)])
    u = 0.1 + 0.005 * x
    kept = GaussianFilter(x, 6.0)
    # A standard deviation from 4000 worlds is known to 1 / sqrt(2 * 4000) = 1.1 %.
    scatter = kept.values(u[:, None] * rng.normal(size=(len(x), 4000))).std(axis=1)
    assert np.allclose(scatter, kept.u_values(u), rtol=4.5 * 0.0112)


def test_a_distrusted_sample_weighs_little():
    x = np.arange(0.0, 20.0, 0.5)
    spoiled = np.zeros(len(x))
    spoiled[20] = 5.0
    trust = np.where(spoiled > 0, 1e-6, 1.0)
    assert np.abs(GaussianFilter(x, 4.0, trust).values(spoiled)).max() < 1e-4
    assert np.abs(GaussianFilter(x, 4.0).values(spoiled)).max() > 1.0


def test_a_single_sample_keeps_its_value():
    assert GaussianFilter(np.array([0.0, 50.0]), 1.0).values(np.array([3.0, 4.0])).tolist() == [
        3,
        4,
    ]
