"""SVG and DXF of real pieces, read back by libraries that did not write them."""

from __future__ import annotations

import io
from pathlib import Path as File

import ezdxf
import numpy as np
import pytest
import svgelements

from scribe.output.piece.draw_piece import draw
from scribe.output.piece.drawing import LAYERS
from scribe.output.piece.dxf import dxf_bytes
from scribe.output.piece.svg import MARGIN_MM, svg_bytes
from scribe.piece import Piece
from tests.output.drawn import drawn

PX_PER_MM = 96 / 25.4  # CSS Values and Units: 1in = 96px


def test_svg_is_full_size(piece: Piece) -> None:
    drawing = drawn(piece)
    content = svg_bytes(drawing)
    assert content == svg_bytes(draw(piece))
    svg = svgelements.SVG.parse(io.BytesIO(content), reify=False, ppi=96)
    x0, y0, x1, y1 = drawing.full_box()
    assert float(svg.width) / PX_PER_MM == pytest.approx(x1 - x0 + 2 * MARGIN_MM, abs=0.01)
    assert float(svg.height) / PX_PER_MM == pytest.approx(y1 - y0 + 2 * MARGIN_MM, abs=0.01)
    assert svg.viewbox.width == pytest.approx(x1 - x0 + 2 * MARGIN_MM, abs=0.01)
    groups = {e.id: e for e in svg.elements() if isinstance(e, svgelements.Group) and e.id}
    assert set(LAYERS) <= set(groups)
    shapes = [e for e in groups["cut"] if isinstance(e, svgelements.Polyline)]
    paths = drawing.layer("cut").paths
    assert len(shapes) == len(paths)
    for shape, path in zip(shapes, paths, strict=True):
        seen = np.array([[p.x, p.y] for p in shape.points])
        there = np.column_stack(
            [path.points[:, 0] - x0 + MARGIN_MM, y1 - path.points[:, 1] + MARGIN_MM]
        )
        assert seen == pytest.approx(there, abs=0.01)


def test_dxf_has_the_same_lines_in_mm(piece: Piece, tmp_path: File) -> None:
    drawing = drawn(piece)
    content = dxf_bytes(drawing, piece)
    assert content == dxf_bytes(drawing, piece)
    (tmp_path / "a.dxf").write_bytes(content)
    document = ezdxf.readfile(tmp_path / "a.dxf")
    assert document.header["$INSUNITS"] == 4  # millimetres
    lines = document.modelspace().query("LWPOLYLINE[layer=='cut']")
    seen = [np.array([(x, y) for x, y, *_ in line.get_points()]) for line in lines]
    for path, points in zip(drawing.layer("cut").paths, seen, strict=True):
        assert points == pytest.approx(path.points, abs=1e-9)
    # group codes as they stand in the file: 0/LWPOLYLINE with layer 8/cut
    codes = [line.strip() for line in content.decode().splitlines()]
    count = sum(len(layer.paths) for layer in drawing.layers)
    assert codes.count("LWPOLYLINE") == count + 1 + len(piece.keep.holes)


def test_a_machine_follows_closed_lines(piece: Piece, tmp_path: File) -> None:
    """The piece's border and openings are whole and closed, and the file passes the audit."""
    (tmp_path / "a.dxf").write_bytes(dxf_bytes(drawn(piece), piece))
    document = ezdxf.readfile(tmp_path / "a.dxf")
    assert not document.audit().errors
    (border,) = document.modelspace().query("LWPOLYLINE[layer=='piece']")
    assert border.closed
    seen = np.array([(x, y) for x, y, *_ in border.get_points()])
    assert seen == pytest.approx(piece.keep.outer, abs=1e-9)
    openings = document.modelspace().query("LWPOLYLINE[layer=='openings']")
    assert len(openings) == len(piece.keep.holes)
    assert all(line.closed for line in openings)
    assert not document.layers.get("waste").dxf.plot
    assert document.layers.get("piece").dxf.plot
