"""Readings taken by hand: against geometry worked out by other means, and what is refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribe.budget import entries
from scribe.capture.numbers import readings_curve
from scribe.errors import ScribeError
from scribe.recipes.quantities import bow
from scribe.shape.datum import to_datum
from tests.capture.numbers.by_hand import at, read


@pytest.mark.parametrize(
    "text",
    [
        "station,offset\n0,12.5\n400,20\n800,17\n",
        "Along (cm); Gap (mm)\n0; 12,5\n40; 20,0\n80; 17\n",
        "at;distance [cm]\n0;1,25\n400 mm;2\n0.8 m;1,7\n",
    ],
)
def test_offsets_in_any_unit(text: str, tmp_path: Path) -> None:
    outline = read(tmp_path, text, "offsets")
    assert [at(outline, x) for x in (0, 400, 800)] == pytest.approx([12.5, 20.0, 17.0])
    assert outline.solid == "left"
    assert outline.u[0] == pytest.approx(0.25, rel=0.01)  # U 0.5 of a rule's reading
    assert np.diff(outline.points[:, 0]).max() <= 5.0 + 1e-9


def test_inches_with_fractions(tmp_path: Path) -> None:
    outline = read(tmp_path, "station;offset\n0;1/2 in\n2 3/8 in;1 in\n10 in;3/4 in\n", "offsets")
    assert at(outline, 60.325) == pytest.approx(25.4, abs=1e-6)
    assert at(outline, 254.0) == pytest.approx(19.05)


def test_below_a_straight_edge_offsets_go_down(tmp_path: Path) -> None:
    outline = read(tmp_path, "station,gap\n0,1\n300,4\n", "feelers", "below")
    assert at(outline, 300.0) == pytest.approx(-4.0)
    assert outline.solid == "right"


def test_hundreds_of_readings_are_as_sure_as_if_each_were_told_apart(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """U is the same, and beside a datum through many of them within 1 / 25; the number of errors
    that are carried on one by one stays below 3 x 25 readings and twice as many stretches.
    """
    x = np.arange(0.0, 2400.0, 20.0)
    y = 20.0 + 3.0 * np.sin(x / 300.0)
    text = "station,offset\n" + "".join(f"{a},{b:.2f}\n" for a, b in zip(x, y, strict=True))
    found = read(tmp_path, text, "offsets")
    assert len(found.shared["reading"]) <= 75
    assert len(found.shared["between"]) <= 150
    monkeypatch.setattr(readings_curve, "_APART", 1000)
    apart = read(tmp_path, text, "offsets")
    assert len(apart.shared["reading"]) == len(x)
    assert found.u == pytest.approx(apart.u, rel=1e-9)
    assert bow(found).u == pytest.approx(bow(apart).u, rel=0.01)
    for datum in ("chord", "least squares", "minimum zone"):
        one, other = (to_datum(each, datum).u for each in (found, apart))
        assert one == pytest.approx(other, rel=0.04, abs=1e-9)


@given(st.lists(st.floats(0.0, 40.0), min_size=3, max_size=9))
@settings(max_examples=30)
def test_the_curve_never_overshoots(tmp_path_factory, heights: list[float]) -> None:
    """Between two readings it stays between them (Fritsch and Carlson 1980)."""
    text = "station,offset\n" + "".join(f"{k * 300},{h:.3f}\n" for k, h in enumerate(heights))
    outline = read(tmp_path_factory.mktemp("r"), text, "offsets")
    for k in range(len(heights) - 1):
        part = (outline.points[:, 0] >= k * 300) & (outline.points[:, 0] <= (k + 1) * 300)
        low, high = sorted((round(heights[k], 3), round(heights[k + 1], 3)))
        assert outline.points[part, 1].min() >= low - 1e-9
        assert outline.points[part, 1].max() <= high + 1e-9


def test_u_grows_between_readings_and_holds_a_bend(tmp_path: Path) -> None:
    """y = x^2 / 4000 read every 200 mm: the curve is not the parabola, the parabola within U."""
    text = "station,offset\n" + "".join(f"{x},{x * x / 4000}\n" for x in range(0, 1001, 200))
    outline = read(tmp_path, text, "feelers", u95=0.001)
    assert outline.budget["between"][0] == pytest.approx(0.0, abs=1e-3)
    error = np.abs(outline.points[:, 1] - outline.points[:, 0] ** 2 / 4000)
    assert error.max() > 0.2
    assert (error <= outline.U + 2e-3).all()


def test_a_straight_edges_own_bow_is_common_to_all_readings(tmp_path: Path) -> None:
    """0.1 mm on a metre (u): 0.2 mm in the middle of two metres, as one bow, not as noise."""
    text = "station,offset\n" + "".join(f"{x},10\n" for x in range(0, 2001, 50))
    outline = read(tmp_path, text, "offsets")
    (bow,) = outline.shared["straight edge"]
    assert bow[:, 1].max() == pytest.approx(0.2)
    assert bow[[0, -1], 1] == pytest.approx([0.0, 0.0])
    assert len(outline.shared["reading"]) == 41
    assert "straight edge" not in read(tmp_path, text, "feelers").budget
    assert all(row.meaning for row in entries(outline))


def test_a_walked_level_sums_up(tmp_path: Path) -> None:
    """Steps of 1000 mm: +2, -1 and +0.5 mm/m end 1.5 mm higher; 0.5 deg on 600 mm adds 5.236."""
    text = "step,slope\n1000,2\n1000,-1\n1000,0.5\n600,0.5 deg\n"
    outline = read(tmp_path, text, "level", "below", u95=0.4)
    assert at(outline, 3000.0) == pytest.approx(1.5)
    assert outline.points[-1, 1] == pytest.approx(1.5 + 600 * np.sin(np.radians(0.5)), abs=1e-4)
    # Errors of the steps add up: 0.2 mm (u) each after three metres; the level's own error
    # (0.25 mm on a metre) tilts all of it.
    assert np.interp(3000.0, outline.points[:, 0], outline.budget["walk"]) == pytest.approx(
        np.hypot(0.2 * 3**0.5, 0.75),
        rel=1e-5,  # three steps at 2 mm/m go 6 um less than 3 m
    )


def test_a_level_lies_on_the_slope(tmp_path: Path) -> None:
    """On 30 degrees a metre goes 866.03 mm along and 500 up; 3 mm/m of fall go down."""
    outline = read(tmp_path, "step,slope\n1000,30 deg\n1 m,-30\u00b0\n", "level", u95=0.5)
    assert outline.points[-1] == pytest.approx([2000 * 3**0.5 / 2, 0.0])
    assert outline.points[:, 1].max() == pytest.approx(500.0)
    fallen = read(tmp_path, "step,fall\n1000,3\n1000,1/8 in/ft\n", "level")
    assert fallen.points[-1, 1] == pytest.approx(-3.0 - 1000 / 96, abs=1e-3)  # 1/8 over 12


def test_stations_are_read_from_a_tape_and_err_too(tmp_path: Path) -> None:
    """U 1 mm of either end, and a class II tape's scale: 0.2 mm on a metre as a half width."""
    outline = read(tmp_path, "station,offset\n0,10\n600,11\n1200,10\n", "offsets")
    along = np.zeros_like(outline.points)
    along[[0, -1], 0] = -1.0, 1.0
    expected = np.sqrt(2 * 0.5**2 + (0.2 * 1.2 / 3**0.5) ** 2)
    assert outline.quantity_u(along) == pytest.approx(expected, rel=1e-6)
    steep = read(tmp_path, "station,offset\n0,0\n10,10\n20,20\n", "offsets")
    assert steep.budget["station"][0] == pytest.approx(0.5 / 2**0.5, rel=1e-6)  # on 45 degrees


def test_a_laser_tilts_and_a_straight_edge_bows(tmp_path: Path) -> None:
    """0.3 mm on a metre, a half width: 0.346 mm (u) at the far end of two metres."""
    text = "station,offset\n0,10\n1000,12\n2000,11\n"
    (tilt,) = read(tmp_path, text, "offsets", line="laser").shared["laser"]
    assert tilt[[0, -1], 1] == pytest.approx([0.0, 0.6 / 3**0.5])
    bow, lean = read(tmp_path, text, "offsets", line="level").shared["level"]
    assert (bow[:, 1].max(), lean[-1, 1]) == pytest.approx((0.2, 0.5))


def test_a_closing_error_is_spread_and_pins_the_end(tmp_path: Path) -> None:
    """Walk ends at 3.0; the laser says 3.9: 0.9 is spread by length. Monte Carlo of the steps
    held to their end is known exactly at both ends, and worst in the middle.
    """
    text = "step,slope\n" + "1000,1\n" * 3
    outline = read(tmp_path, text, "level", "below", closing=3.9)
    assert at(outline, 2000.0) == pytest.approx(2.0 + 0.6)
    assert outline.budget["walk"][-1] == pytest.approx(0.25)  # of the laser itself
    rng = np.random.default_rng(2)
    steps = rng.normal(0.0, 0.25, (20000, 3))
    walks = np.cumsum(steps, axis=1)
    held = walks - walks[:, -1:] * np.array([1, 2, 3]) / 3
    for k in (0, 1):
        found = np.interp(1000.0 * (k + 1), outline.points[:, 0], outline.budget["walk"])
        laser = 0.25 * (k + 1) / 3
        assert found == pytest.approx(np.hypot(held[:, k].std(), laser), rel=0.03)
    with pytest.raises(ScribeError) as caught:
        read(tmp_path, text, "level", "below", closing=40.0)
    assert caught.value.kind == "readings-closing"


@pytest.mark.parametrize(
    ("text", "kind", "refusal"),
    [
        ("station,offset\n0,1\n", "offsets", "readings-few"),
        ("station,width\n0,1\n5,2\n", "offsets", "readings-column"),
        ("station,offset\n0,1\n5,x\n", "offsets", "readings-cell"),
        ("station,offset\n0,1\n5\n", "offsets", "readings-cell"),
        ("station,offset\n0,1\n0,2\n", "offsets", "readings-order"),
        ("step,slope\n0,1\n5,2\n", "level", "readings-order"),
        ("step,slope\n100,steep\n5,2\n", "level", "readings-cell"),
        ("a,b\n1,1\n2,2\n", "tapes", "readings-base"),
    ],
)
def test_what_is_wrong_is_named(tmp_path: Path, text: str, kind: str, refusal: str) -> None:
    with pytest.raises(ScribeError) as caught:
        read(tmp_path, text, kind)
    assert caught.value.kind == refusal


def test_two_readings_far_apart_say_little_of_the_middle(tmp_path: Path) -> None:
    outline = read(tmp_path, "station,offset\n0,10\n2400,12\n", "offsets")
    assert outline.U[len(outline) // 2] > 3.0
    near = read(tmp_path, "station,offset\n0,10\n100,12\n", "offsets")
    assert near.U[len(near) // 2] < outline.U[len(outline) // 2] / 2
    flat = read(tmp_path, "station,offset\n0,10\n100,12\n", "offsets", surface="flat")
    assert flat.U[len(flat) // 2] < near.U[len(near) // 2] / 3


@pytest.mark.parametrize(
    ("building", "ends", "solid"),
    [
        ("right", [[12.0, 0.0], [20.0, 400.0]], "right"),
        ("left", [[-12.0, 0.0], [-20.0, 400.0]], "left"),
    ],
)
def test_a_wall_is_read_upwards_from_a_plumb_line(
    building: str, ends: list[list[float]], solid: str, tmp_path: Path
) -> None:
    """Travelled upwards, a wall on the right lies right: heights are y, offsets go to its side."""
    outline = read(tmp_path, "station,offset\n0,12\n400,20\n", "offsets", building)
    assert outline.points[[0, -1]] == pytest.approx(np.array(ends))
    assert outline.solid == solid
    assert outline.datum.direction == pytest.approx([0.0, 1.0])
    assert outline.datum.end == "bottom"


def test_a_walked_level_knows_no_wall(tmp_path: Path) -> None:
    with pytest.raises(ScribeError) as caught:
        read(tmp_path, "step,slope\n1000,1\n1000,2\n", "level", "right")
    assert caught.value.kind == "outline-side"
