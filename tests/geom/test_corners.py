from __future__ import annotations

import numpy as np
import pytest

from scribe.geom.corners import corners
from scribe.geom.polyline import resample, stations


def with_noise(points: np.ndarray, u: float, seed: int = 3) -> np.ndarray:
    return points + u * np.random.default_rng(seed).normal(size=points.shape)


@pytest.mark.parametrize("u", [0.0, 0.03])
@pytest.mark.parametrize("angle_deg", [45.0, 90.0, -60.0])
def test_a_corner_is_found_where_it_is(u: float, angle_deg: float):
    turn = np.radians(angle_deg)
    elbow = np.array([[0, 0], [40.1, 0], [40.1 + 30 * np.cos(turn), 30 * np.sin(turn)]])
    points = with_noise(resample(elbow, 0.4), u)
    (found,) = corners(points, u, reach=4.0)
    at = np.interp(found, stations(points), np.arange(len(points)))
    # Within one spacing without noise; noise of u moves the break by about u / sin(turn / 2).
    assert np.hypot(*(points[round(at)] - elbow[1])) <= 0.4 + 4 * u / np.sin(abs(turn) / 2)


def test_a_small_bead_is_not_a_corner_but_its_quirk_is():
    t = np.linspace(np.pi, 0.0, 200)
    bead = np.column_stack([20 + 4 * np.cos(t), 4 * np.sin(t)])  # radius 4 on a flat
    points = resample(np.vstack([[[0.0, 0.0]], bead, [[40.0, 0.0]]]), 0.2, keep=[16.0])
    found = corners(points, 0.0, reach=3.0)
    assert np.allclose(found, [16.0, 16.0 + 4 * np.pi], atol=0.3)


def test_noise_alone_makes_no_corner():
    x = np.arange(0.0, 400.0, 0.5)
    for seed in range(10):
        points = with_noise(np.column_stack([x, 3 * np.sin(x / 20)]), 0.1, seed)
        assert corners(points, 0.1, reach=4.0).size == 0


def test_too_short_to_tell():
    assert corners(np.array([[0.0, 0], [1, 0], [1, 1]]), 0.0, reach=4.0).size == 0
