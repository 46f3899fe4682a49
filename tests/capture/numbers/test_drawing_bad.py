"""Drawings as they come from elsewhere: blocks, odd units, turned shapes, and what is refused."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import shapely
from ezdxf.math import BSpline
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scribe.errors import ScribeError
from tests.capture.numbers.drawings import LINE, dxf, read, size, svg


@pytest.mark.parametrize(
    ("units", "mm"), [(2, 304.8), (4, 1.0), (5, 10.0), (10, 914.4), (13, 1e-3), (14, 100.0)]
)
def test_whatever_unit_a_dxf_states(tmp_path: Path, units: int, mm: float) -> None:
    """$INSUNITS: 2 ft, 4 mm, 5 cm, 10 yd, 13 micrometres, 14 dm (the format's reference)."""
    ends = ((0, 0), (600.0 / mm, 1.0 / mm))
    outline = read(dxf(tmp_path, lambda _, space: space.add_line(*ends), units))
    assert outline.points[-1] == pytest.approx([600.0, 1.0])


def test_a_block_is_read_where_it_was_put_and_on_its_layer(tmp_path: Path) -> None:
    """Twice as large, turned by 90 degrees, at (10, 20): (x, y) goes to (10 - 2 y, 20 + 2 x)."""

    def draw(document, space) -> None:
        block = document.blocks.new("wall")
        block.add_line((0, 0), (100, 0), dxfattribs={"layer": "wall"})
        block.add_arc((100, 50), 50, 270, 360)  # on layer 0: it takes the block's layer
        outer = document.blocks.new("outer")
        outer.add_blockref("wall", (0, 0), dxfattribs={"layer": "wall"})
        how = {"xscale": 2, "yscale": 2, "rotation": 90}
        space.add_blockref("outer", (10, 20), dxfattribs=how)
        space.add_line((0, 900), (300, 900), dxfattribs={"layer": "ceiling"})

    outline = read(dxf(tmp_path, draw), "WALL", "left")
    ends = outline.points[[0, -1]][np.argsort(outline.points[[0, -1], 1])]
    assert ends == pytest.approx(np.array([[10.0, 20.0], [-90.0, 320.0]]), abs=1e-6)
    assert size(outline) == pytest.approx(200.0 + np.pi * 50.0, abs=0.02)


def test_an_arc_in_a_block_stretched_one_way_is_an_ellipse(tmp_path: Path) -> None:
    def draw(document, space) -> None:
        document.blocks.new("a").add_arc((0, 0), 50, 0, 180)
        space.add_blockref("a", (0, 0), dxfattribs={"xscale": 2, "yscale": 1})

    points = read(dxf(tmp_path, draw)).points
    assert (points[:, 0] / 100) ** 2 + (points[:, 1] / 50) ** 2 == pytest.approx(1.0, abs=1e-6)


def test_what_is_hidden_is_left_out_unless_it_is_named(tmp_path: Path) -> None:
    def draw(document, space) -> None:
        document.layers.add("old").off()
        space.add_line((0, 0), (300, 5), dxfattribs={"layer": "old"})
        space.add_line((0, 0), (300, 9))
        space.add_line((300, 9), (0, 0))  # once more, the other way
        space.add_text("wall")

    path = dxf(tmp_path, draw)
    assert read(path).points[-1] == pytest.approx([300.0, 9.0])
    assert read(path, "old").points[-1] == pytest.approx([300.0, 5.0])


@given(st.lists(st.floats(-40.0, 40.0), min_size=4, max_size=8))
@settings(max_examples=10)
def test_a_spline_lies_within_a_chord_of_another_evaluation(tmp_path_factory, heights) -> None:
    """De Boor's points of ezdxf's own evaluator, and shapely's distance to the flattened line."""
    control = [(60.0 * k, height, 0.0) for k, height in enumerate(heights)]
    folder = tmp_path_factory.mktemp("spline")
    path = dxf(folder, lambda _, space: space.add_open_spline(control))
    line = shapely.linestrings(read(path).points)
    curve = BSpline(control)
    for point in curve.points(np.linspace(0.0, curve.max_t, 50)):
        assert line.distance(shapely.Point(point.x, point.y)) <= 0.01


@given(
    st.lists(st.integers(10, 90), min_size=6, max_size=6),
    st.floats(-60.0, 60.0),
    st.floats(0.5, 3.0),
)
@settings(max_examples=15)
def test_a_turned_curve_is_bernsteins(tmp_path_factory, ends: list[int], deg: float, by: float):
    """Its points by Bernstein's sum, turned and enlarged by hand; shapely's distance to ours.

    The sag of one of many parts is largest in its middle to a few per cent.
    """
    handles = np.array([[0, 50], [ends[0], ends[1]], [ends[2], ends[3]], [120 + ends[4], ends[5]]])
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = handles.tolist()
    path = svg(
        tmp_path_factory.mktemp("curve"),
        f'<g transform="rotate({deg})"><path transform="scale({by})" '
        f'd="M {x0} {y0} C {x1} {y1} {x2} {y2} {x3} {y3}"/></g>',
        'width="400mm" height="200mm" viewBox="0 0 200 100"',
    )
    t = np.linspace(0.0, 1.0, 60)[:, None]
    curve = sum(
        share * handle
        for share, handle in zip(
            ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3), handles, strict=True
        )
    )
    turn = np.radians(deg)
    matrix = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    expected = (2.0 * by * curve @ matrix.T) * [1.0, -1.0]
    assume(shapely.linestrings(expected).is_simple)
    line = shapely.linestrings(read(path).points)
    assert shapely.distance(shapely.points(expected), line).max() <= 0.0105


def test_a_turned_ellipse_keeps_its_size(tmp_path: Path) -> None:
    """Half axes 40 and 20, turned by 30 degrees about (50, 50), twice as large; y up."""
    path = svg(
        tmp_path,
        '<ellipse cx="50" cy="50" rx="40" ry="20" transform="rotate(30 50 50)"/>',
        'width="400mm" height="200mm" viewBox="0 0 200 100"',
    )
    points = read(path, building="inside").points / 2.0 - [50.0, -50.0]
    turn = np.radians(30.0)  # clockwise where y is up: turned back the other way
    back = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    own = points @ back.T
    assert (own[:, 0] / 40) ** 2 + (own[:, 1] / 20) ** 2 == pytest.approx(1.0, abs=1e-5)


def _polyline(points: list[tuple[float, float]]) -> Callable:
    return lambda _, space: space.add_lwpolyline(points)


REFUSED_DXF = {
    "no unit": (lambda _, m: m.add_line((0, 0), (300, 5)), 0, "drawing-units"),
    "parsecs": (lambda _, m: m.add_line((0, 0), (300, 5)), 20, "drawing-size"),
    "too small": (lambda _, m: m.add_line((0, 0), (0.3, 0.01)), 4, "drawing-size"),
    "too large": (lambda _, m: m.add_line((0, 0), (3e9, 5)), 4, "drawing-size"),
    "rises": (lambda _, m: m.add_line((0, 0, 0), (300, 0, 400)), 4, "drawing-deep"),
    "stands": (lambda _, m: m.add_polyline3d([(0, 0, 0), (9, 0, 9)]), 4, "drawing-deep"),
    "a face": (lambda _, m: m.add_3dface([(0, 0), (9, 0), (9, 9), (0, 9)]), 4, "drawing-entity"),
    "a multiline": (lambda _, m: m.add_mline([(0, 0), (300, 0)]), 4, "drawing-entity"),
    "crosses": (_polyline([(0, 0), (300, 0), (300, 100), (150, -50)]), 4, "drawing-crosses"),
    "goes back": (_polyline([(0, 0), (300, 0), (200, 0)]), 4, "drawing-crosses"),
    "only text": (lambda _, m: m.add_text("wall"), 4, "drawing-empty"),
    "on paper": (lambda d, _: d.paperspace().add_line((0, 0), (300, 5)), 4, "drawing-empty"),
    "a point": (lambda _, m: m.add_line((5, 5), (5, 5)), 4, "drawing-empty"),
    "no number": (lambda _, m: m.add_line((0, 0), (np.nan, 5)), 4, "drawing-unreadable"),
    "round": (lambda _, m: m.add_circle((50, 50), 40), 4, "outline-closed"),
    "upright": (lambda _, m: m.add_line((0, 0), (0, 300)), 4, "outline-side"),
}


@pytest.mark.parametrize("name", REFUSED_DXF)
def test_a_dxf_that_says_something_else(tmp_path: Path, name: str) -> None:
    draw, units, kind = REFUSED_DXF[name]
    path = dxf(tmp_path, draw, units)
    with pytest.raises(ScribeError) as caught:
        read(path)
    assert caught.value.kind == kind, str(caught.value)


def test_a_stated_unit_against_the_drawing_s_own(tmp_path: Path) -> None:
    """Drawn in inches: a line of 10 is 254 mm, and no --unit mm makes it 10."""
    path = dxf(tmp_path, lambda _, space: space.add_line((0, 0), (10, 0)), 1)
    with pytest.raises(ScribeError, match=r"25\.4 mm") as caught:
        read(path, unit=1.0)
    assert caught.value.kind == "drawing-units"
    assert read(path, unit=25.4).points[-1] == pytest.approx([254.0, 0.0])


def test_a_stated_unit_against_a_stated_size(tmp_path: Path) -> None:
    with pytest.raises(ScribeError) as caught:
        read(svg(tmp_path, LINE), unit=10.0)
    assert caught.value.kind == "drawing-units"
    page = tmp_path / "page.svg"
    page.write_text("<html><body/></html>", "utf-8")
    with pytest.raises(ScribeError) as caught:
        read(page)
    assert caught.value.kind == "drawing-unreadable"


def test_a_refusal_names_what_there_is(tmp_path: Path) -> None:
    path = dxf(tmp_path, lambda _, m: m.add_line((0, 0), (9, 1), dxfattribs={"layer": "wall 2"}))
    with pytest.raises(ScribeError, match="wall 2"):
        read(path, "wall")
    with pytest.raises(ScribeError, match="has the line: w"):
        read(svg(tmp_path, LINE), "wall")
