"""What lies between readings: against Bayes' rule written out, and on walls of known waves."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from scribe.geom import between
from scribe.geom.soundings import Heights

S = np.array([0.0, 90.0, 210.0, 280.0, 400.0, 510.0, 600.0])
VALUES = np.array([1.0, 2.5, 0.5, 1.0, 3.0, 2.0, 2.5])
U = np.full(7, 0.2)


def test_a_mean_and_a_spread_are_those_of_bayes() -> None:
    """A trend of a constant and a slope with a prior of 10 m, written out as one normal
    distribution of readings and surface, and conditioned; to the rounding of such sizes.
    """
    known = between.likely(Heights(S), VALUES[:, None], U, None)
    at = np.array([45.0, 333.0, 555.0])
    mean, spread = between.kriged(Heights(S), VALUES[:, None], U, Heights(at), known)
    every = np.concatenate([S, at])
    basis = np.column_stack([np.ones(10), (every - 300.0) / 600.0])
    for row in range(0, len(mean), 97):
        joint = known.covariance(every[:, None] - every)[row] + 1e8 * basis @ basis.T
        joint[:7, :7] += np.diag(U**2)
        share = np.linalg.solve(joint[:7, :7], joint[:7, 7:]).T
        left = joint[7:, 7:] - share @ joint[:7, 7:]
        assert mean[row, :, 0] == pytest.approx(share @ VALUES, abs=2e-4)
        assert spread[row] == pytest.approx(np.sqrt(np.diag(left)), abs=2e-4)


def test_weights_are_those_of_the_contrasts_density() -> None:
    """scipy's density of five contrasts that a straight line doesn't touch, times the prior."""
    pairs = list(between._pairs("wavy"))
    basis = np.column_stack([np.ones(7), S])
    free = np.linalg.svd(basis.T)[2][2:].T
    logs = []
    for pair in pairs[:2]:
        covariance = pair.covariance(S[:, None] - S)[3, 2] + np.diag(U**2)
        logs.append(
            multivariate_normal(np.zeros(5), free.T @ covariance @ free).logpdf(free.T @ VALUES)
        )
    read = Heights(S)
    ours = [between._log_likelihood(read, VALUES[:, None], U, pair)[3, 2] for pair in pairs[:2]]
    assert ours[1] - ours[0] == pytest.approx(logs[1] - logs[0], abs=1e-6)


def test_a_straight_line_is_followed_whatever_the_waves() -> None:
    s, at = np.arange(0.0, 601.0, 100.0), np.array([30.0, 350.0])
    line = (0.02 * s + 5.0)[:, None]
    known = between.likely(Heights(s), line, np.full(7, 0.1), None)
    mean, _ = between.kriged(Heights(s), line, np.full(7, 0.1), Heights(at), known)
    assert mean[..., 0] == pytest.approx(np.tile(0.02 * at + 5.0, (len(mean), 1)), abs=1e-4)


@pytest.mark.parametrize("surface", ["flat", "wavy", "rough"])
def test_ninety_five_of_a_hundred_places_lie_within_on_such_walls(surface: str) -> None:
    """40 walls drawn from what the surface usually is, 8 stretches each, readings every 150 mm.

    Places of one wall hang together: of 40 walls, each inside for all or for none, 95 % is known
    to 3 sigma of 10 %; the bounds allow that below, and above up to all.
    """
    rng = np.random.default_rng(7)
    pairs = list(between._pairs(surface))
    x = np.arange(0.0, 1201.0, 75.0)
    inside = []
    for _ in range(40):
        pair = pairs[rng.integers(len(pairs))]
        a = rng.choice(len(pair.prior), p=pair.prior.sum(1) / pair.prior.sum())
        b = rng.choice(len(pair.prior[0]), p=pair.prior.sum(0) / pair.prior.sum())
        covariance = pair.covariance(x[:, None] - x)[a, b] + 1e-9 * np.eye(len(x))
        wall = np.linalg.cholesky(covariance) @ rng.normal(size=len(x))
        s, read = x[::2], wall[::2] + rng.normal(0.0, 0.1, len(x[::2]))
        curve = np.interp(x[1::2], s, read)[:, None]
        u = np.full(len(s), 0.1)
        half = 2.0 * between.within(s, read[:, None], u, x[1::2], curve, surface)
        inside.append(np.abs(curve[:, 0] - wall[1::2]) <= half)
    share = float(np.mean(inside))
    assert 0.87 < share < 0.999, share


def test_few_readings_widen_the_answer() -> None:
    """The same scatter in 5 and in 41 readings: with five much is left open."""
    rng = np.random.default_rng(1)
    values = rng.normal(0.0, 0.3, 41)
    widths = []
    for count in (5, 41):
        s = np.arange(count) * 100.0
        at = s[:-1] + 50.0
        curve = np.interp(at, s, values[:count])[:, None]
        u = np.full(count, 0.05)
        widths.append(float(np.median(between.within(s, values[:count, None], u, at, curve))))
    assert widths[0] > 1.2 * widths[1]


def test_a_breast_between_two_readings_may_stand_anywhere() -> None:
    """A step of 300 mm between 400 and 800: its edge is nowhere seen, and U tells so."""
    s = np.arange(0.0, 1601.0, 400.0)
    values = np.array([[0.0], [0.0], [300.0], [300.0], [300.0]])
    at = np.array([600.0])
    half = 2.0 * between.within(s, values, np.full(5, 0.25), at, np.array([[150.0]]))
    assert half[0] > 100.0
