"""A drawing as SVG in full size: width and height in mm, one user unit = 1 mm.

CSS Values and Units: 1in = 2.54cm = 96px, so that a viewer's 100 % is the true size. Group
ids are the drawing's layers. y runs down in SVG; coordinates are written flipped.
"""

from __future__ import annotations

from collections.abc import Callable
from math import cos, radians, sin
from typing import Any

from scribe.output.draw_piece import text_size
from scribe.output.drawing import LAYERS, STROKES, Drawing, Path, Text

Place = Callable[[float, float], tuple[float, float]]  # mm of the drawing -> user units

MARGIN_MM = 5.0
_CAP = 0.718  # height of a capital of Helvetica over its font size (Adobe font metrics)


def svg_bytes(drawing: Drawing) -> bytes:
    """The SVG file; the same bytes for the same drawing."""
    import svgwrite

    x0, y0, x1, y1 = full_box(drawing)
    width, height = x1 - x0 + 2 * MARGIN_MM, y1 - y0 + 2 * MARGIN_MM
    sheet = svgwrite.Drawing(size=(f"{width:.3f}mm", f"{height:.3f}mm"), debug=False)
    sheet.viewbox(0, 0, round(width, 3), round(height, 3))
    sheet.set_desc(title=drawing.name)

    def place(x: float, y: float) -> tuple[float, float]:
        return round(x - x0 + MARGIN_MM, 3), round(y1 - y + MARGIN_MM, 3)

    for name in LAYERS:
        layer = drawing.layer(name)
        group = sheet.g(id=name)
        for path in layer.paths:
            group.add(_path(sheet, path, place))
        for text in layer.texts:
            group.add(_text(sheet, text, place))
        sheet.add(group)
    body = str(sheet.tostring())
    return f'<?xml version="1.0" encoding="utf-8"?>\n{body}\n'.encode()


def full_box(drawing: Drawing) -> tuple[float, float, float, float]:
    """x0, y0, x1, y1 mm around paths and words."""
    x0, y0, x1, y1 = drawing.box()
    for layer in drawing.layers:
        for text in layer.texts:
            a, b, c, d = text_box(text)
            x0, y0, x1, y1 = min(x0, a), min(y0, b), max(x1, c), max(y1, d)
    return x0, y0, x1, y1


def text_box(text: Text) -> tuple[float, float, float, float]:
    """x0, y0, x1, y1 mm around the words as they are turned."""
    width, height = text_size(text)
    left = {"start": 0.0, "middle": -width / 2, "end": -width}[text.anchor]
    turn = radians(text.angle_deg)
    low = -0.3 * text.size
    corners = [(left + i * width, low + j * height) for i in (0, 1) for j in (0, 1)]
    xs = [text.at[0] + x * cos(turn) - y * sin(turn) for x, y in corners]
    ys = [text.at[1] + x * sin(turn) + y * cos(turn) for x, y in corners]
    return min(xs), min(ys), max(xs), max(ys)


def _path(sheet: Any, path: Path, place: Place) -> Any:
    stroke = STROKES[path.kind]
    points = [place(x, y) for x, y in path.points.tolist()]
    shape = sheet.polygon if path.closed else sheet.polyline
    look: dict[str, Any] = {"fill": "none", "stroke": "black", "stroke_width": stroke.width}
    if stroke.dashes:
        look["stroke_dasharray"] = ",".join(f"{dash:g}" for dash in stroke.dashes)
    return shape(points, **look)


def _text(sheet: Any, text: Text, place: Place) -> Any:
    x, y = place(*text.at)
    extra = {"transform": f"rotate({-text.angle_deg:g} {x:g} {y:g})"} if text.angle_deg else {}
    return sheet.text(
        text.words,
        insert=(x, y),
        font_size=round(text.size / _CAP, 3),
        font_family="Helvetica, Arial, sans-serif",
        font_weight="bold" if text.bold else "normal",
        text_anchor=text.anchor,
        **extra,
    )
