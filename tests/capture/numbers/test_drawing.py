"""Outlines from drawings that other libraries wrote, against the shapes they were told."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import numpy as np
import pytest

from scribe.capture.numbers.drawing import read_drawing
from scribe.errors import ScribeError
from scribe.outline import Outline


def read(path: Path, choose: str | None = None, **more) -> Outline:
    return read_drawing(path, "above", choose=choose, u95=0.1, unit_mm=more.get("unit"))


def drawn(folder: Path, units: int = 4) -> tuple[ezdxf.document.Drawing, Path]:
    document = ezdxf.new(units=units)
    return document, folder / "wall.dxf"


def length(outline: Outline) -> float:
    return float(np.hypot(*np.diff(outline.points, axis=0).T).sum())


def test_pieces_are_joined_end_to_end(tmp_path: Path) -> None:
    """Line, arc, polyline with a bulge, in any order and sense: 100 + pi 50 / 2 + pi 20."""
    document, path = drawn(tmp_path)
    space = document.modelspace()
    space.add_line((100, 0), (0, 0), dxfattribs={"layer": "wall"})
    space.add_arc((100, 50), 50, 270, 360, dxfattribs={"layer": "wall"})  # (100, 0) to (150, 50)
    space.add_lwpolyline([(190, 50, 0, 0, 0), (150, 50, 0, 0, 0)], format="xyseb")
    space.entity_space.entities[-1].set_points([(150, 50, 0, 0, 1.0), (190, 50, 0, 0, 0.0)])
    space.entity_space.entities[-1].dxf.layer = "wall"
    space.add_line((0, 90), (300, 90), dxfattribs={"layer": "ceiling"})
    document.saveas(path)
    outline = read(path, "wall")
    expected = 100.0 + np.pi * 25.0 + np.pi * 20.0
    # Chords lie within 0.01 mm of the curves: they are shorter by less than 8 s^2 / (3 c) each.
    assert length(outline) == pytest.approx(expected, abs=0.02)
    away = np.hypot(*(outline.points - [100.0, 50.0]).T)
    arc = (outline.points[:, 0] > 101) & (outline.points[:, 0] < 149) & (outline.points[:, 1] < 49)
    assert away[arc] == pytest.approx(50.0, abs=0.011)


@pytest.mark.parametrize(("units", "mm"), [(4, 1.0), (5, 10.0), (6, 1000.0), (1, 25.4)])
def test_units_are_honoured(tmp_path: Path, units: int, mm: float) -> None:
    document, path = drawn(tmp_path, units)
    document.modelspace().add_line((0, 0), (30, 0))
    document.saveas(path)
    assert length(read(path)) == pytest.approx(30 * mm)


def test_splines_and_ellipses_keep_their_shape(tmp_path: Path) -> None:
    document, path = drawn(tmp_path)
    document.modelspace().add_ellipse((0, 0), (60, 0), 40 / 60, 0, np.pi)
    document.saveas(path)
    points = read(path).points
    assert (points[:, 0] / 60) ** 2 + (points[:, 1] / 40) ** 2 == pytest.approx(1.0, abs=1e-6)
    # Half of an ellipse of 60 and 40: 317.308792 / 2 (elliptic integral, recomputed).
    assert length(read(path)) == pytest.approx(317.308792 / 2, abs=0.02)


def test_svg_has_a_physical_size(tmp_path: Path) -> None:
    """200 mm wide for 100 units: two mm each; y down becomes y up; a transform moves it."""
    path = tmp_path / "wall.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" '
        'viewBox="0 0 100 50"><g id="wall" transform="translate(5 0)">'
        '<path d="M 0 10 L 40 10 A 10 10 0 0 1 60 10 L 80 20"/></g>'
        '<path id="other" d="M 0 0 L 5 5"/></svg>',
        "utf-8",
    )
    outline = read(path, "wall")
    assert outline.points[0] == pytest.approx([10.0, -20.0], abs=1e-4)
    assert outline.points[-1] == pytest.approx([170.0, -40.0], abs=1e-4)
    expected = 80.0 + np.pi * 20.0 + np.hypot(40.0, 20.0)
    assert length(outline) == pytest.approx(expected, abs=0.02)
    top = outline.points[:, 1].max()
    assert top == pytest.approx(0.0, abs=0.011)  # the arc's crown, 20 mm above


@pytest.mark.parametrize("size", ["", 'width="200" height="100"', 'width="200px" height="100px"'])
def test_svg_without_a_physical_size_needs_a_unit(tmp_path: Path, size: str) -> None:
    path = tmp_path / "wall.svg"
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 200 100">'
        '<path d="M 10 20 L 110 20"/></svg>',
        "utf-8",
    )
    with pytest.raises(ScribeError) as caught:
        read(path)
    assert caught.value.kind == "drawing-units"
    assert length(read(path, unit=10.0)) == pytest.approx(1000.0, abs=1e-6)


def test_what_cannot_be_told_is_refused(tmp_path: Path) -> None:
    def kind(path: Path, choose: str | None = None) -> str:
        with pytest.raises(ScribeError) as caught:
            read(path, choose)
        return caught.value.kind

    document, path = drawn(tmp_path)
    space = document.modelspace()
    for end in ((100, 0), (0, 100), (-100, 0)):
        space.add_line((0, 0), end, dxfattribs={"layer": "fork"})
    space.add_line((0, 500), (100, 500), dxfattribs={"layer": "gap"})
    space.add_line((101, 500), (200, 500), dxfattribs={"layer": "gap"})
    document.saveas(path)
    assert kind(path, "fork") == "drawing-branches"
    assert kind(path, "gap") == "drawing-parts"
    assert kind(path, "nothing") == "drawing-empty"
    unitless, other = drawn(tmp_path / "..", 0)[0], tmp_path / "unitless.dxf"
    unitless.modelspace().add_line((0, 0), (3, 0))
    unitless.saveas(other)
    assert kind(other) == "drawing-units"
    assert length(read(other, unit=10.0)) == pytest.approx(30.0)
    broken = tmp_path / "broken.dxf"
    broken.write_text("no drawing", "utf-8")
    assert kind(broken) == "drawing-unreadable"
    assert kind(tmp_path / "photo.jpg") == "drawing-kind"


def test_its_ends_are_as_uncertain_along_it_as_it_is_across(tmp_path: Path) -> None:
    """U of 0.1 mm at either end, each by itself: 0.1 sqrt(2) from end to end, whatever lies
    between; across it the points keep theirs, and a closed line has no ends.
    """
    path = tmp_path / "line.svg"
    size = 'width="900mm" height="90mm" viewBox="0 0 900 90"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {size}>'
    path.write_text(f'{head}<path d="M0 40 L450 40 L900 40"/></svg>', "utf-8")
    line = read_drawing(path, "above", choose=None, u95=0.1, unit_mm=None)
    gradient = np.zeros((3, 2))
    gradient[[0, -1], 0] = -1.0, 1.0
    assert 2.0 * line.quantity_u(gradient) == pytest.approx(0.1 * np.sqrt(2.0))
    assert line.U == pytest.approx(0.1)
    path.write_text(f'{head}<circle cx="50" cy="45" r="40"/></svg>', "utf-8")
    assert (
        "drawn ends" not in read_drawing(path, "inside", choose=None, u95=0.1, unit_mm=None).budget
    )
