"""The law of propagation against the guide's own examples and an independent library."""

from __future__ import annotations

import GTC
import numpy as np
import pytest

from scribe.geom.propagation import standard_u

# JCGM 100, H.2 (data and results from memory, consistent on recomputation): five simultaneous
# observations of voltage (V), current (A) and phase (rad).
V = np.array([5.007, 4.994, 5.005, 4.990, 4.999])
I = np.array([19.663, 19.639, 19.640, 19.685, 19.678]) * 1e-3  # noqa: E741 - as the guide
PHI = np.array([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])


def test_the_guides_correlated_example() -> None:
    """R = V cos(phi) / I, X = V sin(phi) / I, Z = V / I: u and what they have in common."""
    means = np.array([V.mean(), I.mean(), PHI.mean()])
    covariance = np.cov([V, I, PHI]) / 5.0
    v, i, phi = means
    by = np.array(
        [
            [np.cos(phi) / i, -v * np.cos(phi) / i**2, -v * np.sin(phi) / i],
            [np.sin(phi) / i, -v * np.sin(phi) / i**2, v * np.cos(phi) / i],
            [1.0 / i, -v / i**2, 0.0],
        ]
    )
    assert v / i * np.cos(phi) == pytest.approx(127.732, abs=5e-4)
    assert standard_u(by, covariance) == pytest.approx([0.071, 0.296, 0.236], abs=6e-4)
    # Without the correlations the answer is clearly wrong: the check can fail.
    alone = standard_u(by, np.diag(np.diag(covariance)))
    assert abs(alone[0] - 0.071) > 0.05


def test_the_guides_end_gauge() -> None:
    """JCGM 100, H.1, nm: contributions 25, 9.7, 2.887 and 16.599 give 31.7."""
    parts = np.array([25.0, 9.7, 2.887, 16.599])
    assert standard_u(np.ones(4), np.diag(parts**2)) == pytest.approx(31.7, abs=0.05)


def test_against_an_independent_library() -> None:
    """GTC on correlated inputs of the same numbers."""
    rng = np.random.default_rng(3)
    for _ in range(20):
        root = rng.normal(size=(3, 3))
        covariance = root @ root.T + 0.1 * np.eye(3)
        x = rng.uniform(1.0, 3.0, 3)
        u = np.sqrt(np.diag(covariance))
        inputs = [GTC.ureal(x[k], u[k], independent=False) for k in range(3)]
        for a, b in ((0, 1), (0, 2), (1, 2)):
            GTC.set_correlation(covariance[a, b] / (u[a] * u[b]), inputs[a], inputs[b])
        y = inputs[0] * inputs[1] / inputs[2]
        by = np.array([x[1] / x[2], x[0] / x[2], -x[0] * x[1] / x[2] ** 2])
        assert standard_u(by, covariance) == pytest.approx(GTC.uncertainty(y), rel=1e-9)


def test_the_guides_thermometer_line() -> None:
    """JCGM 100, H.3 (as worked by GTC): a correction predicted at 30 degrees, 10 from the middle.

    u of the two coefficients 0.0029 and 0.00067, r = -0.930: u = 0.0041; without r, 0.0073.
    """
    u = np.array([0.00287760, 0.00066794])
    covariance = np.outer(u, u) * np.array([[1.0, -0.930430], [-0.930430, 1.0]])
    by = np.array([1.0, 10.0])
    assert standard_u(by, covariance) == pytest.approx(0.00413860, abs=2e-7)
    assert standard_u(by, np.diag(u**2)) == pytest.approx(0.0073, abs=5e-5)
