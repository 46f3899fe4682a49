"""The opening: its surfaces, its corners, and how its uncertainty is carried on."""

from __future__ import annotations

from math import hypot, sqrt

import numpy as np
import pytest

from scribe.errors import ScribeError
from scribe.opening import Opening

BOX = Opening.square(1200.0, 2400.0, 350.0, u=0.5)


def leaning() -> Opening:
    """Left wall 24 mm in at the top in front, plumb at the back; ceiling falls 120 to the right."""
    values = BOX.vector
    values[1] = 24.0
    values[-2:] -= 120.0
    return BOX.with_vector(values)


def test_a_square_room_has_its_own_sizes() -> None:
    for size, value in ((BOX.width(900, 100), 1200.0), (BOX.height(300, 0), 2400.0),
                        (BOX.depth(10, 20), 350.0)):  # fmt: skip
        assert size.value == pytest.approx(value)


def test_u_of_a_width_between_corner_values_follows_from_theirs() -> None:
    # At half height, in front: a mean of two values of u = 0.5 on the right wall, and of one
    # such value and the origin on the left: u^2 = 0.25 (1/4 + 1/4 + 1/4).
    assert BOX.width(1200, 0).u == pytest.approx(sqrt(0.25 * 0.75))


def test_a_wall_that_twists_is_ruled_between_front_and_back() -> None:
    room = leaning()
    assert room.wall_x("left", 1200, 0) == pytest.approx(12.0)
    assert room.wall_x("left", 1200, 175) == pytest.approx(6.0)
    assert room.wall_x("left", 2400, 350) == pytest.approx(0.0)


def test_a_corner_is_where_wall_and_ceiling_meet() -> None:
    # y = 2400 - 120 x / 1200 and x = 24 y / 2400: y = 2400 / (1 + 0.001).
    x, y, z = leaning().corner("front", "top", "left")
    assert (x, y, z) == pytest.approx((24 / 1.001, 2400 / 1.001, 0.0))


def test_a_bow_is_greatest_at_half_height() -> None:
    values = BOX.vector
    values[4] = 8.0
    room = BOX.with_vector(values)
    assert room.wall_x("left", 1200, 100) == pytest.approx(8.0)
    assert room.wall_x("left", 600, 100) == pytest.approx(6.0)  # 4 * 8 * 1/4 * 3/4
    assert len(room.section(0.0)) == 4 + 7


def test_a_section_runs_counter_clockwise_and_holds_the_breaks() -> None:
    square = BOX.section(100.0)
    assert square.tolist() == [[0, 0], [1200, 0], [1200, 2400], [0, 2400]]
    sloping = Opening(
        "eaves", (2000.0, 2300.0, 600.0), (0.0,) * 4, (2000.0,) * 4, (0.0,) * 4, (600.0,) * 4,
        ((0.0, 900.0, 900.0), (1400.0, 2300.0, 2300.0), (2000.0, 2300.0, 2300.0)),
        np.zeros((27, 27)),
    )  # fmt: skip
    assert sloping.section(0.0).tolist() == [
        [0, 0], [2000, 0], [2000, 2300], [1400, 2300], [0, 900]
    ]  # fmt: skip
    assert sloping.ceiling_y(700, 300) == pytest.approx(1600.0)


def test_a_ceiling_may_fall_to_the_back() -> None:
    room = Opening(
        "under the stairs", (900.0, 2000.0, 800.0), (0.0,) * 4, (900.0,) * 4, (0.0,) * 4,
        (800.0,) * 4, ((0.0, 2000.0, 2010.0), (800.0, 1200.0, 1210.0)), np.zeros((24, 24)),
        along="depth",
    )  # fmt: skip
    assert room.ceiling_y(0, 400) == pytest.approx(1600.0)
    assert room.ceiling_y(900, 0) == pytest.approx(2010.0)
    assert room.section(400.0).tolist() == [[0, 0], [900, 0], [900, 1610], [0, 1600]]


def test_a_function_s_u_is_that_of_its_sensitivities() -> None:
    # d = hypot(W, H) of the front: both far corners move it; dd/dW = W/d, dd/dH = H/d.
    def diagonal(room: Opening) -> float:
        return float(hypot(*room.corner("front", "top", "right")[:2]))

    d = hypot(1200, 2400)
    found = BOX.size(diagonal)
    assert found.value == pytest.approx(d)
    assert found.u == pytest.approx(0.5 * hypot(1200 / d, 2400 / d), rel=1e-6)


def test_shared_errors_are_carried_together() -> None:
    """What moves both widths by as much leaves their difference alone."""
    together = np.zeros(24)
    together[5:9] = 2.0
    room = BOX.with_covariance(np.outer(together, together))
    values, covariance = room.propagate(
        lambda r: [r.wall_x("right", 0, 0), r.wall_x("right", 2400, 350)]
    )
    assert values.tolist() == [1200.0, 1200.0]
    assert covariance == pytest.approx(np.full((2, 2), 4.0))
    assert room.size(lambda r: r.right[0] - r.right[3]).u == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    "change",
    [
        {"covariance": np.eye(3)},
        {"ceiling": ((0.0, 1.0, 1.0), (0.0, 1.0, 1.0))},
        {"reference": (0.0, 1.0, 1.0)},
        {"unevenness": -1.0},
    ],
)
def test_an_opening_that_makes_no_sense_is_refused(change: dict[str, object]) -> None:
    with pytest.raises(ScribeError) as refusal:
        Opening(**(BOX.__dict__ | change))
    assert refusal.value.kind == "opening-invalid"
