"""The law of propagation against the guide's own examples and an independent library."""

from __future__ import annotations

import GTC
import numpy as np
import pytest

from scribe.geom.propagation import standard_u
from scribe.geom.solve import System, least_squares

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
    # What the results have in common, from u of their sums: r = -0.588, -0.485 and 0.993.
    u = standard_u(by, covariance)
    for (a, b), r in (((0, 1), -0.588), ((0, 2), -0.485), ((1, 2), 0.993)):
        both = standard_u(by[a] + by[b], covariance)
        assert (both**2 - u[a] ** 2 - u[b] ** 2) / (2 * u[a] * u[b]) == pytest.approx(r, abs=6e-4)
    # Without the correlations the answer is clearly wrong: the check can fail.
    alone = standard_u(by, np.diag(np.diag(covariance)))
    assert abs(alone[0] - 0.071) > 0.05


def test_the_guides_end_gauge() -> None:
    """JCGM 100, H.1: l = ls + d - ls (da th + as dth), in nm and degrees C.

    Inputs ls = 50 000 623 (u 25), d = 215 (parts 5.8, 3.9, 6.7), da = 0 +- 1e-6 and dth = 0
    +- 0.05 (rectangular), as = 11.5e-6 +- 2e-6 (rectangular), th = -0.1 (0.2, and 0.5 as a
    sine: 0.5 / sqrt(2)). l = 50 000 838, u = 32, first order (the guide's result, 31.7 before
    rounding).
    """
    ls, d, th, expansion = 50_000_623.0, 215.0, -0.1, 11.5e-6
    by = np.array([1.0, 1.0, -ls * th, -ls * expansion, 0.0, 0.0])
    limits = np.array([1e-6, 0.05, 2e-6]) / np.sqrt(3)
    d_u, th_u = np.sqrt(5.8**2 + 3.9**2 + 6.7**2), np.hypot(0.2, 0.5 / np.sqrt(2))
    u = np.array([25.0, d_u, limits[0], limits[1], limits[2], th_u])
    assert ls + d == 50_000_838
    assert standard_u(by, np.diag(u**2)) == pytest.approx(31.7, abs=0.05)
    model = [GTC.ureal(x, each) for x, each in zip((ls, d, 0, 0, expansion, th), u, strict=True)]
    length = model[0] + model[1] - model[0] * (model[2] * model[5] + model[4] * model[3])
    assert standard_u(by, np.diag(u**2)) == pytest.approx(GTC.uncertainty(length), rel=1e-9)


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
    """JCGM 100, H.3 (as worked by GTC): eleven corrections, a line, and its value at 30 degrees.

    y1 = -0.1712, u 0.0029; y2 = 0.00218, u 0.00067; s = 0.0035; b(30) = -0.1494, u = 0.0041. With
    the correlation of -0.930 left out it would be 0.0073. Solved and carried by our own
    least squares, whose covariance is for residuals of one standard deviation.
    """
    t = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010,
                  26.511]) - 20.0  # fmt: skip
    b = -1e-3 * np.array([171, 169, 166, 159, 164, 165, 156, 157, 159, 161, 160.0])
    design = np.column_stack([np.ones(11), t])
    s = np.sqrt(((b - design @ np.polyfit(t, b, 1)[::-1]) ** 2).sum() / 9)
    assert s == pytest.approx(0.0035, abs=5e-5)

    def linearise(y: np.ndarray) -> System:
        away = (design @ y - b)[:, None] / s
        return System(away, design[:, None, :] / s, np.zeros(0), np.zeros((0, 2)))

    found = least_squares(linearise, lambda y, step: y + step, np.zeros(2), tolerance=1e-15)
    assert found.state == pytest.approx([-0.1712, 0.00218], abs=6e-5)
    u = np.sqrt(np.diag(found.covariance))
    assert u == pytest.approx([0.0029, 0.00067], rel=0.01)
    assert found.covariance[0, 1] / u.prod() == pytest.approx(-0.930, abs=5e-4)
    by = np.array([1.0, 10.0])
    assert by @ found.state == pytest.approx(-0.1494, abs=5e-5)
    assert standard_u(by, found.covariance) == pytest.approx(0.0041, abs=5e-5)
    assert standard_u(by, np.diag(u**2)) == pytest.approx(0.0073, abs=5e-5)
