"""The shadow of a phone across the sheet is taken away; what lies on the sheet stays."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.capture.edges.edge import trace_edge
from scribe.capture.edges.evened import Evened, evened
from scribe.capture.edges.scan import distance_to
from scribe.capture.lines.trace import trace_line
from scribe.errors import ScribeError
from tests.capture.coloured_view import CORNERS, coloured
from tests.capture.fake_view import Array, Paint, board_paint, line_paint, seen

UPPER = CORNERS[[4, 3, 2]]
DRAWN = np.array([[15.0, 34.0], [55.0, 37.0], [98.0, 32.0]])


def shaded(paint: Paint, *, soft: float = 5.0, depth: float = 0.5, slant: float = 0.4) -> Paint:
    """Right of a slanting border, `soft` mm a standard deviation, light is less by `depth`."""
    from scipy.special import ndtr

    def darker(x: Array, y: Array) -> Array:
        return np.asarray(paint(x, y) * (1.0 - depth * ndtr((x - 50.0 - slant * y) / soft)))

    return darker


@pytest.mark.parametrize("soft", [4.0, 10.0])
@pytest.mark.parametrize("slant", [0.4, -0.8])
def test_an_edge_across_the_shadow_is_measured(soft: float, slant: float) -> None:
    view = seen(shaded(board_paint(CORNERS, face=0.25), soft=soft, slant=slant))
    lit = evened(view)
    assert isinstance(lit, Evened)
    trace = trace_edge(lit)
    error = distance_to(trace.points[trace.measured], UPPER)
    assert np.quantile(error, 0.95) < 0.03
    assert np.ptp(trace.points[trace.measured, 0]) > 0.95 * np.ptp(UPPER[:, 0])


def test_without_that_it_is_not() -> None:
    with pytest.raises(ScribeError) as refused:
        trace_edge(seen(shaded(board_paint(CORNERS, face=0.25), soft=4.0)))
    assert refused.value.kind in ("edge-shadow", "outline-not-found")


def test_paper_has_the_same_light_everywhere() -> None:
    lit = evened(seen(shaded(board_paint(CORNERS, face=0.25))))
    x, y = np.meshgrid(np.arange(5.0, 106.0, 2.0), np.arange(46.0, 66.0, 2.0))
    light = lit.light(np.stack([x, y], axis=-1))
    assert np.ptp(light) < 8 * 0.008  # what noise makes of 561 pixels


def test_a_line_is_left_as_it_is() -> None:
    paint = line_paint(DRAWN, 0.5, board=0.8, line=0.3)
    trace = trace_line(evened(seen(shaded(paint))))
    assert np.quantile(distance_to(trace.points[trace.measured], DRAWN), 0.95) < 0.05


@pytest.mark.parametrize(
    "paint",
    [
        board_paint(CORNERS, face=0.25),
        board_paint(CORNERS, face=0.7),
        board_paint(CORNERS, face=0.25, shadow=(0.0, 6.0), soft=2.0),
        line_paint(DRAWN, 0.5, board=0.8, line=0.3),
    ],
)
def test_an_even_light_is_left_alone(paint: Paint) -> None:
    view = seen(paint)
    assert evened(view) is view


def test_a_board_that_its_shadow_joins_to_the_paper_is_none_of_it() -> None:
    """Its far side and its shadow, which fades out over a centimetre, are of one light."""

    def paint(x: Array, y: Array) -> Array:
        beside = (x > 20.0) & (x < 90.0) & (y > 8.0)
        return np.where(beside, 0.8 * np.exp(-0.55 * np.clip((46.0 - y) / 10.0, 0.0, 1.0)), 0.8)

    view = seen(paint)
    lit = evened(view)
    board, beyond = np.array([[55.0, 20.0]]), np.array([[55.0, 60.0]])
    assert lit.light(board) / lit.light(beyond) == pytest.approx(np.exp(-0.55), rel=0.1)


def test_a_board_nearly_as_light_as_paper_is_no_shadow() -> None:
    view = coloured((0.93, 0.86, 0.62))
    assert evened(view) is view


def test_colours_are_evened_too() -> None:
    view = coloured((0.95, 0.75, 0.05))
    x = (np.arange(view.picture.shape[1]) + 0.5) / 8
    fall = 1.0 - 0.5 / (1.0 + np.exp(-(x - 60.0) / 3.0))
    view.picture *= fall
    assert view.colours is not None
    view.colours *= fall[::2]
    view.__post_init__()
    lit = evened(view)
    at = np.stack([np.arange(10.0, 101.0), np.full(91, 55.0)], axis=1)
    colour = lit.colour(at)
    assert colour is not None
    assert np.ptp(colour, axis=0).max() < 0.1
