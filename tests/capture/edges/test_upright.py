"""A board seen from the building's side: its arris is traced, whatever of its side is seen."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from scribe.capture.edges.upright import from_foot_to_arris
from scribe.capture.view import Trace
from scribe.print_scale import PrintScale
from scribe.recipes.trace import trace
from scribe.source import PhotoSource
from tests.capture.fake_view import seen
from tests.honesty.scenes import distance
from tests.scenes.scene import make_scene

ARRIS, HEIGHT, LEAN = 40.0, 6.0, 0.25  # mm, mm, mm outwards for each mm up
WIDE = HEIGHT * LEAN


def found(at: float, *, paper: float, side: float, face: float, lean: float = LEAN) -> Trace:
    """What comes back of a level trace at y = `at` on the picture of a board seen from behind."""

    def paint(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        light = np.where(y > ARRIS, np.where(y > ARRIS + WIDE, paper, side), face)
        return light * (1.0 + 0.03 * np.sin(2.3 * y) * np.sin(1.7 * x))

    view = replace(seen(paint), height=HEIGHT, slope=(0.0, lean))
    x = np.arange(20.0, 90.0, 0.5)
    level = np.column_stack([x, np.full_like(x, at)])
    up = np.broadcast_to([0.0, 1.0], level.shape)
    traced = Trace(level, np.full(len(x), 0.01), up, np.ones(len(x), bool), {}, np.zeros((0, 2)))
    return from_foot_to_arris(view, traced)


@pytest.mark.parametrize("side", [0.1, 0.2, 0.45])
def test_the_foot_is_moved_to_the_arris(side: float) -> None:
    moved = found(ARRIS + WIDE, paper=0.8, side=side, face=0.3)
    assert moved.points[:, 1] == pytest.approx(ARRIS)
    assert np.all(moved.parts["side"] == 0.0)
    assert moved.u == pytest.approx(np.hypot(0.01, HEIGHT * np.tan(np.radians(0.5))))


@pytest.mark.parametrize("side", [0.1, 0.5, 0.74])
def test_the_arris_is_left_where_it_is(side: float) -> None:
    left = found(ARRIS, paper=0.8, side=side, face=0.3)
    assert left.points[:, 1] == pytest.approx(ARRIS)
    assert left.u == pytest.approx(0.01)


def test_a_side_like_the_face_of_a_dark_board_ends_at_its_foot() -> None:
    assert found(ARRIS + WIDE, paper=0.8, side=0.3, face=0.3).points[:, 1] == pytest.approx(ARRIS)


@pytest.mark.parametrize(("at", "side"), [(ARRIS, 0.8), (ARRIS + WIDE, 0.55)])
def test_a_light_board_whose_side_shows_nothing_is_in_doubt(at: float, side: float) -> None:
    """Its side may be like the paper or like its face, and only one of them can be seen."""
    doubted = found(at, paper=0.8, side=side, face=0.55)
    assert np.all(np.abs(doubted.points[:, 1] - ARRIS) <= 2.0 * doubted.u)
    assert doubted.parts["side"] == pytest.approx(0.5 * WIDE)


def test_what_is_seen_from_the_board_itself_is_left_alone() -> None:
    x = found(ARRIS, paper=0.8, side=0.3, face=0.3, lean=-0.2)
    assert x.points[:, 1] == pytest.approx(ARRIS)
    assert "side" not in x.parts


@pytest.mark.parametrize(
    ("material", "height", "megapixels"), [("wood", 1.2, 3), ("grey", 4.0, 6), ("wood", 8.0, 3)]
)
def test_boards_seen_from_the_building(
    material: str, height: float, megapixels: float, tmp_path: Path
) -> None:
    """The foot, taken for the arris, would be off by up to 3.5 mm.

    A grey board is told from its shadow where pixels are small.
    """
    made = make_scene(
        "edge", 41, megapixels=megapixels, azimuth_deg=80.0, tilt_deg=24.0, shape="smooth",
        material=material, height=height,
    )  # fmt: skip
    exact = PrintScale(1.0, 1.0, 1e-5, 1e-5, "true")
    source = PhotoSource((made.write(tmp_path),), "edge", height=height, print_scale=exact)
    outline = trace(source).outline
    x = outline.points[:, 0]
    judged = (x > made.truth[0, 0]) & (x < made.truth[-1, 0]) & outline.measured
    error = distance(outline.points[judged], made.truth)
    assert np.mean(error <= outline.U[judged]) > 0.9
    assert np.quantile(error, 0.95) < 0.08
