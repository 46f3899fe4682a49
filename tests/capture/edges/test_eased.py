"""An eased arris in shade: a dark strip along a board's silhouette, and its side beyond that."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.capture.edges.eased import arris_doubted
from scribe.capture.view import Trace
from tests.capture.fake_view import Array, FakeView, board_paint, seen

HEIGHT, RADIUS = 18.0, 0.8
X = np.linspace(15.0, 95.0, 161)
EDGE = np.stack([X, 45.0 + 3.0 * np.sin(X / 8.0)], axis=1)
NORMALS = np.stack([-0.375 * np.cos(X / 8.0), np.ones_like(X)], axis=1)
NORMALS /= np.hypot(*NORMALS.T)[:, None]


def pictured(strip: float, lean: float) -> FakeView:
    """A board whose light is 0.7 of the face's along a strip (mm wide); lean: of the sight in y."""

    def paint(x: Array, y: Array) -> Array:
        light = board_paint(np.vstack([EDGE, [[95.0, 10.0], [15.0, 10.0]]]), face=0.5)(x, y)
        deep = (np.interp(x, *EDGE.T) - y) * np.interp(x, X, NORMALS[:, 1])
        return np.where((deep > 0.0) & (deep < strip) & (x > 15.0) & (x < 95.0), 0.7 * light, light)

    view = seen(paint)
    view.height, view.slope = HEIGHT, (0.0, lean)
    return view


def doubted(view: FakeView) -> Trace:
    u, seen_all = np.full(len(EDGE), 0.01), np.ones(len(EDGE), bool)
    return arris_doubted(view, Trace(EDGE, u, NORMALS, seen_all, {}, np.zeros((0, 2))))


def test_u_reaches_as_far_as_the_arris_may_hide() -> None:
    """a = 0.5 along y: a strip r (sqrt(1.25) - 0.5) = 0.494 mm wide hides r (1.5 - sqrt(1.25)) =
    0.306 mm if it is round, and twice that as a chamfer. The strip's width is read to half a pixel
    (0.06 mm) of blur, 12 % of it.
    """
    strip = RADIUS * (np.sqrt(1.25) - 0.5)
    trace = doubted(pictured(strip, -0.5))
    level = np.abs(NORMALS[:, 0]) < 0.1
    assert trace.points == pytest.approx(EDGE)
    assert trace.parts["arris"][level] == pytest.approx(0.306, rel=0.15)
    assert trace.u == pytest.approx(np.hypot(0.01, trace.parts["arris"]))


@pytest.mark.parametrize(("strip", "lean"), [(0.0, -0.5), (0.494, 0.0), (0.494, 0.5)])
def test_a_sharp_arris_and_one_seen_from_elsewhere_hide_nothing(strip: float, lean: float) -> None:
    trace = doubted(pictured(strip, lean))
    assert trace.u == pytest.approx(0.01)
