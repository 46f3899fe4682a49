"""The fewest rectangles over a line, against all chains tried one by one, and closed formulas."""

from __future__ import annotations

from functools import cache
from itertools import combinations, pairwise
from math import ceil, hypot, radians, sin

import numpy as np
import pytest
import shapely
import shapely.affinity
from hypothesis import given, settings
from hypothesis import strategies as st

from scribe.geom.cover import Line, cover

SIZES = np.array([[40.0, 18.0], [18.0, 40.0]])
TURNS = np.radians(np.concatenate([[0.0], np.setdiff1d(np.arange(-45.0, 45.0), [0.0])]))


def parted(points: np.ndarray, gate: np.ndarray | None = None, aside: float = 0.0) -> Line:
    """Each segment is a bin; a joint needs `aside` mm on either side, square to the chord there."""
    count = len(points) - 1
    bins = np.repeat(np.arange(count), 2)
    ends = np.stack([points[:-1], points[1:]], axis=1).reshape(-1, 2)
    along = points[np.minimum(np.arange(count + 1) + 1, count)]
    along = along - points[np.maximum(np.arange(count + 1) - 1, 0)]
    along /= np.hypot(*along.T)[:, None]
    out = np.stack([-along[:, 1], along[:, 0]], axis=1)
    zone = points[:, None] + np.array([-aside, aside])[:, None] * out[:, None]
    allowed = np.ones(count + 1, bool) if gate is None else gate
    return Line(ends, np.zeros(len(ends)), bins, zone, zone, allowed)


def exhaustive(line: Line, points: np.ndarray, sizes: np.ndarray) -> int:
    """Every set of gates, every rectangle in 900 turns, by shapely's affine transformations."""

    @cache
    def fits(first: int, last: int) -> bool:
        held = [points[first : last + 1]]
        held += [line.enter[first]] if first else []
        held += [line.leave[last]] if last < len(points) - 1 else []
        cloud = shapely.MultiPoint(np.vstack(held))
        for turn_deg in np.arange(0.0, 90.0, 0.1):
            a, b, c, d = shapely.affinity.rotate(cloud, turn_deg, origin=(0, 0)).bounds
            if any(c - a <= w + 1e-9 and d - b <= h + 1e-9 for w, h in sizes):
                return True
        return False

    inner = [k for k in range(1, len(points) - 1) if line.gate[k]]
    for count in range(len(inner) + 1):
        for chosen in combinations(inner, count):
            if all(fits(a, b) for a, b in pairwise((0, *chosen, len(points) - 1))):
                return count + 1
    return 10**9


@settings(max_examples=12)
@given(
    st.lists(st.tuples(st.floats(4.0, 16.0), st.floats(-70.0, 70.0)), min_size=4, max_size=7),
    st.sampled_from([0.0, 4.0]),
)
def test_no_other_chain_takes_fewer(steps: list[tuple[float, float]], aside: float) -> None:
    """Never fewer than the exhaustive search finds, nor more than it finds for rectangles smaller
    by what half a step between two turns may cost: the other side times sin 0.5 degrees.
    """
    length, bend = np.array(steps).T
    heading = np.radians(np.cumsum(bend))
    way = length[:, None] * np.column_stack([np.cos(heading), np.sin(heading)])
    points = np.vstack([np.zeros(2), np.cumsum(way, axis=0)])
    line = parted(points, aside=aside)
    chain = cover(line, SIZES, TURNS)
    found = 10**9 if chain is None else len(chain)
    assert found >= exhaustive(line, points, SIZES)
    assert found <= exhaustive(line, points, SIZES - SIZES[:, ::-1] * sin(radians(0.5)))


@pytest.mark.parametrize("slope_deg", [0.0, 10.0, -33.0])
@pytest.mark.parametrize("length", [43.0, 44.0, 87.0, 131.0])
def test_a_bare_line_lies_on_the_diagonals(length: float, slope_deg: float) -> None:
    """A line without width: ceil(length / diagonal). The diagonal, 43.86 mm, is reached within
    1 - cos 0.5 deg; lengths here stay 0.1 mm clear of its multiples.
    """
    at = np.arange(0.0, length + 0.5)[:, None]
    points = at * [np.cos(np.radians(slope_deg)), np.sin(np.radians(slope_deg))]
    chain = cover(parted(points), SIZES, TURNS)
    assert chain is not None
    diagonal = hypot(40.0, 18.0)
    assert len(chain) >= ceil(length / diagonal)
    assert len(chain) <= ceil(length / (diagonal - 1.0))  # less than a bin lost at each gate


def test_what_is_covered_lies_in_the_rectangle_and_lengths_are_even() -> None:
    x = np.arange(0.0, 200.0, 2.0)
    points = np.column_stack([x, 6.0 * np.sin(x / 15.0)])
    line = parted(points, aside=5.0)
    chain = cover(line, SIZES, TURNS)
    assert chain is not None
    assert [each.first for each in chain[1:]] == [each.last for each in chain[:-1]]
    for each in chain:
        held = points[each.first : each.last + 1]
        cosine, sine = np.cos(each.turn), np.sin(each.turn)
        turned = held @ np.array([[cosine, sine], [-sine, cosine]])
        assert (turned >= each.low - 1e-9).all()
        assert (turned <= each.high + 1e-9).all()
        assert (each.high - each.low <= SIZES[each.size] + 1e-9).all()
    lengths = [each.last - each.first for each in chain]
    assert max(lengths) <= ceil(len(x) / len(chain)) + 3


def test_no_joint_where_none_may_be() -> None:
    points = np.column_stack([np.arange(0.0, 81.0, 4.0), np.zeros(21)])
    gate = np.ones(21, bool)
    gate[8:12] = False
    chain = cover(parted(points, gate), SIZES, TURNS)
    assert chain is not None
    assert all(not 8 <= each.last < 12 for each in chain)
    gate[1:20] = False
    assert cover(parted(points, gate), SIZES, TURNS) is None
