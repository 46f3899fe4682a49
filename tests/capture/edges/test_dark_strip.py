"""Dark strips beyond an edge: shadows, and arrises of the thing's own."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from shapely import Polygon

from scribe.capture.edges.edge import trace_edge
from scribe.errors import ScribeError
from tests.capture.fake_view import FakeView, Paint, board_paint, off, seen

Array = npt.NDArray[np.float64]
THICK = 9.0  # mm


def straight() -> Array:
    x = np.linspace(14.0, 96.0, 400)
    return np.stack([x, 38.0 + 0.02 * x], axis=1)


def wavy() -> Array:
    return straight() + np.array([[0.0, 1.0]]) * (4.0 * np.sin(straight()[:, :1] / 9.0))


def board(top: Array) -> Array:
    return np.vstack([top, [[96.0, 8.0], [14.0, 8.0]]])


def view(paint: Paint) -> FakeView:
    return replace(seen(paint), height=THICK)


def chamfered(top: Array, wide: float, light: float) -> Paint:
    """A board of light 0.5 whose arris, square to the edge so wide, is darker."""
    face = np.array(Polygon(board(top)).buffer(-wide, join_style="mitre").exterior.coords)[:-1]
    whole, inner = board_paint(board(top), face=light), board_paint(face, face=0.5, paper=0.0)
    return lambda x, y: np.where(inner(x, y) > 0.0, inner(x, y), whole(x, y))


@pytest.mark.parametrize("top", [straight(), wavy()], ids=["straight", "wavy"])
@pytest.mark.parametrize(("wide", "light"), [(0.8, 0.3), (1.5, 0.3), (2.5, 0.3), (1.5, 0.7)])
def test_an_arris_is_not_silently_left_out(top: Array, wide: float, light: float) -> None:
    with pytest.raises(ScribeError) as refusal:
        trace_edge(view(chamfered(top, wide, light)))
    assert refusal.value.kind == "edge-strip"
    assert abs(float(refusal.value.what.split(" mm")[0].split()[-1]) - wide) < 0.15


@pytest.mark.parametrize("top", [straight(), wavy()], ids=["straight", "wavy"])
def test_a_soft_shadow_as_narrow_is_one(top: Array) -> None:
    paint = board_paint(board(top), face=0.5, shadow=(0.3, 1.8), soft=0.5, depth=0.5)
    trace = trace_edge(view(paint))
    assert np.quantile(off(trace.points, top), 0.95) < 0.06


def test_a_narrow_shadow_in_hard_light_is_told_by_where_the_edge_turns() -> None:
    top = wavy()
    paint = board_paint(board(top), face=0.5, shadow=(1.2, 1.8), soft=0.03, depth=0.65)
    trace = trace_edge(view(paint))
    assert np.quantile(off(trace.points, top), 0.95) < 0.06


def test_a_face_that_is_lighter_along_a_third_of_the_edge_is_no_shadow() -> None:
    """Tape that reaches the edge there, nearly as light as paper."""
    top = wavy()
    plain = board_paint(board(top), face=0.4)

    def paint(x: Array, y: Array) -> Array:
        tape = (x > 46.0) & (x < 72.0) & (y > 30.0 + 0.0 * x)
        light = plain(x, y)
        return np.where(tape & (light < 0.6), 0.71, light)

    with pytest.raises(ScribeError) as refusal:
        trace_edge(view(paint))
    assert refusal.value.kind == "edge-strip"
