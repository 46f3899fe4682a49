"""Scenes of known shape: a seeded set, and seeds on which something was once mistaken.

Slow: every scene is a rendered photo. `python -m tests.honesty.scenes` prints the whole table.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.honesty.scenes import judge

LIMIT_MM = {"gauge": 0.25, "edge": 0.15, "line": 0.15}
# A board's border taken for a line, a board's side or shadow for its edge, a shadow for pins.
ONCE_MISTAKEN = [
    ("line", 2008), ("edge", 2002), ("edge", 2011), ("edge", 3020), ("edge", 3025), ("gauge", 2000),
]  # fmt: skip
REFUSALS = {"edge-shadow", "edge-no-contrast", "outline-not-found", "outline-ambiguous",
            "gauge-no-contrast", "gauge-not-found", "gauge-shadow"}  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize(
    ("kind", "seed"), [(kind, seed) for kind in LIMIT_MM for seed in range(7000, 7005)]
)
def test_unseen_scenes(kind: str, seed: int) -> None:
    judged = judge(kind, seed, 8.0)
    if judged.refusal:
        assert judged.refusal in REFUSALS
        return
    assert np.quantile(judged.shape, 0.95) < LIMIT_MM[kind]


@pytest.mark.slow
def test_pins_behind_a_shadow_as_dark_as_they_are() -> None:
    """Only softness tells one from the other: what is found behind it lies within U."""
    judged = judge("gauge", 3015, 12.0)
    assert not judged.refusal
    assert np.quantile(judged.shape, 0.95) < LIMIT_MM["gauge"]
    assert (judged.shape > judged.shape_u95).mean() < 0.05


@pytest.mark.slow
def test_pins_of_which_a_fifth_looks_like_the_shadow_are_refused() -> None:
    """What could be measured of them lies 0.2 mm off."""
    assert judge("gauge", 5022, 12.0).refusal == "gauge-pins-hidden"


@pytest.mark.slow
@pytest.mark.parametrize(("kind", "seed"), ONCE_MISTAKEN)
def test_what_was_once_mistaken(kind: str, seed: int) -> None:
    judged = judge(kind, seed, 12.0)
    assert not judged.refusal
    assert np.quantile(judged.shape, 0.95) < LIMIT_MM[kind]
    assert (judged.shape > np.maximum(judged.shape_u95, 0.4)).mean() < 0.03
