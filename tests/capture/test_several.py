"""The height that photos from different sides tell, on outlines known to be at one."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.capture.several import refuse_moved
from scribe.errors import ScribeError
from tests.capture.two_sides import Side, compared, side, turned, wavy

SCENES = 30


def two(seed: int, height: float, *, turned_deg: float = 0.0) -> list[Side]:
    """Two photos, 10 to 30 degrees from the front and from the back; the wall turned between."""
    rng = np.random.default_rng([seed, 8])
    points = wavy(seed)
    return [
        side(seed, each, height, azimuth=azimuth + rng.uniform(-40, 40), tilt=rng.uniform(10, 30))
        for each, azimuth in ((points, -90.0), (turned(points, turned_deg), 90.0))
    ]


def test_the_height_lies_within_its_u() -> None:
    """Of 30 scenes at 0 to 40 mm at least 27 have it within 2 u: 28.5 +- 1.2 are due."""
    off = []
    for seed in range(SCENES):
        height = float(np.random.default_rng(seed).uniform(0, 40))
        found = compared(two(seed, height), 5.0)
        off.append((found.height - height) / found.u)
        refuse_moved(found, "a, b")
    assert np.sum(np.abs(off) <= 2.0) >= 27
    assert np.std(off) > 0.3  # u isn't just large


def test_opposite_sides_tell_a_tenth() -> None:
    assert compared(two(3, 6.0), 5.0).u < 0.1


def test_one_side_tells_nothing_and_says_so() -> None:
    points = wavy(3)
    pair = [side(3, points, 6.0, azimuth=az, tilt=20.0) for az in (-90.0, -92.0)]
    found = compared(pair, 5.0)
    assert found.u > 10 * compared(two(3, 6.0), 5.0).u
    assert abs(found.height - 6.0) < 2.0 * found.u


def test_a_turn_is_no_height() -> None:
    """A degree over 150 mm is 1.3 mm at the ends."""
    found = compared(two(3, 6.0, turned_deg=1.0), 5.0)
    with pytest.raises(ScribeError) as refused:
        refuse_moved(found, "a, b")
    assert refused.value.kind == "photos-disagree"


def test_two_walls_are_two_things() -> None:
    points = wavy(3)
    other = np.column_stack([points[:, 0] + 300.0, points[:, 1]])
    pair = [side(3, points, 6.0, azimuth=-90.0, tilt=20.0),
            side(3, other, 6.0, azimuth=90.0, tilt=20.0)]  # fmt: skip
    with pytest.raises(ScribeError) as refused:
        compared(pair, 5.0)
    assert refused.value.kind == "photos-of-two-things"
