"""The noun that flows keeps what it promises, and says which field is wrong when it can't."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.datum import Datum
from scribe.errors import ScribeError
from scribe.facing import axis_facing, side_facing
from scribe.outline import Outline

POINTS = np.array([[0.0, 0.0], [10.0, 1.0], [20.0, 0.0]])
U = np.array([0.1, 0.2, 0.1])


def outline(**changes: object) -> Outline:
    given: dict[str, object] = {"points": POINTS, "u": U, "solid": "left", "origin": "wall.jpg"}
    return Outline(**(given | changes))


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("points", POINTS[:1]),
        ("points", np.zeros((3, 3))),
        ("points", np.array([[0.0, 0.0], [np.nan, 1.0], [20.0, 0.0]])),
        ("points", np.array([[0.0, 0.0], [0.0, 0.0], [20.0, 0.0]])),
        ("points", np.array([[0.0, 0.0], [10.0, 0.0], [2e8, 0.0]])),  # 200 km
        ("u", U[:2]),
        ("u", -U),
        ("u", np.array([0.1, np.inf, 0.1])),
        ("solid", "above"),
        ("measured", np.ones(2, bool)),
        ("budget", {"edge": np.ones(2)}),
    ],
)
def test_a_broken_outline_is_refused_by_field(field: str, value: object) -> None:
    with pytest.raises(ScribeError, match=rf"wall\.jpg: .*\({field}\)") as refusal:
        outline(**{field: value})
    assert refusal.value.kind == "outline-invalid"


def test_nothing_in_it_can_be_changed_or_is_shared() -> None:
    points = POINTS.copy()
    made = outline(points=points, budget={"edge": U})
    points[0] = 99.0
    assert made.points[0, 0] == 0.0
    for array in (made.points, made.u, made.measured, made.budget["edge"]):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 1
    with pytest.raises(TypeError):
        made.budget["edge"] = U


def test_left_out_every_point_was_measured_and_U_is_twice_u() -> None:
    assert outline().measured.all()
    assert outline().U == pytest.approx([0.2, 0.4, 0.2])  # k = 2, JCGM 100, 6.2


def test_turned_round_the_building_lies_on_the_other_hand() -> None:
    made = outline(measured=np.array([True, False, False]), budget={"edge": U})
    back = made.reversed()
    assert back.solid == "right"
    assert back.measured.tolist() == [False, False, True]
    assert np.array_equal(back.points, POINTS[::-1])
    again = back.reversed()
    assert np.array_equal(again.points, made.points)
    assert again.solid == made.solid


def test_a_datum_has_a_direction() -> None:
    datum = Datum(np.zeros(2), np.array([3.0, 4.0]), "chord")
    assert datum.direction == pytest.approx([0.6, 0.8])
    assert datum.towards == pytest.approx([-0.8, 0.6])  # turned 90 degrees to the left
    for direction in ([0.0, 0.0], [np.nan, 1.0]):
        with pytest.raises(ScribeError) as refusal:
            Datum(np.zeros(2), np.array(direction), "chord")
        assert refusal.value.kind == "datum-invalid"


@pytest.mark.parametrize(
    ("to", "building", "side"),
    [
        ((100, 0), "above", "left"),
        ((100, 0), "below", "right"),
        ((-100, 0), "above", "right"),
        ((0, 100), "left", "left"),
        ((0, 100), "right", "right"),
        ((100, 80), "above", "left"),
    ],
)
def test_the_building_lies_where_it_was_said(to: tuple[int, int], building: str, side: str) -> None:
    points = np.array([(0, 0), to], dtype=float)
    assert side_facing(points, building, "wall.csv") == side


def test_an_outline_that_runs_at_the_building_has_no_side() -> None:
    with pytest.raises(ScribeError) as refusal:
        side_facing(np.array([[0.0, 0.0], [1.0, 100.0]]), "above", "wall.csv")
    assert refusal.value.kind == "outline-side"


def test_stations_run_along_the_axis_square_to_the_building() -> None:
    assert axis_facing("above").direction == pytest.approx([1.0, 0.0])
    assert axis_facing("left").direction == pytest.approx([0.0, 1.0])
