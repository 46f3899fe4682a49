"""What lies between readings: against the Brownian bridge, and on walls of a known field."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.geom import between


def test_two_readings_of_a_brownian_wall_make_a_bridge() -> None:
    """Increments of variance 2 c h: held at both ends the middle has 2 c h t (1 - t) (textbook)."""
    s, at = np.array([0.0, 100.0]), np.array([10.0, 25.0, 50.0, 90.0])
    known = between.roughness(s, np.zeros((2, 1)), np.zeros(2))
    _, spread = between._kriged(s, np.array([[1.0], [3.0]]), np.zeros(2), at, known)
    row = int(np.flatnonzero(between._ALPHAS == 1.0)[0]) * known.scale.shape[1] + 4
    c, t = known.scale.ravel()[row], at / 100.0
    assert spread[row] == pytest.approx(np.sqrt(2.0 * c * 100.0 * t * (1.0 - t)), rel=1e-4)


def test_a_straight_line_is_followed_whatever_the_roughness() -> None:
    s, at = np.arange(0.0, 601.0, 100.0), np.array([30.0, 350.0])
    line = (0.02 * s + 5.0)[:, None]
    known = between.roughness(s, line, np.full(7, 0.1))
    mean, _ = between._kriged(s, line, np.full(7, 0.1), at, known)
    assert mean[..., 0] == pytest.approx(np.tile(0.02 * at + 5.0, (len(mean), 1)), abs=1e-4)


def test_ninety_five_of_a_hundred_places_lie_within_on_brownian_walls() -> None:
    """25 walls, 24 stretches each: middles of stretches are independent given their ends.

    Share of a binomial of 600 about 0.9545 within 3 sigma (2.6 %), and up to 2 % for roughness
    that isn't known and an exponent from a grid.
    """
    inside = []
    for world in range(25):
        rng = np.random.default_rng(world)
        x = np.arange(0.0, 2401.0, 25.0)
        wall = np.cumsum(rng.normal(0.0, 0.4, len(x)))
        s, read = x[::4], wall[::4] + rng.normal(0.0, 0.1, len(x[::4]))
        at = x[2::4]
        curve = np.interp(at, s, read)
        half = 2.0 * between.within(s, read[:, None], np.full(len(s), 0.1), at, curve[:, None])
        inside.append(np.abs(curve - wall[2::4]) <= half)
    share = float(np.mean(inside))
    assert 0.91 < share < 0.995, share


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
