"""What is a pin: rows of them told from paper, shadow and its stripes, and what stands apart."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribe.capture.gauge.contact import _alone
from scribe.capture.gauge.rows import pins_from
from scribe.capture.gauge.tips import _side_pins

Array = npt.NDArray[np.float64]
SAMPLE, ROWS, ACROSS = 0.1, 160, 15
NEAR = 4  # rows: one is three samples wide, and one of them may be unlike the others


def comb(first: int, *, pitch: int = 11, seed: int = 0) -> Array:
    """(ROWS, 200) noise of a plain paper, then from a row on pins that differ from each other."""
    rng = np.random.default_rng(seed)
    pin = rng.uniform(0.2, 0.4, 20)
    columns = np.arange(200)
    row = pin[columns // pitch] * np.where(columns % pitch < 2, 0.2, 1.0)
    light = np.full((ROWS, 200), 0.6)
    light[first:] = row
    return np.asarray(light + rng.normal(0.0, 0.004, light.shape))


@given(st.integers(5, 60), st.integers(0, 9))
def test_pins_begin_where_their_rows_begin(first: int, seed: int) -> None:
    found = pins_from(comb(first, seed=seed), ACROSS, SAMPLE)
    assert (
        np.mean(np.abs(found - first) <= NEAR) > 0.95
    )  # by chance noise is like pins, a row or two
    assert np.abs(found - first).max() <= 2 * NEAR


@given(st.integers(20, 60), st.floats(0.3, 1.0))
def test_less_light_on_a_part_of_the_pins_does_not_end_them(place: int, dim: float) -> None:
    light = comb(10)
    light[place:] *= dim
    assert np.abs(pins_from(light, ACROSS, SAMPLE) - 10).max() <= NEAR


def test_stripes_of_a_shadow_are_no_pins() -> None:
    """Sun along the pins: what is dark between them is light between their shadows."""
    light = comb(50)
    stripes = np.where(np.arange(200) % 11 < 2, 0.6, 0.35)
    light[:50] = stripes
    assert np.abs(pins_from(light, ACROSS, SAMPLE) - 50).max() <= NEAR


def test_where_nothing_shows_no_row_is_one_of_pins() -> None:
    rng = np.random.default_rng(1)
    light = 0.3 + rng.normal(0.0, 0.004, (ROWS, 200))
    assert (pins_from(light, ACROSS, SAMPLE) == ROWS).all()


@pytest.mark.parametrize(
    ("away", "doubted"),
    [
        ({10: -2.0}, {10}),  # one that is stuck
        ({10: 2.0}, {10}),  # one that is a shadow's
        ({10: 2.0, 11: 2.2}, {10, 11}),
        ({10: -2.0, 11: -2.0}, set()),  # a groove as wide as two pins
        ({10: 2.0, 11: 2.0, 12: 2.0}, set()),
        ({10: 1.2}, set()),
    ],
)
def test_what_stands_alone_is_doubted(away: dict[int, float], doubted: set[int]) -> None:
    t = 0.1 * np.arange(20.0)
    for index, rise in away.items():
        t[index] += rise
    assert set(np.nonzero(_alone(t))[0]) == doubted


@pytest.mark.parametrize(
    ("t", "none"),
    [
        ([17.5, 17.5, 17.5, 38.8, 39.0, 39.1, 39.3, 39.2], 3),  # the body's level, below every pin
        ([36.0, 39.0, 39.1, 39.2, 39.1, 39.0], 1),  # the comb's side
        ([39.3, 39.0, 39.1, 39.2, 39.1, 39.0], 0),
        ([34.5, 34.6, 34.5, 39.0, 39.1, 39.0], 0),  # a step that a wall may have
    ],
)
def test_what_lies_far_below_all_pins_is_none(t: list[float], none: int) -> None:
    assert _side_pins(np.array(t)) == none
