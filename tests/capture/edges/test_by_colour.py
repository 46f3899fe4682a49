"""The edge of a coloured board is found where its light alone doesn't tell it."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.capture.edges.edge import trace_edge
from scribe.capture.edges.scan import distance_to
from tests.capture.coloured_view import CORNERS, LUMA, coloured
from tests.capture.fake_view import Array, FakeView

UPPER = CORNERS[[4, 3, 2]]
YELLOW, CREAM, RED = (0.95, 0.75, 0.05), (0.93, 0.86, 0.62), (0.65, 0.05, 0.04)
HALF_PIXEL = 0.5 / 8  # mm


def off(view: FakeView) -> Array:
    trace = trace_edge(view)
    return distance_to(trace.points[trace.measured], UPPER)


@pytest.mark.parametrize("colour", [YELLOW, CREAM, (0.6, 0.85, 0.7)])
def test_in_a_shadow_as_light_as_the_board_the_edge_is_where_the_colour_ends(
    colour: tuple[float, float, float],
) -> None:
    left = float(LUMA @ colour)  # of the light: the shadow leaves as much
    view = coloured(colour, shadow=(0.5, 4.0), depth=(1 - left,) * 3, soft=0.02)
    error = off(view)
    assert np.quantile(error, 0.95) < HALF_PIXEL
    assert error.max() < 2 * HALF_PIXEL


def test_by_its_light_alone_it_is_millimetres_off() -> None:
    left = float(LUMA @ YELLOW)
    view = coloured(YELLOW, shadow=(0.5, 4.0), depth=(1 - left,) * 3, soft=0.02)
    view.colours = None
    assert np.median(off(view)) > 3.0


def test_a_board_as_light_as_paper_without_any_shadow_is_seen() -> None:
    colour = (0.75, 1.05, 1.24)
    assert float(LUMA @ colour) == pytest.approx(1.0, abs=0.01)
    view = coloured(colour)
    assert np.quantile(off(view), 0.95) < HALF_PIXEL


def test_where_light_and_colour_agree_the_light_measures() -> None:
    view = coloured(RED, shadow=(0.5, 2.0), depth=(0.3, 0.3, 0.3), soft=1.0)
    by_both = trace_edge(view)
    view.colours = None
    by_light = trace_edge(view)
    np.testing.assert_array_equal(by_both.points, by_light.points)
    np.testing.assert_array_equal(by_both.u, by_light.u)


def test_u_tells_how_well_the_colour_does() -> None:
    inside = []
    for seed in range(6):
        view = coloured(YELLOW, shadow=(0.5, 4.0), depth=(0.26,) * 3, soft=0.02, seed=seed)
        trace = trace_edge(view)
        error = distance_to(trace.points[trace.measured], UPPER)
        inside.append(np.mean(error < 2.0 * trace.u[trace.measured]))
    assert np.mean(inside) > 0.9  # 95 % of some 900 points, many of which err together
