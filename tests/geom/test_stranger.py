"""A slip of the pen among readings: named with its size, and not where nothing is wrong."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.geom.soundings import Heights, Slopes
from scribe.geom.stranger import stranger
from tests.honesty.slips import row, walk_row

S = Heights(np.arange(13.0) * 200.0)
U = np.full(13, 0.25)


def bowed() -> np.ndarray:
    """A wall that bows by 8 mm, read with a rule."""
    noise = np.random.default_rng(5).normal(0.0, 0.25, len(U))
    return 8.0 * np.sin(np.pi * S.s / 2400.0) + noise


@pytest.mark.parametrize("slip", [-100.0, -10.0, 10.0, 100.0])
@pytest.mark.parametrize("at", [1, 6, 11])
def test_a_slip_is_named_with_its_size(at: int, slip: float) -> None:
    found = stranger(S, bowed() + slip * (np.arange(13) == at), U)
    assert found is not None
    assert found.index == at
    assert found.beyond == pytest.approx(slip, abs=found.U)
    assert found.U < 6.0


def test_a_wall_without_a_slip_has_no_stranger() -> None:
    assert stranger(S, bowed(), U) is None


def test_a_slip_at_an_end_is_named() -> None:
    """Nobody stands on the other side: the rest says what a wall of its kind does there."""
    found = stranger(S, bowed() + 100.0 * (np.arange(13) == 12), U)
    assert found is not None
    assert found.index == 12


def test_four_readings_say_nothing() -> None:
    assert stranger(S[:4], np.array([0.0, 100.0, 0.0, 0.0]), U[:4]) is None


def test_walls_of_another_kind_seldom_alarm() -> None:
    """Five of stone, none of the model's own making. With 4 in 100 suspected, more than two of
    five have a chance of 0.06 % (binomial); slips of 100 mm are named in all.
    """
    alarms, named = row("stone", 300, 5)
    assert alarms <= 2
    assert named[-1] == 5


@pytest.mark.parametrize("slip", [-0.05, 0.05])
@pytest.mark.parametrize("at", [0, 1, 5, 10, 11])
def test_a_wrong_step_of_a_walk_is_named_wherever_it_is(at: int, slip: float) -> None:
    """It moves every height after it by 10 mm, and no other slope."""
    heights = bowed()
    slope = np.diff(heights) / 200.0 + slip * (np.arange(12) == at)
    found = stranger(Slopes(S.s[:-1], S.s[1:]), slope, np.full(12, 0.25 * 2**0.5 / 200.0))
    assert found is not None
    assert found.index == at
    assert found.beyond == pytest.approx(slip, abs=found.U)


def test_walks_without_a_slip_seldom_alarm() -> None:
    """As for stone above: five walls, 4 in 100 suspected; 50 mm on a metre is named in all."""
    alarms, named = walk_row("wavy", 600, 5)
    assert alarms <= 2
    assert named[-1] == 5
