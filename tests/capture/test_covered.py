"""Edges over a part of which something of another colour lies."""

from __future__ import annotations

import pytest

from scribe.capture.covered import refuse_covered
from scribe.capture.edges.edge import trace_edge
from scribe.errors import ScribeError
from tests.capture.coloured_view import coloured
from tests.capture.fake_view import PX_PER_MM, FakeView

GREY = (0.45, 0.45, 0.45)
SKIN = (1.35, 0.9, 0.7)  # beside grey, a part of each colour (common sense, no source)


def tinged(colour: tuple[float, ...], x0: float, x1: float) -> FakeView:
    """A grey board whose colours are multiplied between two places along it."""
    view = coloured(GREY)
    assert view.colours is not None
    part = slice(round(x0 * PX_PER_MM / 2), round(x1 * PX_PER_MM / 2))
    for plane, times in zip(view.colours, colour, strict=True):
        plane[:, part] *= times
    return view


def test_a_finger_over_the_edge_is_seen_by_its_colour() -> None:
    view = tinged(SKIN, 40.0, 55.0)
    with pytest.raises(ScribeError) as refusal:
        refuse_covered(view, trace_edge(view))
    assert refusal.value.kind == "edge-covered"
    assert "round 4" in refusal.value.what


def test_a_hand_whose_fingers_reach_over_the_edge_is_not_the_board() -> None:
    """Told by its colour, where the board has none, and half as wide as that."""
    view = coloured(GREY)
    assert view.colours is not None
    across, up = slice(28 * PX_PER_MM, 56 * PX_PER_MM), slice(0, 66 * PX_PER_MM)
    view.picture[up, across] = 0.35
    half = slice(across.start // 2, across.stop // 2)
    for plane, light in zip(view.colours, (0.55, 0.3, 0.2), strict=True):
        plane[: up.stop // 2, half] = light
    with pytest.raises(ScribeError) as refusal:
        trace_edge(view)
    assert refusal.value.kind == "edge-covered"


@pytest.mark.parametrize(
    ("colour", "x1"), [(SKIN, 42.0), ((0.5, 0.5, 0.5), 70.0), ((1.08, 1.0, 0.95), 70.0)],
    ids=["a speck", "a shadow", "other wood"],
)  # fmt: skip
def test_specks_shadows_and_wood_are_no_hands(colour: tuple[float, ...], x1: float) -> None:
    view = tinged(colour, 40.0, x1)
    refuse_covered(view, trace_edge(view, upright=False))


def test_without_colours_nothing_is_said() -> None:
    view = coloured(GREY)
    view.colours = None
    refuse_covered(view, trace_edge(view))
