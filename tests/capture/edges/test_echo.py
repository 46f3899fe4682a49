"""The border of a shadow that is as light and as sharp as a board is known by its faint echo."""

from __future__ import annotations

from dataclasses import replace

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
