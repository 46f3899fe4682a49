"""A line is laid on another: known turns and shifts come back, and scatter as they say."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribe.geom.frames import Rigid, turned
from scribe.geom.polyline import nearest, normals
from scribe.geom.registration import register


def wavy(first: float, last: float, step: float = 0.5) -> np.ndarray:
    x = np.arange(first, last, step)
    return np.column_stack([x, 6 * np.sin(x / 23) + 3 * np.sin(x / 9.3 + 1) + 0.01 * x])


@given(st.floats(-3.0, 3.0), st.floats(-500, 500), st.floats(-500, 500))
@settings(max_examples=8)
def test_a_known_move_comes_back(angle: float, x: float, y: float) -> None:
    target = wavy(0, 300)
    part = target[120:420]
    away = turned(angle, (x, y)).inverse()
    found = register(away.apply(part), target, np.full(len(part), 0.05))
    assert found.target_from_source.apply(away.apply(part)) == pytest.approx(part, abs=1e-4)
    assert found.rms < 1e-6


def test_scatter_is_what_the_gain_says() -> None:
    """60 draws of 0.05 mm noise: the sd of a sd is 1 / sqrt(120) = 9 %, three of them.

    The distances left scatter as left_u says, all points taken together: their mean square.
    """
    target, rng = wavy(0, 120, 1.0), np.random.default_rng(8)
    part = target[5:115:2]
    own = np.full(len(part), 0.05)
    moves, left = [], []
    for _ in range(60):
        noisy = part + rng.normal(0.0, 0.05, part.shape)
        found = register(noisy, target, own)
        placed = found.target_from_source.apply(part)
        moves.append([*(placed - part).mean(axis=0), _turn(found.target_from_source)])
        left.append(nearest(found.target_from_source.apply(noisy), target).distance)
    predicted = np.sqrt(np.diag((found.gain * own**2) @ found.gain.T))
    assert np.std(moves, axis=0) == pytest.approx(predicted, rel=0.28)
    said = found.left_u(own, np.zeros((0, len(part))))
    # 60 draws of 55 points, three of whose freedoms are used up: sd of the ratio 1 / sqrt(2 N).
    assert np.mean(np.square(left)) / np.mean(said**2) == pytest.approx(1.0, abs=4 * 0.0176)
    assert np.mean(said**2) == pytest.approx(0.05**2 * (1 - 3 / 55), rel=0.02)


def test_a_common_shift_and_turn_are_no_error_of_the_shape() -> None:
    """What moves all points together is taken out; a bow is not: 1 mm of it stays as it is."""
    target = wavy(0, 200, 1.0)
    found = register(target, target, np.full(len(target), 0.05))
    square = normals(target)
    x = np.linspace(-1.0, 1.0, len(target))
    along, across = square[:, 0], square[:, 1]
    none = np.zeros(len(target))
    assert found.left_u(none, np.array([along, across])).max() < 1e-3
    # On a straight line a bow x^2 less its mean 1/3 is square to shift and turn: 2/3 at the ends.
    flat = np.column_stack([100.0 * (x + 1.0), np.zeros(len(x))])
    bow = register(flat, flat, np.full(len(x), 0.05)).left_u(none, np.array([x**2]))
    assert bow[0] == pytest.approx(2 / 3, abs=0.01)


def test_the_ends_hold_what_the_shape_would_let_slip() -> None:
    """A wave cut 1.5 mm too far along: by shape alone it fits, by its ends it doesn't."""
    x = np.arange(0.0, 300.5, 0.5)
    target = np.column_stack([x, 3.0 * np.sin(x / 15.0)])
    source = np.column_stack([x, 3.0 * np.sin((x - 1.5) / 15.0)])
    away = turned(0.3, (40.0, 7.0))
    u = np.full(len(x), 0.05)
    slipped = register(away.apply(source), target, u).target_from_source
    held = register(away.apply(source), target, u, ends=True).target_from_source
    middle = source[[0, -1]].mean(axis=0)
    assert slipped.apply(away.apply(middle))[0] - middle[0] == pytest.approx(-1.5, abs=0.1)
    assert held.apply(away.apply(middle))[0] - middle[0] == pytest.approx(0.0, abs=0.02)


def _turn(pose: Rigid) -> float:
    return float(np.arctan2(pose.rotation[1, 0], pose.rotation[0, 0]))
