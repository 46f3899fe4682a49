"""Pieces that meet in a corner: where they cross, or by an angle."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scribe.errors import ScribeError
from scribe.geom.corner_laying import by_diagonal
from scribe.geom.frames import turned
from scribe.joint import Joint
from scribe.outline import Outline
from scribe.shape.join import join
from tests.shape.pieces import piece


def ceiling_and_wall() -> tuple[Outline, Outline]:
    """A ceiling of 100 mm, level at y = 0, and a wall on its right, plumb, 400 mm down."""
    ceiling = np.column_stack([np.linspace(0.0, 100.0, 101), np.zeros(101)])
    down = np.column_stack([np.full(401, 100.0), -np.linspace(0.0, 400.0, 401)])
    return piece(ceiling, 0.1), piece(down, 0.1)


@pytest.mark.parametrize("gap", [0.0, 8.0])
def test_what_was_taken_in_one_frame_meets_where_it_crosses(gap: float) -> None:
    """The corner is the exact crossing, and its U that of both lines (0.1 mm each, square)."""
    ceiling, down = ceiling_and_wall()
    ceiling = piece(ceiling.points[: 101 - int(gap)] + np.array([0.0, 0.5]), 0.1)
    joined = join(
        [ceiling, down], [Joint("crossing", reach=20.0)], ["ceiling", "wall"]
    ).outline  # fmt: skip
    corner = int(np.argmin(np.hypot(*(joined.points - [100.0, 0.5]).T)))
    assert joined.points[corner] == pytest.approx([100.0, 0.5], abs=1e-9)
    assert joined.measured.all() == (gap == 0.0 and bool(joined.measured[corner]))
    if gap:
        assert not joined.measured[corner]
        assert joined.u[corner] > joined.u[10]
    with pytest.raises(ScribeError) as caught:
        join([ceiling, piece(down.points - [0, 60.0])], [Joint("crossing")], ["c", "w"])
    assert caught.value.kind == "join-apart"


def test_a_corner_by_its_angle_and_by_its_diagonal() -> None:
    """87 deg in the room: the wall hangs 3 deg inwards; 300, 400 and the third side by hand."""
    ceiling, down = ceiling_and_wall()
    turned_away = down.in_frame(turned(0.7, (50.0, 9.0)))
    angle = np.radians(87.0)
    third = float(np.sqrt(80.0**2 + 300.0**2 - 2 * 80.0 * 300.0 * np.cos(angle)))
    for joint in (Joint("corner", angle=87.0), Joint("corner", diagonal=(80.0, 300.0, third))):
        for order in ("short first", "long first"):
            joined = join([ceiling, turned_away], [joint], ["ceiling", "wall"]).outline
            ends = joined.points[[0, -1]]
            corner = joined.points[
                int(np.argmax(np.abs(np.diff(joined.points, n=2, axis=0)).sum(axis=1))) + 1
            ]
            legs = ends - corner
            cosine = legs[0] @ legs[1] / np.prod(np.hypot(*legs.T))
            assert np.degrees(np.arccos(cosine)) == pytest.approx(87.0, abs=1e-6), order
            # The room lies on the right of travel: the turn there is 93 deg clockwise.
            cross = (corner - ends[0])[0] * legs[1][1] - (corner - ends[0])[1] * legs[1][0]
            assert cross < 0.0
    with pytest.raises(ScribeError) as caught:
        join([ceiling, down], [Joint("corner", diagonal=(80.0, 300.0, 400.0))], ["c", "w"])
    assert caught.value.kind == "join-angle"


def test_the_angle_is_uncertain_and_u_grows_with_the_way_from_the_corner() -> None:
    """0.5 deg (U) of a bevel is 0.25 deg of u: 1.745 mm at 400 mm, and 0.5 mm of either end."""
    ceiling, down = ceiling_and_wall()
    longer = piece(np.vstack([[[-900.0, 0.0]], ceiling.points]), 0.1)
    joined = join([longer, down], [Joint("corner", angle=90.0)], ["c", "w"]).outline
    leg = np.hypot(400.0 * np.radians(0.25), 0.5)
    # Where the bevel's blades lie, 200 mm away, noise of 0.1 mm turns it as well.
    assert joined.u[-1] == pytest.approx(np.hypot(leg, 0.1), rel=0.05)
    assert by_diagonal(3.0, 4.0, 5.0, 0.0)[0] == pytest.approx(np.pi / 2)


@given(st.floats(0.05, 1.5), st.floats(5.0, 60.0), st.floats(5.0, 60.0))
@settings(max_examples=25)
def test_a_crossing_is_where_shapely_has_it(lean: float, beyond: float, before: float) -> None:
    """A ceiling that goes `beyond` the corner, and a leaning wall that begins `before` it."""
    ceiling = np.column_stack([np.linspace(0.0, 400.0 + beyond, 90), np.zeros(90)])
    ceiling[:, 1] = 3.0 * np.sin(ceiling[:, 0] / 40.0)
    t = np.linspace(-before, 500.0, 120)
    down = np.column_stack([400.0 + t * np.cos(-lean), t * np.sin(-lean)])
    meet = shapely.get_coordinates(
        shapely.intersection(shapely.linestrings(ceiling), shapely.linestrings(down))
    )
    assume(len(meet) == 1)
    joined = join([piece(ceiling), piece(down)], [Joint("crossing")], ["c", "w"]).outline
    assert np.hypot(*(joined.points - meet[0]).T).min() < 1e-9


def test_an_alcove_of_three_sides_meets_in_two_corners_that_nobody_measured() -> None:
    """Ceiling, wall and floor end 10 mm before corners at (1000, 1000) and (1000, 0).

    Carried on by 10 of the 30 mm that may be, each side adds 2 mm on a metre of what a wall may
    do there: 0.02 mm across it, and nothing where it was measured.
    """

    def side(start: tuple[float, float], stop: tuple[float, float]) -> Outline:
        return piece(np.linspace(start, stop, 40), 0.1)

    sides = [side((0, 1000), (990, 1000)), side((1000, 990), (1000, 10)), side((990, 0), (10, 0))]
    joint = Joint("crossing", reach=30.0)
    joined = join(sides, [joint, joint], ["ceiling", "wall", "floor"]).outline
    for corner in ((1000.0, 1000.0), (1000.0, 0.0)):
        away = np.hypot(*(joined.points - corner).T)
        assert away.min() < 1e-9
        unseen = joined.budget["carried on"]
        assert unseen[away.argmin()] == pytest.approx(np.hypot(0.02, 0.02) / np.sqrt(2), rel=0.01)
    assert unseen[joined.points[:, 0] < 980.0].max() == 0.0


def test_pieces_in_the_wrong_order_or_of_the_same_stretch_do_not_cross_as_a_corner() -> None:
    ceiling, down = ceiling_and_wall()
    down = piece(down.points + np.array([0.0, 10.0]))  # both go 10 mm beyond
    ceiling = piece(np.vstack([ceiling.points, [[110.0, 0.0]]]))
    assert len(join([ceiling, down], [Joint("crossing")], ["c", "w"]).outline) > 400
    with pytest.raises(ScribeError) as caught:
        join([down, ceiling], [Joint("crossing")], ["wall", "ceiling"])
    assert caught.value.kind == "join-order"
    x = np.linspace(0.0, 600.0, 301)
    one, two = (piece(np.column_stack([x, 5.0 * np.sin(x / wave)])) for wave in (40.0, 25.0))
    with pytest.raises(ScribeError) as caught:
        join([one, two], [Joint("crossing")], ["a", "b"])
    assert caught.value.kind == "join-crosses-often"


def test_a_diagonal_beyond_the_outlines_end_is_refused() -> None:
    ceiling, down = ceiling_and_wall()
    for legs in ((300.0, 400.0, 500.0), (80.0, 900.0, 903.0)):
        with pytest.raises(ScribeError, match="only") as caught:
            join([ceiling, down], [Joint("corner", diagonal=legs)], ["c", "w"])
        assert caught.value.kind == "join-angle"
