"""Points taken by two tapes: where they meet, and how surely."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from scribe.capture.numbers.readings_table import read_table
from scribe.errors import ScribeError
from tests.capture.numbers.by_hand import at, read


def test_a_tapes_scale_hook_and_sag_are_common_to_all_points(tmp_path: Path) -> None:
    """A point square over the middle of the base: a tape 1 mm too long on 1000 lifts it by
    1000 / 800 mm (sides 600, 800, 1000). Hook 0.3, scale 0.2 on a metre, as half widths.
    """
    text = "from A,from B\n1000,1000\n1010,990\n1020,980\n"
    outline = read(tmp_path, text, "tapes", base=1200.0)
    modes = outline.shared["tape"]
    hook, scale = modes[0, 0], modes[1, 0]
    assert hook == pytest.approx([0.0, 0.3 / 3**0.5 * 1.25], abs=1e-9)
    assert scale == pytest.approx([0.0, 0.2 / 3**0.5 * 1.25], abs=1e-9)
    assert 0.0 < modes[2, 0, 1] < 0.01


def test_two_tapes_meet_in_a_right_triangle(tmp_path: Path) -> None:
    """3-4-5: from A 300, from B 400, base 500: the point is (180, 240); then one at (250, 240)."""
    text = f"from A,from B\n300,400\n{np.hypot(250, 240)},{np.hypot(250, 240)}\n500,300\n"
    outline = read(tmp_path, text, "tapes", base=500.0)
    assert outline.points[0] == pytest.approx([180.0, 240.0])
    assert at(outline, 250.0) == pytest.approx(240.0, abs=1e-6)


@given(st.floats(-200.0, 900.0), st.floats(150.0, 900.0), st.integers(0, 999))
@settings(max_examples=15)
def test_tapes_meet_where_two_circles_and_another_solver_do(
    tmp_path_factory, x: float, y: float, seed: int
) -> None:
    """Two tapes: shapely's circles. Three, with errors: scipy's least_squares.

    4000 chords lie within r (pi / 4000)^2 / 2 of their circle, 0.5 um for 1500 mm; circles that
    cross at 10 degrees show that six times. The solver stops at 1e-8 of its sum of squares,
    which leaves some micrometres.
    """
    fixed = np.array([[0.0, 0.0], [700.0, 0.0], [350.0, -400.0]])
    true = np.array([[x, y], [1000.0, 500.0]])
    noise = np.random.default_rng(seed).normal(0.0, 0.2, (2, 3))
    taken = np.hypot(*(true[:, None] - fixed).transpose(2, 0, 1)) + noise
    rows = [[f"{distance:.9f}" for distance in row] for row in taken]
    folder = tmp_path_factory.mktemp("tapes")
    two = "a,b\n" + "".join(",".join(row[:2]) + "\n" for row in rows)
    circles = [
        shapely.Point(*place).buffer(distance, quad_segs=1000).exterior
        for place, distance in zip(fixed[:2], taken[0], strict=False)
    ]
    meet = shapely.get_coordinates(shapely.intersection(*circles))
    point = read(folder, two, "tapes", base=700.0).points[0]
    assert np.hypot(*(meet - point).T).min() < 0.005
    three = "a,b,c\n" + "".join(",".join(row) + "\n" for row in rows)
    point = read(folder, three, "tapes", base=700.0, third=(350.0, -400.0)).points[0]
    solved = least_squares(lambda at: np.hypot(*(at - fixed).T) - taken[0], true[0], xtol=1e-12)
    assert point == pytest.approx(solved.x, abs=1e-3)


def test_a_third_tape_finds_the_wrong_one(tmp_path: Path) -> None:
    third = (0.0, 600.0)
    true = np.array([[180.0, 240.0], [300.0, 250.0], [400.0, 220.0]])
    fixed = np.array([[0.0, 0.0], [500.0, 0.0], third])
    read_off = np.hypot(*(true[:, None] - fixed).transpose(2, 0, 1))
    rows = "\n".join(",".join(f"{d:.3f}" for d in row) for row in read_off)
    outline = read(tmp_path, f"a,b,c\n{rows}\n", "tapes", base=500.0, third=third)
    assert outline.points[0] == pytest.approx(true[0], abs=1e-3)
    read_off[1, 2] += 12.0
    rows = "\n".join(",".join(f"{d:.3f}" for d in row) for row in read_off)
    with pytest.raises(ScribeError) as caught:
        read(tmp_path, f"a,b,c\n{rows}\n", "tapes", base=500.0, third=third)
    assert caught.value.kind == "readings-tapes"
    assert "line 3" in caught.value.where
    # What C should read is what it read before: the others hold it to a millimetre or two.
    assert f"it reads {read_off[1, 2]:.3f}".rstrip("0") in caught.value.what
    blank = rows.replace(f",{read_off[1, 2]:.3f}", ",")
    outline = read(tmp_path, f"a,b,c\n{blank}\n", "tapes", base=500.0, third=third)
    assert at(outline, 300.0) == pytest.approx(250.0, abs=2e-3)  # A and B alone


def test_tapes_that_do_not_meet_and_files_that_are_not_there(tmp_path: Path) -> None:
    with pytest.raises(ScribeError) as caught:
        read(tmp_path, "a,b\n100,100\n300,400\n", "tapes", base=500.0)
    assert caught.value.kind == "readings-tapes"
    with pytest.raises(ScribeError) as caught:
        read_table(tmp_path / "nothing.csv")
    assert caught.value.kind == "readings-unreadable"
