"""The largest upright rectangle: closed forms, a raster and a linear programme as judges."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from scribe.geom.rectangles import Rectangle, largest, tallest
from scribe.geom.region import Area, difference

SEARCH_MM = 1e-4  # the search halves its steps until they are far below this


def ring(*corners: tuple[float, float]) -> Area:
    return Area(np.array(corners, float))


def test_half_of_each_leg_of_a_right_triangle() -> None:
    """x (1 - x / a) b is greatest at x = a / 2: the rectangle is a/2 by b/2."""
    found = largest([ring((0, 0), (3000, 0), (0, 2200))])
    assert found is not None
    assert (found.width, found.height) == pytest.approx((1500.0, 1100.0), abs=0.1)
    assert found.width * found.height == pytest.approx(1500.0 * 1100.0, rel=1e-9)


@pytest.mark.parametrize(("top", "whole"), [(900.0, False), (1500.0, True)])
def test_trapezium(top: float, whole: bool) -> None:
    """Width a at the floor, b at the head, height h: area w h (a - w) / (a - b), its peak at
    w = a / 2; where the head is wider than that, the rectangle takes the whole height.
    """
    a, h = 2400.0, 2000.0
    side = (a - top) / 2
    found = largest([ring((0, 0), (a, 0), (a - side, h), (side, h))])
    assert found is not None
    wide = top if whole else a / 2
    high = h if whole else h * (a - wide) / (a - top)
    assert (found.width, found.height) == pytest.approx((wide, high), abs=0.5)
    assert found.width * found.height == pytest.approx(wide * high, rel=1e-8)


def test_sloping_ceiling() -> None:
    """Beyond the foot of the slope: x (2400 - 7/6 (x - 1800)), greatest at 4500 / (7/3)."""
    found = largest([ring((0, 0), (3000, 0), (3000, 1000), (1800, 2400), (0, 2400))])
    assert found is not None
    assert found.width == pytest.approx(4500.0 * 3 / 7, abs=0.1)
    assert found.height == pytest.approx(2400.0 - 7 / 6 * (found.width - 1800.0), abs=SEARCH_MM)


def test_what_stands_in_the_way_is_a_hole() -> None:
    """A pipe of 60 x 60 in the corner and a socket: the best of the strips beside them."""
    (free,) = difference(
        ring((0, 0), (1000, 0), (1000, 800), (0, 800)),
        [
            ring((940, -1), (1001, -1), (1001, 60), (940, 60)),
            ring((300, 250), (380, 250), (380, 330), (300, 330)),
        ],
    )
    found = largest([free])
    # Right of the socket and over the pipe, right of it beside the pipe, over or under it.
    choices = (620.0 * 740.0, 560.0 * 800.0, 1000.0 * 470.0, 940.0 * 250.0)
    assert found is not None
    assert found.width * found.height == pytest.approx(max(choices), rel=1e-8)


def test_a_value_may_ask_for_a_height_first() -> None:
    """The widest at 1000 mm or more in a triangle of 3000 by 2200: 3000 (1 - 1000 / 2200)."""
    found = largest(
        [ring((0, 0), (3000, 0), (0, 2200))],
        value=lambda width, height: np.where(height >= 1000.0 - 1e-9, width, 0.0),
    )
    assert found is not None
    assert found.width == pytest.approx(3000.0 * (1 - 1000.0 / 2200.0), abs=SEARCH_MM)


def test_a_limit_caps_the_height() -> None:
    found = largest(
        [ring((0, 0), (900, 0), (900, 2400), (0, 2400))], limit=lambda x0, x1: 2300.0 - (x1 - x0)
    )
    assert found == pytest.approx(Rectangle(0.0, 0.0, 900.0, 1400.0), abs=SEARCH_MM)


def test_nothing_is_free_beside_an_area() -> None:
    foot, head = tallest([ring((0, 0), (10, 0), (10, 5), (0, 5))], np.array([20.0]),
                         np.array([30.0]))  # fmt: skip
    assert foot == head == 0.0


rooms = st.lists(st.floats(-60.0, 60.0), min_size=8, max_size=8)


def room(bends: list[float]) -> Area:
    """An opening of about 1800 x 2400 whose every corner and middle is off by up to 60 mm."""
    a, b, c, d, e, f, g, h = bends
    return ring((a, b), (900, c / 2), (1800 + d, b), (1800 - e, 1200), (1800 + f, 2400 + g),
                (800 + h, 2400 - c), (e, 2400 + a), (f, 1300))  # fmt: skip


@settings(max_examples=25)
@given(rooms)
def test_it_lies_inside_and_no_raster_finds_a_larger_one(bends: list[float]) -> None:
    """shapely says that it lies inside; the raster tries every pair of 41 lines across."""
    area = room(bends)
    found = largest([area])
    assert found is not None
    polygon = shapely.Polygon(area.outer)
    box = shapely.box(*(found.x0 + 1e-6, found.y0 + 1e-6, found.x1 - 1e-6, found.y1 - 1e-6))
    assert polygon.contains(box)
    lines = np.linspace(area.outer[:, 0].min(), area.outer[:, 0].max(), 41)
    best = 0.0
    for first in range(12):
        for last in range(29, 41):
            strip = shapely.box(lines[first], -500.0, lines[last], 3500.0)
            solid = shapely.difference(strip, polygon)
            heights = sorted((part.bounds[1], part.bounds[3]) for part in shapely.get_parts(solid))
            reached = heights[0][1]
            for low, high in heights[1:]:
                best = max(best, (low - reached) * (lines[last] - lines[first]))
                reached = max(reached, high)
    assert found.width * found.height >= best - 1e-6


@settings(max_examples=15)
@given(st.floats(-0.06, 0.06), st.floats(-0.06, 0.06), st.floats(-0.5, 0.5), st.floats(-0.02, 0.02))
def test_a_convex_opening_agrees_with_a_convex_programme(
    lean_left: float, lean_right: float, pitch: float, fall: float
) -> None:
    """max log w + log h under the half planes of the four corners, solved by SLSQP (scipy)."""
    planes = [  # a x + b y <= c
        (-1.0, lean_left, 0.0), (1.0, lean_right, 2000.0),
        (pitch, 1.0, 2400.0), (fall, -1.0, 0.0),
    ]  # fmt: skip
    corner = [
        np.linalg.solve([p[:2], q[:2]], [p[2], q[2]])
        for p, q in ((planes[0], planes[3]), (planes[3], planes[1]), (planes[1], planes[2]),
                     (planes[2], planes[0]))
    ]  # fmt: skip
    found = largest([Area(np.array(corner))])
    assert found is not None

    def free(z: np.ndarray) -> np.ndarray:
        return np.array([c - a * x - b * y for a, b, c in planes for x in z[::2] for y in z[1::2]])

    solved = minimize(
        lambda z: -np.log((z[2] - z[0]) * (z[3] - z[1])) , [700.0, 500.0, 1200.0, 1000.0],
        constraints=[{"type": "ineq", "fun": free}], method="SLSQP",
        options={"maxiter": 400, "ftol": 1e-14},
        bounds=[(-900.0, 900.0), (-900.0, 900.0), (1000.0, 2900.0), (1000.0, 3900.0)],
    )  # fmt: skip
    if free(solved.x).min() > -1e-6:
        assert found.width * found.height >= np.exp(-solved.fun) * (1 - 1e-6)
