"""Rooms of known truth are solved within U, mistakes named, and what can't be told is said."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from scribe.fit.room_adjust import adjust
from scribe.fit.room_readings import predicted
from scribe.fit.room_shape import features
from scribe.room_survey import DiagonalTaken, RoomSurvey, WidthTaken
from scribe.room_survey_file import room_survey
from scribe.toml_file import read_toml
from tests.honesty.survey import Truth, false_alarms, mistakes_found, sizes_within, survey
from tests.scenes import rooms

ATTIC = Path(__file__).parents[2] / "fixtures/attic-room/room.toml"


def drawn(seed: int) -> tuple[Truth, RoomSurvey]:
    rng = np.random.default_rng(seed)
    truth = Truth(rng)
    return truth, survey(truth, rng)


def test_a_sloping_ceiling_is_solved_on_both_sides_of_its_break() -> None:
    found = adjust(room_survey(read_toml(ATTIC)))
    assert not found.mistakes
    for x, z in ((300.0, 0.0), (1000.0, 500.0), (1800.0, 100.0)):
        size = found.opening.height(x, z)
        assert abs(size.value - (rooms.ceiling(x, z) - rooms.floor(x, z))) <= size.U
    for y in (200.0, 800.0):
        size = found.opening.width(y, 300.0)
        assert abs(size.value - (rooms.right(y, 300.0) - rooms.left(y, 300.0))) <= size.U
    ends = found.opening.section(0.0)
    assert np.abs(ends - [1400.0, 2298.0]).max(axis=1).min() < 8.0  # U of the break: about 6 mm
    assert not any("square" in each.name for each in features(found.opening, sloping=True))


def test_the_fixture_is_what_its_maker_writes() -> None:
    assert ATTIC.read_text("utf-8").endswith(rooms.readings())


def test_sizes_lie_within_u() -> None:
    """6 rooms of 15 sizes: at least 90 %; the sizes of a room go together, so 95 % scatters."""
    within, total = sizes_within(6)
    assert total == 90
    assert within / total >= 0.9


def test_mistakes_are_found_and_rooms_without_one_left_in_peace() -> None:
    assert mistakes_found(5, 1.5)[0] == 5
    # 4 of 100 are expected: 3 or more of 6 has a chance of 0.1 % (binomial).
    assert false_alarms(6) <= 2


def test_far_too_small_u_is_noticed() -> None:
    """The other way round: readings that err four times as much as stated are not believed."""
    _, rows = drawn(9)
    noise = np.random.default_rng(1).normal(0.0, 6.0, len(rows.readings))
    wild = tuple(replace(r, reads=r.reads + e) for r, e in zip(rows.readings, noise, strict=True))
    found = adjust(replace(rows, readings=wild))
    assert found.spread > 1.3 or found.mistakes


def test_a_reading_s_mistake_is_what_it_is_off_by_without_it() -> None:
    """v / r equals the reading less what the room solved without it makes of it."""
    _, rows = drawn(11)
    k = next(i for i, r in enumerate(rows.readings) if isinstance(r, DiagonalTaken))
    without = adjust(replace(rows, readings=(*rows.readings[:k], *rows.readings[k + 1 :])))
    (row,) = [c for c in adjust(rows).checked if c.reading is rows.readings[k]]
    off = row.reading.reads - predicted(row.reading, without.opening, {})
    assert row.blunder == pytest.approx(off, abs=0.05)


def test_two_readings_of_one_place_are_suspected_together() -> None:
    _, rows = drawn(7)
    at = [k for k, r in enumerate(rows.readings) if isinstance(r, WidthTaken)]
    lone = [r for k, r in enumerate(rows.readings) if k not in at and "diagonal" not in r.name]
    width = rows.readings[at[0]]
    again = replace(width, name="width again", reads=width.reads + 40.0)
    found = adjust(replace(rows, readings=(width, again, *lone)))
    (mistake,) = found.mistakes
    assert {each.reading.name for each in mistake.suspects} == {width.name, "width again"}
    assert found.undecided is mistake


def test_what_checks_a_reading_is_what_the_others_say() -> None:
    """With the same width taken twice and nothing else, each mistake shows by half."""
    _, rows = drawn(8)
    found = adjust(rows)
    total = sum(each.share for each in found.checked)
    assert 5.0 < total < len(found.checked)
    assert all(each.smallest > 4.0 * each.u for each in found.checked)
