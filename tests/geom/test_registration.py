"""A line is laid on another: known turns and shifts come back, and scatter as they say."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribe.geom.frames import Rigid, turned
from scribe.geom.registration import register


def wavy(first: float, last: float, step: float = 0.5) -> np.ndarray:
    x = np.arange(first, last, step)
    return np.column_stack([x, 6 * np.sin(x / 23) + 3 * np.sin(x / 9.3 + 1) + 0.01 * x])


@given(st.floats(-3.0, 3.0), st.floats(-500, 500), st.floats(-500, 500))
@settings(max_examples=8, deadline=None)
def test_a_known_move_comes_back(angle: float, x: float, y: float) -> None:
    target = wavy(0, 300)
    part = target[120:420]
    away = turned(angle, (x, y)).inverse()
    found = register(away.apply(part), target, np.full(len(part), 0.05))
    assert found.target_from_source.apply(away.apply(part)) == pytest.approx(part, abs=1e-4)
    assert found.rms < 1e-6


def test_scatter_is_what_the_covariance_says() -> None:
    """60 draws of 0.05 mm noise: the sd of a sd is 1 / sqrt(120) = 9 %, three of them."""
    target, rng = wavy(0, 120, 1.0), np.random.default_rng(8)
    part = target[5:115:2]
    moves = []
    for _ in range(60):
        noisy = part + rng.normal(0.0, 0.05, part.shape)
        found = register(noisy, target, np.full(len(part), 0.05))
        placed = found.target_from_source.apply(part)
        moves.append([*(placed - part).mean(axis=0), _turn(found.target_from_source)])
    predicted = np.sqrt(np.diag(found.covariance))
    assert np.std(moves, axis=0) == pytest.approx(predicted, rel=0.28)


def _turn(pose: Rigid) -> float:
    return float(np.arctan2(pose.rotation[1, 0], pose.rotation[0, 0]))
