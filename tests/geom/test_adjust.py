"""The adjustment against published numbers, an independent solver, and its own statistics."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares

from scribe.geom.adjust import adjust

# JCGM 100, H.3: thermometer readings, published to the digits shown.
T = np.array(
    [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
)
B = -np.array([0.171, 0.169, 0.166, 0.159, 0.164, 0.165, 0.156, 0.157, 0.159, 0.161, 0.160])


def test_the_published_calibration_line_comes_out() -> None:
    # s = 0.0035 there; recomputed from the printed data: 0.00349756.
    u = np.full(len(T), 0.00349756)
    found = adjust(lambda x: x[0] + x[1] * (T - 20.0), B, u, np.zeros(2))
    assert found.x == pytest.approx([-0.1712, 0.00218], abs=0.00005)
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx([0.0029, 0.00067], abs=0.00005)
    r = found.covariance[0, 1] / np.sqrt(found.covariance[0, 0] * found.covariance[1, 1])
    assert r == pytest.approx(-0.930, abs=0.0005)


@pytest.mark.parametrize(
    ("lengths", "heights", "u", "scatter"),
    [
        ((1, 1, 1, 1, 1, 1, 1), (105.141, 104.483, 106.188), None, 0.050),
        ((4, 3, 2, 3, 2, 2, 2), (105.150, 104.489, 106.197), (0.033, 0.030, 0.029), 0.107),
    ],
)
def test_a_published_level_net(lengths, heights, u, scatter: float) -> None:
    """Seven lines between two benchmarks (100.00 and 107.50) and three new points, with equal
    weights and then with 12 / length: the worked example of Ghilani and Wolf, Adjustment
    Computations, on levelling nets. Data and results from memory; they agree with each other to
    the last digit.
    """
    differences = np.array([5.10, 2.34, -1.25, -6.13, -0.68, -3.00, 1.70])
    one = np.sqrt(np.array(lengths, float) / (12.0 if u else 1.0))

    def levelled(x: np.ndarray) -> np.ndarray:
        a, b, c = x
        return np.array([a - 100.0, 107.5 - a, c - 107.5, 100.0 - c, b - a, b - 107.5, c - b])

    found = adjust(levelled, differences, one, np.full(3, 105.0))
    assert found.x == pytest.approx(heights, abs=0.0005)
    s = float(np.sqrt(((found.residuals / one) ** 2).sum() / 4.0))
    assert s == pytest.approx(scatter, abs=0.0005)
    if u:
        assert s * np.sqrt(np.diag(found.covariance)) == pytest.approx(u, abs=0.0005)


def test_a_level_net_is_adjusted_by_hand() -> None:
    # Three height differences round a loop, equal weights, that close to 9 mm: each takes 3 mm,
    # and a third of each error shows (arithmetic: A = [[1,0],[0,1],[1,1]], Q_vv = 1/3).
    found = adjust(
        lambda x: np.array([x[0], x[1], x[0] + x[1]]),
        np.array([100.0, 200.0, 309.0]),
        np.ones(3),
        np.zeros(2),
    )
    assert found.x == pytest.approx([103.0, 203.0])
    assert found.residuals == pytest.approx([-3.0, -3.0, 3.0])
    assert found.redundancy == pytest.approx([1 / 3] * 3)
    assert np.abs(found.w) == pytest.approx([3.0 * np.sqrt(3.0)] * 3)
    # None of the three can be told from another.
    assert np.abs(found.correlation) == pytest.approx(np.ones((3, 3)))


def test_a_trilateration_equals_an_independent_solver_s() -> None:
    rng = np.random.default_rng(4)
    fixed = np.array([[0.0, 0.0], [1200.0, 0.0], [1200.0, 2400.0], [0.0, 2400.0], [600.0, -300.0]])
    u = np.array([1.0, 2.0, 1.5, 0.7, 3.0])

    def taped(x: np.ndarray) -> np.ndarray:
        return np.hypot(*(fixed - x).T)

    read = taped(np.array([420.0, 1730.0])) + rng.normal(0.0, u)
    ours = adjust(taped, read, u, np.array([600.0, 1200.0]))
    theirs = least_squares(lambda x: (taped(x) - read) / u, [600.0, 1200.0], xtol=1e-14, ftol=1e-14)
    assert ours.x == pytest.approx(theirs.x, abs=1e-5)
    assert ours.covariance == pytest.approx(np.linalg.inv(theirs.jac.T @ theirs.jac), rel=1e-4)


def test_redundancies_add_up_to_what_is_redundant() -> None:
    x = np.linspace(0.0, 1.0, 9)
    found = adjust(lambda p: p[0] + p[1] * x + p[2] * x**2, x**3, np.full(9, 0.3), np.zeros(3))
    assert found.redundancy.sum() == pytest.approx(9 - 3)


def test_a_slip_is_seen_in_full_from_the_others() -> None:
    """v / r is what the reading is off by: residuals alone show the part r of it."""
    x = np.arange(6.0)
    true = 3.0 + 2.0 * x
    true[2] += 14.0
    found = adjust(lambda p: p[0] + p[1] * x, true, np.ones(6), np.zeros(2))
    assert found.residuals[2] / found.redundancy[2] == pytest.approx(14.0)
    assert int(np.argmax(np.abs(found.w))) == 2
