"""Sizes of an opening: square rooms by hand, slanted ones by shapely, U by many surveys."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely

from scribe.errors import ScribeError
from scribe.fit.opening.opening_sizes import extremes, free_areas, opening_sizes
from scribe.fit.opening.standing_up import stand_up
from scribe.geom.rectangles import Rectangle, tallest_near, widest_near
from scribe.geom.region import Area
from scribe.opening import Opening
from scribe.sizes import OpeningSizes, Solid
from tests.fit.rooms import alcove, loft, shaken


@cache
def sized(name: str) -> tuple[Opening, OpeningSizes]:
    """A room, and what boxes 560 mm deep find in it (300 in the square one)."""
    if name == "square":
        room = Opening.square(1200.0, 2400.0, 350.0, u=0.5)
        return room, opening_sizes(room, 300.0)
    room = {"alcove": alcove, "loft": loft}[name]()
    return room, opening_sizes(room, 560.0)


def test_a_square_room_is_its_own_rectangle() -> None:
    _, found = sized("square")
    at = found.rectangle
    assert (at.width.value, at.height.value) == pytest.approx((1200.0, 2400.0), abs=0.01)
    # Two walls of u 0.5 each, floor and ceiling likewise: corners at each end count by their part.
    assert 0.3 < at.width.u < 0.8
    assert {each.name for each in found.extremes} == {"narrowest", "widest", "lowest", "highest"}


def test_a_box_that_fills_it_can_not_be_tipped_up() -> None:
    """2400 under 2400: the tallest of 300 deep is sqrt(2400^2 - 300^2) = 2381.2, less U."""
    room, found = sized("square")
    assert found.standing.spare.value == pytest.approx(2400.0 - np.hypot(2400.0, 300.0), abs=0.01)
    assert not found.standing.goes
    assert found.box is not None
    limit = np.sqrt(2400.0**2 - 300.0**2)
    assert found.box.height.value == pytest.approx(limit - found.standing.spare.U, abs=1.0)
    assert stand_up(room, found.box.at, 300.0).goes


def test_a_narrow_box_is_tipped_about_its_side_where_that_needs_less() -> None:
    """700 deep and 300 wide, 2300 tall under 2400: hypot(2300, 700) is 2404, with 300 2319."""
    room = Opening.square(3000.0, 2400.0, 800.0)
    found = stand_up(room, Rectangle(0.0, 0.0, 300.0, 2300.0), 700.0)
    assert found.way == "side"
    assert found.spare.value == pytest.approx(2400.0 - np.hypot(2300.0, 300.0), abs=0.01)
    assert found.goes


def test_a_higher_room_in_front_lets_it_be_tipped_there() -> None:
    room, at = Opening.square(1200.0, 2400.0, 350.0), Rectangle(0.0, 0.0, 1200.0, 2400.0)
    assert not stand_up(room, at, 300.0).goes
    assert stand_up(room, at, 300.0, room_height=2450.0).spare.value == pytest.approx(
        2450.0 - np.hypot(2400.0, 300.0)
    )


@pytest.mark.parametrize("name", ["alcove", "loft"])
def test_the_rectangle_is_free_at_every_depth(name: str) -> None:
    """shapely on sections that were not used: 12 between the front and 560 mm."""
    room, found = sized(name)
    at = found.rectangle.at
    inner = shapely.box(at.x0 + 0.01, at.y0 + 0.01, at.x1 - 0.01, at.y1 - 0.01)
    for z in np.linspace(0.0, 560.0, 13):
        assert shapely.Polygon(room.section(float(z), steps=8)).buffer(0.01).contains(inner)


def test_narrowest_and_lowest_are_found_where_they_are() -> None:
    by_name = {each.name: each for each in extremes(loft())}
    assert by_name["lowest"].size.value == pytest.approx(1003.0, abs=0.01)  # 1000 - (-3), front
    assert by_name["lowest"].where == "3000 mm from the left wall, at the front"
    assert by_name["highest"].size.value == pytest.approx(2400.8, abs=0.5)


def test_a_pipe_in_the_corner_is_kept_clear_of() -> None:
    room = Opening.square(1200.0, 2400.0, 350.0)
    pipe = Solid("pipe", (1150.0, -10.0, 0.0), (1210.0, 2500.0, 60.0))
    beside = Solid("pipe", (1150.0, -10.0, 310.0), (1210.0, 2500.0, 360.0))
    assert opening_sizes(room, 300.0, lambda _: [pipe]).rectangle.width.value == pytest.approx(
        1150.0
    )
    assert opening_sizes(room, 300.0, lambda _: [beside]).rectangle.width.value == pytest.approx(
        1200.0
    )


@pytest.mark.parametrize("name", ["alcove", "loft"])
def test_truth_lies_within_U(name: str) -> None:
    """150 surveys of one room: a size of each survey's rectangle, as the true room has it.

    With 95 % within U (k = 2 of a normal law gives 95.4), fewer than 88 % of 150 have a chance
    of about 1 in 2000 (binomial); u half as large would hold 68 %.
    """
    rng = np.random.default_rng(5)
    room, found = sized(name)
    near = found.rectangle
    at, true = near.at, free_areas(room, 560.0)

    def sizes(areas: list[Area]) -> np.ndarray:
        wide = widest_near(areas, at.height - 10.0, at.y0, 12.0).width
        return np.array([wide, tallest_near(areas, at.width - 10.0, at.x0, 12.0).height])

    U = np.array([near.width.U, near.height.U])
    surveys = [free_areas(shaken(room, rng), 560.0) for _ in range(150)]
    inside = np.abs(np.array([sizes(areas) for areas in surveys]) - sizes(true)) <= U
    assert np.mean(inside) >= 0.88
    assert np.mean(inside) <= 0.995  # and U isn't made large to be safe


def test_deeper_than_the_opening_is_refused() -> None:
    with pytest.raises(ScribeError) as caught:
        opening_sizes(alcove(), 640.0)
    assert caught.value.kind == "deeper-than-opening"
    assert "615 mm" in str(caught.value)


def test_a_closed_opening_is_refused() -> None:
    wall = Solid("wall", (-99.0, -99.0, 0.0), (9999.0, 9999.0, 100.0))
    with pytest.raises(ScribeError) as caught:
        opening_sizes(alcove(), 500.0, lambda _: [wall])
    assert caught.value.kind == "opening-closed"


def test_a_beam_along_the_depth_is_seen() -> None:
    """The ceiling drops at a depth of 300: the break counts, not front and back alone."""
    room = Opening.square(1200.0, 2400.0, 600.0)
    nodes = ((0.0, 2400.0, 2400.0), (300.0, 2250.0, 2250.0), (600.0, 2400.0, 2400.0))
    room = replace(room, along="depth", ceiling=nodes, covariance=np.eye(27) * 0.01)
    assert opening_sizes(room, 590.0).rectangle.height.value == pytest.approx(2250.0, abs=0.01)
