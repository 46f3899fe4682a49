"""Rooms of known truth are solved within U, mistakes named, and what can't be told is said."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from scribe.fit.opening.room_adjust import adjust, own_u
from scribe.fit.opening.room_readings import predicted
from scribe.fit.opening.room_shape import features
from scribe.room_survey import (
    DiagonalTaken,
    LeanTaken,
    PlumbTaken,
    RoomSurvey,
    SlopeTaken,
    Spot,
    Taken,
    Walls,
    WidthTaken,
)
from scribe.room_survey_file import room_survey
from scribe.toml_file import read_toml
from tests.honesty.survey import Truth, false_alarms, mistakes_found, sizes_within, survey
from tests.scenes import rooms

ATTIC = Path(__file__).parents[3] / "fixtures/attic-room/room.toml"


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


def test_plumb_lines_levels_and_spots_say_what_their_room_is() -> None:
    """Exact readings of every other kind, from closed forms: each is met to a hundredth of a mm.

    The assumptions pull by (u of a reading / 5 mm)^2 of some mm; hence the tolerance.
    """
    truth, rows = drawn(13)
    read: list[Taken] = []

    def add(kind: type[Taken], true: float, by: str, **where: object) -> None:
        name = f"{kind.__name__} {len(read)}"
        read.append(kind(name, name, float(true), 0.02, by, **where))

    for line, (side, sign) in enumerate((("left", 1.0), ("right", -1.0))):
        for up in (150.0, 900.0, 1500.0, 2300.0):
            y = truth.floor(1200.0 * line, 100.0) + up
            wall = truth.wall[line](y, 100.0)
            hangs = 60.0 if line == 0 else 1140.0
            add(PlumbTaken, sign * (hangs - wall), "plumb bob", line=line + 1, wall=side,
                at=100.0, height=up)  # fmt: skip
    for up in (200.0, 2200.0):
        z = truth.back(400.0, truth.floor(400.0, 350.0) + up)
        add(PlumbTaken, z - 300.0, "plumb bob", line=3, wall="back", at=400.0, height=up)
    low, high = (
        truth.back(900.0, truth.floor(900.0, 350.0) + up) for up in (100.0, 1900.0)
    )  # fmt: skip
    add(LeanTaken, low - high, "level", wall="back", at=900.0, low=100.0, over=1800.0)
    for surface, level in (("floor", truth.floor), ("ceiling", truth.ceiling)):
        add(SlopeTaken, level(500.0, 320.0) - level(500.0, 20.0), "level", surface=surface,
            along="depth", start=20.0, over=300.0, at=500.0)  # fmt: skip
    y = truth.floor(0.0, 50.0) + 800.0
    x, far = float(truth.wall[0](y, 50.0)), 700.0
    up = truth.floor(far, 350.0) + 300.0
    z = float(truth.back(far, up))
    add(DiagonalTaken, np.linalg.norm([far - x, up - y, z - 50.0]), "tape",
        start=Spot("left", 800.0, depth=50.0), end=Spot("back", 300.0, far))  # fmt: skip
    usual = [replace(each, U=4.0) for each in rows.readings]  # the faces' unevenness is in it
    exact = replace(rows, readings=(*usual, *read), walls=Walls(uneven=0.002))
    assert all(own_u(exact, each) < 0.02 for each in read)
    found = adjust(exact)
    assert not found.mistakes
    for each in found.checked:
        assert abs(each.too_much) < (0.05 if each.reading in read else 3.3 * each.u)
    room = found.opening
    for k, side in ((0, "left"), (1, "right")):
        ends = [room.wall_x(side, y, 100.0) - truth.wall[k](y, 100.0) for y in (200.0, 2200.0)]
        assert ends[1] - ends[0] == pytest.approx(0.0, abs=0.1)
    ends = [room.back_z(900.0, y) - truth.back(900.0, y) for y in (100.0, 1900.0)]
    assert ends[1] - ends[0] == pytest.approx(0.0, abs=0.1)
    for ours, true in ((room.floor_y, truth.floor), (room.ceiling_y, truth.ceiling)):
        rise = ours(500.0, 320.0) - ours(500.0, 20.0)
        assert rise == pytest.approx(true(500.0, 320.0) - true(500.0, 20.0), abs=0.1)
    met = predicted(read[-1], room, {})
    assert met == pytest.approx(read[-1].reads, abs=0.05)
