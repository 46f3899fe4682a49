"""Pins, a line or an edge asked for by another's name are refused; each by its own isn't."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from scribe.capture.another_kind import refuse_another_kind
from scribe.capture.edges.edge import trace_edge
from scribe.capture.edges.scan import stations
from scribe.capture.lines.grain import stands_out
from scribe.capture.lines.trace import trace_line
from scribe.capture.view import Trace
from scribe.errors import ScribeError
from tests.capture.coloured_view import coloured
from tests.capture.fake_view import FakeView, Paint, line_paint, seen

Array = npt.NDArray[np.float64]

LEFT, BELOW, RIGHT, ABOVE = 12.0, 8.0, 98.0, 58.0  # of a board, mm
ALONG = np.array([[20.0, 30.0], [50.0, 32.0], [90.0, 27.0]])
PAPER, FACE = 0.8, 0.3
CREAM = (0.93, 0.86, 0.62)


def board(x: Array, y: Array) -> Array:
    """A plain board on paper."""
    on = (x > LEFT) & (x < RIGHT) & (y > BELOW) & (y < ABOVE)
    return np.where(on, FACE, PAPER + 0.0 * (x + y))


def on_a_board(x: Array, y: Array) -> Array:
    """A board with a drawn line."""
    return np.asarray(board(x, y) * line_paint(ALONG, 0.5, board=1.0, line=0.5)(x, y))


def straight_edge(y: float) -> Trace:
    """What a tracer says of a straight edge there whose board lies below."""
    x = np.arange(LEFT, RIGHT, 0.5)
    n = len(x)
    return Trace(
        points=np.stack([x, np.full(n, y)], axis=1),
        u=np.full(n, 0.01),
        normals=np.tile([0.0, 1.0], (n, 1)),
        measured=np.ones(n, bool),
        facts={"object": "below"},
        tips=np.zeros((0, 2)),
    )


def pins(pitch: float, turn_deg: float = 0.0) -> Paint:
    """Pins side by side below y = 52, their tips round, light between them."""
    lean = float(np.tan(np.radians(turn_deg)))

    def paint(x: Array, y: Array) -> Array:
        away = (x - lean * (y - 52.0)) % pitch - 0.5 * pitch
        tip = 52.0 - 0.5 * pitch + np.sqrt(np.maximum(0.25 * pitch**2 - away**2, 0.0))
        comb = (x > 12.0) & (x < 98.0) & (y > 8.0) & (y < tip)
        return np.where(comb, FACE * (1.0 - 0.4 * np.abs(away) / pitch), PAPER + 0.0 * (x + y))

    return paint


def refused(view: FakeView, found: Trace, kind: str) -> str:
    with pytest.raises(ScribeError) as caught:
        refuse_another_kind(view, found, kind)
    assert caught.value.kind == "another-kind"
    return str(caught.value)


@pytest.mark.parametrize("pitch", [0.8, 1.27])
@pytest.mark.parametrize("turn_deg", [0.0, 7.0, -11.0])
def test_pins_are_no_edge_and_no_line(pitch: float, turn_deg: float) -> None:
    view = seen(pins(pitch, turn_deg))
    assert "{kind:gauge}" in refused(view, straight_edge(52.0), "edge")
    assert "{kind:gauge}" in refused(view, straight_edge(20.0), "line")


def test_the_blocks_of_a_compressed_photo_are_no_pins() -> None:
    """A hundredth of the light, every eight pixels of 0.12 mm."""

    def blocks(x: Array, y: Array) -> Array:
        return np.asarray(board(x, y) * (1.0 + 0.01 * np.sign(np.sin(2.0 * np.pi * x / 0.96))))

    view = seen(blocks, noise=0.002)
    refuse_another_kind(view, straight_edge(ABOVE), "edge")


def test_a_line_on_paper_is_no_edge() -> None:
    """2 mm of felt pen, whose upper side was followed."""
    level = np.array([[LEFT, 40.0], [RIGHT, 40.0]])
    view = seen(line_paint(level, 2.0, board=PAPER))
    assert "paper behind it" in refused(view, straight_edge(41.0), "edge")


def test_an_edge_or_the_line_beside_it() -> None:
    """Only the fitter knows which of them is meant."""
    view = seen(on_a_board)
    assert "{kind:line}" in refused(view, trace_edge(view), "edge")


def test_a_fold_of_the_sheet_beside_an_edge_is_no_line() -> None:
    fold = line_paint(np.array([[14.0, 63.0], [106.0, 66.0]]), 0.5, board=1.0, line=0.7)
    view = seen(lambda x, y: board(x, y) * fold(x, y))
    refuse_another_kind(view, trace_edge(view), "edge")


def test_what_was_asked_for_passes() -> None:
    view = seen(board)
    refuse_another_kind(view, trace_edge(view), "edge")
    for paint in (on_a_board, line_paint(ALONG, 0.5, grain=0.06)):
        view = seen(paint)
        refuse_another_kind(view, trace_line(view), "line")


def test_a_streak_of_grain_is_no_line() -> None:
    """A streak along the whole board, and one as dark to each side along a quarter: over its
    length they are a quarter as dark, where a line must be five times as dark.
    """

    def paint(x: Array, y: Array) -> Array:
        away = np.abs(y - 36.0)
        beside = (np.abs(away - 8.0) < 0.35) & (x > 40.0) & (x < 65.0)
        return np.asarray(0.55 * (1.0 - 0.2 * ((away < 0.35) | beside)))

    with pytest.raises(ScribeError, match="no darker than the board's grain"):
        trace_line(seen(paint))
    pointed_at = trace_line(seen(paint), near=np.array([[10.0, 36.0], [100.0, 36.0]]))
    assert np.abs(pointed_at.points[:, 1] - 36.0).max() < 0.1


def test_how_far_a_line_stands_out() -> None:
    """A bar of contrast 0.3 over streaks of 0.03 stands out ten times; blur spares the wider."""
    x = np.arange(20.0, 90.0, 0.5)
    where = stations(np.stack([x, np.full(len(x), 35.5)], axis=1), 1.0, 1.0)

    def paint(x: Array, y: Array) -> Array:
        away = np.abs((y - 3.0) % 5.0 - 2.5) + 0.0 * x
        deep = np.where(np.abs(y - 35.5) < 2.5, 0.3, 0.03)
        return np.asarray(0.55 * (1.0 - deep * (away < 0.5)))

    times = stands_out(seen(paint, noise=0.0), where, np.zeros(len(where.place)), 1.0)
    assert times == pytest.approx(10.0, rel=0.1)


def test_the_shadow_beside_a_board_as_light_as_paper_is_no_drawn_line() -> None:
    view = coloured(CREAM, shadow=(0.5, -1.2), depth=(0.5, 0.5, 0.5), soft=0.2)
    trace = trace_edge(view)
    refuse_another_kind(view, trace, "edge")


def test_a_board_as_light_as_paper_is_no_line_with_paper_behind_it() -> None:
    as_light = 0.75, 1.05, 1.24
    view = coloured(as_light)
    trace = trace_edge(view)
    refuse_another_kind(view, trace, "edge")
    view.colours = None  # by its light it might be one
    with pytest.raises(ScribeError) as refused:
        refuse_another_kind(view, trace, "edge")
    assert refused.value.kind == "another-kind"
