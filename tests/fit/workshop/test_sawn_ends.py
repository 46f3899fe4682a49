"""Joints of rooms whose angles are known in closed form, and U against many drawn rooms."""

from __future__ import annotations

from dataclasses import replace
from math import asin, atan, cos, degrees, radians, sin, tan

import numpy as np
import pytest

from scribe.fit.workshop.angles import cutting_words, sense, way_to_cut
from scribe.fit.workshop.sawn_ends import sawn_ends, settings
from scribe.opening import Opening
from scribe.saw import Saw, SawnEnd

WIDTH, HEIGHT, DEPTH = 1200.0, 2400.0, 400.0


def box() -> Opening:
    return Opening.square(WIDTH, HEIGHT, DEPTH, u=0.5)


def named(room: Opening, words: str) -> SawnEnd:
    (found,) = (each for each in sawn_ends(room, 18.0) if each.name == words)
    return found


def test_a_square_room_needs_square_cuts_and_45_degrees() -> None:
    for each in sawn_ends(box(), 18.0):
        together = "mitred" in each.name or "skirting" in each.name
        angles = sorted(abs(a) for a in (each.mitre_deg, each.bevel_deg))
        expected = [0.0, 45.0] if together or "trims" in each.name else [0.0, 0.0]
        assert angles == pytest.approx(expected, abs=1e-9), each.name


def test_a_ceiling_that_slopes_along_the_width() -> None:
    slope = radians(50.0)
    high = HEIGHT + WIDTH * tan(slope)
    room = replace(box(), ceiling=((0.0, HEIGHT, HEIGHT), (WIDTH, high, high)))
    cheek = named(room, "cheek at the left wall, top to the ceiling")
    assert (cheek.mitre_deg, cheek.bevel_deg) == pytest.approx((0.0, -50.0), abs=1e-6)
    assert sense(cheek) == "longer at the face"  # which looks to where the ceiling rises
    upright = named(room, "upright in the front, top to the ceiling")
    assert (abs(upright.mitre_deg), upright.bevel_deg) == pytest.approx((50.0, 0.0), abs=1e-6)
    # Wall and ceiling enclose 140 degrees at the left and 40 at the right; a mitre halves them.
    for side, corner in (("left", 140.0), ("right", 40.0)):
        trims = named(room, f"trims flat in the front, {side} wall and ceiling")
        assert abs(trims.mitre_deg) == pytest.approx(90.0 - corner / 2, abs=1e-6)


def test_a_broken_ceiling_is_mitred_at_its_break() -> None:
    # Level up to 700, then falling by 40 degrees: 180 + 40 over the room, halves of 20 off square.
    fall = HEIGHT - (WIDTH - 700.0) * tan(radians(40.0))
    nodes = ((0.0, HEIGHT, HEIGHT), (700.0, HEIGHT, HEIGHT), (WIDTH, fall, fall))
    room = replace(box(), ceiling=nodes, covariance=np.zeros((27, 27)))
    trims = named(room, "trims flat in the front, the ceiling at its break 1")
    assert sense(trims) == "mirror images"
    assert abs(trims.mitre_deg) == pytest.approx(20.0, abs=1e-6)
    linings = named(room, "linings of the ceiling at its break 1, mitred")
    assert (abs(linings.mitre_deg), abs(linings.bevel_deg)) == pytest.approx((0.0, 20.0), abs=1e-6)


def test_splayed_and_leaning_walls() -> None:
    # The left wall splays by 5 degrees over the depth and leans out by 1.2 degrees over the height.
    splay, lean = DEPTH * tan(radians(5.0)), HEIGHT * tan(radians(1.2))
    room = replace(box(), left=(0.0, -lean, splay, splay - lean))
    shelf = named(room, "shelf end to the left wall")
    # Trace in plan: the splay itself. Off plumb across it: tan B = tan 1.2 cos 5.
    assert abs(shelf.mitre_deg) == pytest.approx(5.0, abs=1e-6)
    assert abs(shelf.bevel_deg) == pytest.approx(
        degrees(atan(tan(radians(1.2)) * cos(radians(5.0)))), abs=1e-6
    )
    skirting = named(room, "skirting or plinth, left wall and back")
    # The wall closes in towards the back: the corner opens to 95 degrees.
    assert abs(skirting.bevel_deg) == pytest.approx(90.0 - 95.0 / 2, abs=1e-6)


def test_a_lining_under_a_slope_to_a_splayed_wall_is_a_compound_cut() -> None:
    # Ceiling falling to the back by s, wall splayed by q in plan: for a level board on the slope,
    # with the wall's normal (cos q, 0, sin q): tan M = tan q cos s, sin B = sin q sin s.
    s, q = radians(35.0), radians(8.0)
    splay, fall = DEPTH * tan(q), DEPTH * tan(s)
    room = replace(
        box(),
        left=(0.0, 0.0, splay, splay),
        ceiling=((0.0, HEIGHT, HEIGHT), (DEPTH, HEIGHT - fall, HEIGHT - fall)),
        along="depth",
    )
    lining = named(room, "lining of the ceiling, end to the left wall")
    assert abs(lining.mitre_deg) == pytest.approx(degrees(atan(tan(q) * cos(s))), abs=1e-6)
    assert abs(lining.bevel_deg) == pytest.approx(degrees(asin(sin(q) * sin(s))), abs=1e-6)


def test_U_holds_the_truth_and_scatter_is_what_u_says() -> None:
    # 400 rooms drawn from the covariance: the ratio of scatter to u lies within 4/sqrt(2 x 400).
    room = box()
    drawn = np.random.default_rng(3).multivariate_normal(room.vector, room.covariance, size=400)
    found = np.array(
        [np.degrees([end.setting for end in settings(room.with_vector(v))]) for v in drawn]
    )
    u = np.array([(j.mitre_u_deg, j.bevel_u_deg) for j in sawn_ends(room, 18.0)])
    moves = u > 1e-9
    assert found.std(axis=0)[moves] / u[moves] == pytest.approx(1.0, abs=4 / np.sqrt(800))
    assert found.std(axis=0)[~moves] == pytest.approx(0.0, abs=1e-4)


def test_beyond_the_tilt_the_board_stands_or_a_wedge_is_planed() -> None:
    # 18 mm at 50 degrees on a saw that stops at 45: 18 (tan 50 - 1) = 3.452 mm are left, the
    # standing cut is set to 40 and goes through 18 / cos 50 = 28.003 mm.
    cheek = SawnEnd("cheek", 0.0, 50.0, 18.0, bevel_u_deg=0.1)
    way = way_to_cut(cheek, Saw(tilt_deg=45.0))
    assert way.tilt_deg == 45.0
    assert way.stand_deg == pytest.approx(40.0)
    assert way.wedge == pytest.approx(3.452, abs=5e-4)
    assert way.reach == pytest.approx(28.003, abs=5e-4)
    # d(t tan B)/dB = t / cos^2 B: 18 / 0.41318 x radians(0.1) = 0.0760.
    assert way.wedge_u == pytest.approx(0.0760, abs=1e-4)
    words = " ".join(cutting_words(cheek, Saw(tilt_deg=45.0)))
    assert "40 degrees" in words
    assert "3.45 +/- 0.16 mm" in words
    assert sense(cheek) == "longer at the back"


def test_within_the_limits_nothing_needs_saying() -> None:
    assert cutting_words(SawnEnd("cheek", 0.0, 44.0, 18.0, bevel_u_deg=0.1), Saw()) == []
    # 45.1 leaves 18 (tan 45.1 - 1) = 0.063 mm, less than a shaving; 45.4 would leave 0.25.
    assert cutting_words(SawnEnd("cheek", 0.0, 45.1, 18.0, bevel_u_deg=0.01), Saw()) == []
    near = cutting_words(SawnEnd("cheek", 0.0, 45.0, 18.0, bevel_u_deg=0.2), Saw())
    assert "U reaches beyond" in near[0]
    turned = cutting_words(SawnEnd("upright", -56.0, 0.0, 18.0), Saw())
    assert "straight edge" in turned[0]
    assert sense(SawnEnd("upright", -56.0, 0.0, 18.0)) == "longer at the right edge"
    assert sense(SawnEnd("upright", 0.01, 0.0, 18.0)) == "square, within U"
    unsure = SawnEnd("lining", 0.6, 0.29, 18.0, mitre_u_deg=1.4, bevel_u_deg=0.1)
    assert sense(unsure) == "longer at the back"
