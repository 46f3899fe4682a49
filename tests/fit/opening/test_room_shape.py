"""What is said of a solved opening, against openings drawn by hand."""

from __future__ import annotations

import pytest

from scribe.fit.opening.room_shape import Feature, features
from scribe.opening import Opening

BOX = Opening.square(1200.0, 2400.0, 350.0, u=0.5)


def named(room: Opening) -> dict[str, Feature]:
    return {each.name: each for each in features(room)}


def test_a_square_room_is_square_plumb_and_level() -> None:
    said = named(BOX)
    assert said["left wall, front"].words.startswith("plumb")
    assert said["floor"].words.startswith("level")
    assert said["out of square, front"].words.startswith("square")
    assert said["right wall, bow"].words.startswith("straight")


def test_leans_bows_splays_and_twists_have_their_sense() -> None:
    values = BOX.vector
    values[1] += 12.0  # the left wall's top comes in, in front
    values[4] = 7.0  # and it bulges
    values[7] += 9.0  # the right wall goes out towards the back
    values[8] += 9.0
    said = named(BOX.with_vector(values))
    assert said["left wall, front"].words.startswith("leans into the opening by 12")
    assert said["left wall, bow"].words.startswith("bulges into the opening by 7")
    assert said["left wall, twist"].words.startswith("leans in less at the back by 12")
    assert said["right wall, front to back"].words.startswith("goes out towards the back by 9")
    assert said["right wall, front to back"].size.value == pytest.approx(-9.0)


def test_what_is_hardly_known_is_not_called_plumb() -> None:
    said = named(Opening.square(1200.0, 2400.0, 350.0, u=8.0))
    assert said["left wall, front"].words.startswith("not measured well enough")
