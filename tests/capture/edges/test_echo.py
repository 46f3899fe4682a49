"""The border of a shadow that is as light and as sharp as a board is known by its faint echo."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from scribe.capture.edges.echo import echoed
from scribe.capture.view import Trace
from tests.capture.fake_view import FakeView, seen

HEIGHT, LEAN = 4.0, -0.15  # mm; mm outwards for each mm up: seen from the board's side


def edge(x: np.ndarray) -> np.ndarray:
    """y of the board's edge."""
    return 40.0 + 2.0 * np.sin(x / 9.0) + 0.02 * x


def picture(
    moved: tuple[float, float], *, shade: float, face: float, line: float = 0.0
) -> FakeView:
    """A board on paper, its edge moved by a vector for the border of its shadow.

    line: how much darker a pencil line is that runs 5 mm inside of the edge.
    """

    def paint(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        rough = 1.0 + 0.02 * np.sin(2.3 * y + 0.4 * x) * np.sin(1.7 * x - 0.3 * y)
        light = np.where(y < edge(x - moved[0]) + moved[1], shade, 0.8)
        light = np.where(y < edge(x), face * rough, light)
        return np.where(np.abs(y - edge(x) + 5.0) < 0.3, (1.0 - line) * light, light)

    return replace(seen(paint), height=HEIGHT, slope=(0.0, LEAN))


def traced(moved: tuple[float, float]) -> Trace:
    """The border, as a tracer finds it."""
    x = np.arange(15.0, 95.0, 0.5)
    points = np.column_stack([x, edge(x - moved[0]) + moved[1]])
    across = np.column_stack([-np.gradient(points[:, 1], x), np.ones_like(x)])
    across /= np.hypot(*across.T)[:, None]
    return Trace(points, np.full(len(x), 0.01), across, np.ones(len(x), bool), {}, np.zeros((0, 2)))


@pytest.mark.parametrize("moved", [(0.0, 2.0), (3.0, 4.0), (-5.0, 6.0)])
@pytest.mark.parametrize("face", [0.29, 0.31])
def test_a_border_that_is_echoed_is_a_shadow_s(moved: tuple[float, float], face: float) -> None:
    assert echoed(picture(moved, shade=0.30, face=face), traced(moved))


@pytest.mark.parametrize("line", [0.0, 0.05, 0.5])
def test_an_edge_is_not_echoed_nor_is_a_line_beside_it(line: float) -> None:
    assert not echoed(picture((0.0, 0.0), shade=0.3, face=0.3, line=line), traced((0.0, 0.0)))


def test_what_is_darker_than_shadows_are_is_not_looked_at() -> None:
    moved = (0.0, 3.0)
    assert not echoed(picture(moved, shade=0.10, face=0.12), traced(moved))


@dataclass(frozen=True)
class Turned:
    """A view of the same picture on a sheet that was turned: its points are `turn` times ours."""

    view: FakeView
    turn: np.ndarray

    @property
    def window(self) -> tuple[float, float, float, float]:
        x0, y0, x1, y1 = self.view.window
        corners = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]) @ self.turn
        return (*corners.min(axis=0), *corners.max(axis=0))

    @property
    def height(self) -> float:
        return self.view.height

    @property
    def blur_px(self) -> float:
        return self.view.blur_px

    def light(self, points: np.ndarray) -> np.ndarray:
        return self.view.light(points @ self.turn.T)

    def pixel(self, points: np.ndarray) -> np.ndarray:
        return self.view.pixel(points)

    def lean(self, points: np.ndarray) -> np.ndarray:
        return self.view.lean(points) @ self.turn


@pytest.mark.parametrize("degrees", [35.0, 90.0, 180.0, 270.0])
def test_the_thing_may_lie_on_any_side(degrees: float) -> None:
    """A shadow's border beyond an edge is no echo of it, whichever way that is."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    turn, moved = np.array([[c, -s], [s, c]]), (3.0, 4.0)

    def turned(trace: Trace) -> Trace:
        return replace(trace, points=trace.points @ turn, normals=trace.normals @ turn)

    view = Turned(picture(moved, shade=0.3, face=0.31), turn)
    assert echoed(view, turned(traced(moved)))
    assert not echoed(view, turned(traced((0.0, 0.0))))
