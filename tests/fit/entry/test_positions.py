"""The drawn way in: shapely says that no position stands in a wall, and where it is tight."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from scribe.fit.entry.positions import in_plane_passage, tilted_passage
from scribe.fit.entry.tilting import PLUMB, Closing, Sections, tilted
from scribe.fit.entry.way_in import Found, in_plane
from scribe.passage import Passage

FAR = 5000.0


def solids(passage: Passage) -> list[shapely.Polygon]:
    """What lies behind the left wall and the right one."""
    pushes = ((-FAR, 0.0), (FAR, 0.0))
    return [
        shapely.Polygon([*wall, *(wall + push)[::-1]])
        for wall, push in zip(passage.walls[:2], pushes, strict=True)
    ]


def wall(x, y=(-2000.0, 2000.0)) -> np.ndarray:
    return np.column_stack([x, y]).astype(float)


SHELF = np.array([[-499.0, 0], [499.0, 0], [499.0, 300], [-499.0, 300]])
NIB = wall([-500, -500, -494, -494, -500, -500], [-2000, -131, -130, -101, -100, 2000])
LEANING = (wall([-530, -470]), wall([470, 530]))  # both the same way, 3 in 200


@pytest.mark.parametrize(
    ("left", "right", "turns"),
    [
        (wall([-500, -500]), wall([500, 500]), False),
        (*LEANING, False),
        (NIB, wall([500, 500, 510, 510], [-2000, -60, -59, 2000]), True),
    ],
)
def test_no_position_stands_in_a_wall(left: np.ndarray, right: np.ndarray, turns: bool) -> None:
    """Steps of 2 mm and turns of 0.05 degrees leave 0.3 mm at most on such walls."""
    piece = SHELF if left is not LEANING[0] else SHELF + 0.015 * SHELF[:, 1:] * [1.0, 0.0]
    found = in_plane(piece, left, right, turns=turns)
    passage = in_plane_passage(found, piece, (left, right), ("left", "right"), "goes")
    assert passage is not None
    for ring in passage.positions:
        body = shapely.Polygon(ring)
        assert body.area == pytest.approx(shapely.Polygon(piece).area)
        depth = max(body.intersection(solid).area for solid in solids(passage)) / 300.0
        assert depth < max(0.01, -found.spare)
    np.testing.assert_allclose(passage.positions[-1], piece)
    assert passage.positions[0][:, 1].max() < piece[:, 1].max() - 290.0  # outside


def test_where_it_sticks_is_where_wall_and_piece_meet() -> None:
    """An alcove wider at the back by 3 mm on each side over 300: home, the shelf has 1 mm to both
    sides; pulled out by p it stands in the walls at its back by p / 100 less that.
    """
    left, right = wall([-480, -520]), wall([480, 520])
    piece = np.array([[-499.0, 0], [499, 0], [502, 300], [-502, 300]])
    found = in_plane(piece, left, right, turns=False)
    passage = in_plane_passage(found, piece, (left, right), ("left", "right"), "sticks")
    assert passage is not None
    assert passage.spare == pytest.approx(-4.0, abs=0.05)
    ring = shapely.Polygon(passage.positions[passage.tight])
    over = [ring.intersection(solid) for solid in solids(passage)]
    for spot, solid in zip(passage.spots, over, strict=True):
        assert ring.exterior.distance(shapely.Point(spot)) < 0.01
        assert solid.distance(shapely.Point(spot)) < 0.01


@pytest.mark.parametrize("closing", [PLUMB, (Closing(0.01), Closing(-0.02))])
@pytest.mark.parametrize("above", [True, False])
def test_a_tilted_section_keeps_clear_of_both_walls(
    closing: tuple[Closing, Closing], above: bool
) -> None:
    none = np.zeros(1)
    sections = Sections(none, none + 1000.0, none - 0.6, none + 1000.6, 18.0)
    found = tilted(sections, closing)
    assert found.spare > 0.0
    passage = tilted_passage(sections, found, closing, ("left", "right"), "tilts", above=above)
    for ring in passage.positions:
        body = shapely.Polygon(ring)
        assert body.is_valid
        assert all(body.intersection(solid).area < 1e-6 for solid in solids(passage))
    ends = [ring[:, 1].mean() for ring in passage.positions]
    assert (ends == sorted(ends, reverse=True)) is above


def test_a_wall_behind_that_lets_nothing_out_draws_nothing() -> None:
    held = Found("slide", -np.inf, 0.0, 0.0, True, np.zeros((1, 4)), 0)
    assert in_plane_passage(held, SHELF, (), ("left", "right"), "") is None
