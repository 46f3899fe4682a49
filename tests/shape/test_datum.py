from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribe.errors import ScribeError
from scribe.geom.frames import turned
from scribe.outline import Outline
from scribe.shape.datum import ASSOCIATIONS, to_datum

# A wall that is not its own mirror image: one bump, nearer to its left end.
X = np.arange(0.0, 201.0, 2.0)
WALL = np.column_stack([X, 100.0 + 0.02 * X + 4.0 * np.exp(-(((X - 50.0) / 15.0) ** 2))])


def wall(points: np.ndarray = WALL, solid: str = "left") -> Outline:
    return Outline(points, np.linspace(0.02, 0.05, len(points)), solid, origin="wall")


def settings_of(association: str) -> dict:
    return {"points": [[10.0, 0.0], [190.0, 5.0]]} if association == "two points" else {}


@pytest.mark.parametrize("association", ASSOCIATIONS)
def test_distances_are_kept_and_nothing_is_mirrored(association: str):
    for outline in (wall(), wall(WALL[::-1], "right"), wall(WALL[::-1], "left")):
        moved = to_datum(outline, association, **settings_of(association))
        same = moved.points if outline.solid == "left" else moved.points[::-1]
        both = [p[:, None] - p[None, :] for p in (outline.points, same)]
        assert np.allclose(np.hypot(*both[0].T), np.hypot(*both[1].T), atol=1e-9)
        # The sense of a triangle changes in a mirror and in nothing else.
        sense = [
            np.linalg.det(np.stack([p[25] - p[0], p[90] - p[0]])) for p in (outline.points, same)
        ]
        assert sense[0] == pytest.approx(sense[1])
        assert moved.solid == "left"
        assert moved.points[-1, 0] > moved.points[0, 0]
        assert moved.datum.association == association
        assert moved.datum.direction.tolist() == [1.0, 0.0]


def test_the_building_turns_up_ahead():
    # The building lies below (a floor seen from the room): half a turn brings it up, left becomes
    # right, and the bump near x = 50 is found near x = 150.
    below = wall(WALL, "right")
    moved = to_datum(below, "chord")
    assert moved.points[np.argmin(moved.points[:, 1]), 0] == pytest.approx(150.0, abs=3.0)
    assert moved.u[0] == below.u[-1]
    assert np.allclose(moved.points[[0, -1], 1], 0.0, atol=1e-9)


def test_each_datum_lies_where_its_name_says():
    chord = to_datum(wall(), "chord")
    assert np.allclose(chord.points[[0, -1], 1], 0.0, atol=1e-9)
    fitted = to_datum(wall(), "least squares").points
    assert fitted[:, 1].mean() == pytest.approx(0.0, abs=1e-9)
    assert fitted[0, 0] == pytest.approx(0.0, abs=1e-9)
    zone = to_datum(wall(), "minimum zone").points[:, 1]
    assert zone.max() == pytest.approx(-zone.min())
    assert np.ptp(zone) <= np.ptp(fitted[:, 1])
    assert np.array_equal(to_datum(wall(), "sheet axis").points, WALL)
    two = to_datum(wall(), "two points", points=[[190.0, 100.0], [10.0, 100.0]])
    assert np.allclose(two.points, WALL - [10.0, 100.0])  # the left one of the two is the end


def test_unmeasured_points_do_not_set_a_datum():
    spoiled = WALL.copy()
    spoiled[40:45, 1] += 80.0
    mask = np.ones(len(X), bool)
    mask[40:45] = False
    outline = wall(spoiled).with_(measured=mask)
    for association in ("least squares", "minimum zone"):
        good = to_datum(outline, association).points[mask]
        # Nothing but the measured points: the same as an outline that has no others.
        alone = to_datum(wall(WALL[mask]), association).points
        assert np.allclose(good, alone, atol=1e-9)
        swayed = to_datum(wall(spoiled), association).points[mask]
        assert not np.allclose(swayed, alone, atol=1.0)


@given(
    st.floats(-3, 3),
    st.floats(-500, 500),
    st.sampled_from(["chord", "least squares", "minimum zone"]),
)
def test_it_matters_not_how_the_sheet_lay(angle: float, shift: float, association: str):
    moved = wall().in_frame(turned(angle, (shift, -shift)))
    one, other = to_datum(wall(), association), to_datum(moved, association)
    assert np.allclose(one.points, other.points, atol=1e-7)
    back = to_datum(moved.reversed(), association)
    assert np.allclose(back.points, one.points, atol=1e-7)


def refusal(association: str, **settings: object) -> str:
    with pytest.raises(ScribeError) as caught:
        to_datum(wall(), association, **settings)
    return caught.value.kind


def test_refusals():
    assert refusal("chord", end="right") == "datum-end"
    assert refusal("plumb") == "datum-unknown"
    assert refusal("two points") == "datum-unknown"
    assert refusal("two points", points=[[0, 0], [1, 50]]) == "datum-across"
    assert refusal("two points", points=[[5, 5], [5, 5]]) == "datum-invalid"
    upright = wall(WALL[:, ::-1])
    with pytest.raises(ScribeError, match="across"):
        to_datum(upright, "sheet axis")
