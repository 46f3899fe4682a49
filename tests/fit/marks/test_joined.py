"""Marks joined by a straight edge or a batten stand for the cut line within the tolerance."""

from __future__ import annotations

from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline

from scribe.fit.marks.band import Band
from scribe.fit.marks.bound import fewest_marks
from scribe.fit.marks.joined import marks
from scribe.piece import Marks

TOLERANCE = 0.3
TENTH = 0.1


def joined(found: Marks, at: np.ndarray) -> np.ndarray:
    if found.join == "batten":
        return CubicSpline(found.station, found.remove, bc_type="natural")(at)
    return np.interp(at, found.station, found.remove)


def heights(remove: float) -> list[float]:
    """What may be marked at a place: whole tenths, at most `TOLERANCE` less than is to go."""
    return [k * TENTH for k in range(60) if remove - TOLERANCE - 1e-9 <= k * TENTH <= remove + 1e-9]


def exhaustive(s: np.ndarray, r: np.ndarray, places: list[int], line, most: int) -> int:
    """The least number of marks by trying every set of places and heights, up to `most`."""
    for count in range(2, most + 1):
        for inner in combinations(places[1:-1], count - 2):
            at = [places[0], *inner, places[-1]]
            for marked in product(*(heights(r[n]) for n in at)):
                left = r - line(s[at], np.array(marked), s)
                if left.min() >= -1e-9 and left.max() <= TOLERANCE + 1e-9:
                    return count
    return most + 1


def least(s: np.ndarray, r: np.ndarray, tolerance: float = TOLERANCE) -> int:
    """The bound, without the rounding of marks to tenths."""
    none = np.zeros(len(s), int)
    return fewest_marks(Band(s, r, tolerance, r > -1.0, none, none))


def test_a_straight_cut_needs_its_two_ends() -> None:
    for join in ("straight edge", "batten"):
        found = marks(np.array([0.0, 800.0]), np.array([5.03, 9.0]), join)
        assert found.station.tolist() == [0.0, 800.0]
        assert found.remove == pytest.approx([5.0, 9.0])  # rounded down


def test_an_arc_needs_as_many_as_its_sagitta_says() -> None:
    """Sagitta h of a chord c on radius R: h = R - sqrt(R^2 - c^2/4) (closed form).

    R = 5000 mm and h = 0.3 mm give c = 109.5 mm, so 600 mm need 6 chords at least: 7 marks. The
    ends of chords lie up to a tenth below the arc, for they are rounded: with h = 0.2 it were 8.
    """
    s = np.arange(0.0, 600.5, 0.5)
    r = np.sqrt(5000.0**2 - (s - 300.0) ** 2) - 4980.0
    found = marks(s, r, "straight edge")
    assert len(found.station) == 7
    assert len(marks(s, r, "batten").station) <= 4  # a batten bends by nature


@given(st.lists(st.floats(0.0, 3.0), min_size=3, max_size=6))
@settings(max_examples=40)
def test_no_fewer_marks_would_do_for_a_straight_edge(at_corners: list[float]) -> None:
    """Exhaustive search over all subsets of the profile's corners and all heights that can be
    marked. Corners lie on even millimetres, where marks may stand, so that it is the same search.
    """
    s = 2.0 * np.arange(len(at_corners))
    r = np.array(at_corners)
    found = marks(s, r, "straight edge")
    places = list(range(len(s)))

    def straight(at, marked, everywhere):
        return np.interp(everywhere, at, marked)

    assert len(found.station) == exhaustive(s, r, places, straight, len(s))


@pytest.mark.parametrize("seed", [0, 4, 8, 10])
def test_a_batten_needs_no_more_marks_than_exhaustive_search_finds(seed: int) -> None:
    """Waves over 120 mm. The exhaustive search tries every tenth mm, and has scipy's spline."""
    rng = np.random.default_rng(seed)
    s = np.arange(0.0, 121.0, 2.0)
    wave = np.sin(s / rng.uniform(12.0, 30.0) + rng.uniform(0.0, 6.0))
    r = 2.0 + rng.uniform(0.2, 1.0) * wave + rng.uniform(-0.01, 0.01) * s
    found = marks(s, r, "batten")
    fewer = len(found.station) - 1

    def bent(at, marked, everywhere):
        return CubicSpline(at, marked, bc_type="natural")(everywhere)

    assert exhaustive(s, r, list(range(0, 61, 10)), bent, min(fewer, 3)) > min(fewer, 3)


@given(st.lists(st.tuples(st.floats(20, 200), st.floats(0, 9)), min_size=2, max_size=7),
       st.integers(12, 90))  # fmt: skip
@settings(max_examples=60)
def test_a_batten_that_is_there_is_never_said_to_be_impossible(
    marked: list[tuple[float, float]], places: int
) -> None:
    """A natural spline of scipy through m marks, within a thousandth of itself: m are enough."""
    at, heights = np.array(marked).T
    bent = CubicSpline(np.cumsum(at), heights, bc_type="natural")
    s = np.linspace(at[0], at.sum(), places)
    assert least(s, bent(s), 1e-3) <= len(marked)


@given(st.lists(st.floats(0.0, 2.0), min_size=5, max_size=7))
@settings(max_examples=15)
def test_what_is_proved_exhaustive_search_does_not_beat(waves: list[float]) -> None:
    """The least number over every set of places 20 mm apart and all heights is never below the
    bound, nor is what was found for real.
    """
    s = np.arange(0.0, 121.0, 4.0)
    r = 1.0 + CubicSpline(np.linspace(0.0, 120.0, len(waves)), waves)(s).clip(0.0)

    def bent(at, marked, everywhere):
        return CubicSpline(at, marked, bc_type="natural")(everywhere)

    bound = least(s, r)
    assert exhaustive(s, r, [0, 5, 10, 15, 20, 25, 30], bent, 3) >= min(bound, 4)
    assert len(marks(s, r, "batten").station) >= bound


@pytest.mark.parametrize(
    ("bends", "height", "fewest"), [(0, 0.1, 2), (0, 3.0, 3), (1, 3.0, 4), (4, 3.0, 7)]
)
def test_a_wave_that_bends_so_often_needs_so_many(bends: int, height: float, fewest: int) -> None:
    """Half waves, hollow and round in turn: K of them take K + 2 marks at least; within 0.3 mm
    nearly straight, 2. And a batten through K + 2 marks, tops and bottoms, follows such waves.
    """
    s = np.arange(0.0, 601.0, 2.0)
    r = 4.0 + height * np.sin((bends + 1) * np.pi * s / 600.0)
    assert least(s, r) == fewest
    found = marks(s, r, "batten")
    assert len(found.station) == fewest
    assert found.proved


def test_a_band_that_one_straight_line_just_misses_is_no_line() -> None:
    """Sagitta 0.31 mm: no line stays within 0.3 of it. Three points say so."""
    s = np.array([0.0, 300.0, 600.0])
    for sagitta, fewest in ((0.29, 2), (0.31, 3)):
        assert least(s, np.array([1.0, 1.0 + sagitta, 1.0])) == fewest


@given(
    st.lists(st.floats(0.0, 12.0), min_size=3, max_size=9),
    st.sampled_from(["straight edge", "batten"]),
    st.floats(0.25, 1.0),
)
@settings(max_examples=25)
def test_the_joined_line_never_takes_too_much(waves, join, tolerance: float) -> None:
    s = np.linspace(0.0, 400.0, 161)
    r = 1.0 + CubicSpline(np.linspace(0.0, 400.0, len(waves)), waves)(s).clip(0.0)
    found = marks(s, r, join, tolerance)
    left = r - joined(found, s)
    assert left.min() >= -1e-9
    assert left.max() <= tolerance + 1e-9
    assert found.most_left == pytest.approx(left.max(), abs=0.05)
    assert found.remove == pytest.approx(np.round(found.remove / TENTH) * TENTH)
