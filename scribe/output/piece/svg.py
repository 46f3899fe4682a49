"""A drawing as SVG in full size: width and height in mm, one user unit = 1 mm.

CSS Values and Units: 1in = 2.54cm = 96px, so that a viewer's 100 % is the true size. Group
ids are the drawing's layers. y runs down in SVG; coordinates are written flipped.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from scribe.output.piece.drawing import LAYERS, STROKES, Array, Drawing, Path, Picture, Text

Place = Callable[[float, float], tuple[float, float]]  # mm of the drawing -> user units

MARGIN_MM = 5.0
_CAP = 0.718  # height of a capital of Helvetica over its font size (Adobe font metrics)


def svg_bytes(drawing: Drawing, keep: Array | None = None) -> bytes:
    """The SVG file; the same bytes for the same drawing.

    keep: (N, 2) mm, what stays of the blank, as an area of its own for a screen to colour.
    """
    import svgwrite

    x0, y0, x1, y1 = drawing.full_box()
    width, height = x1 - x0 + 2 * MARGIN_MM, y1 - y0 + 2 * MARGIN_MM
    sheet = svgwrite.Drawing(size=(f"{width:.3f}mm", f"{height:.3f}mm"), debug=False)
    sheet.viewbox(0, 0, round(width, 3), round(height, 3))
    sheet.set_desc(title=drawing.name)

    def place(x: float, y: float) -> tuple[float, float]:
        return round(x - x0 + MARGIN_MM, 3), round(y1 - y + MARGIN_MM, 3)

    if keep is not None:
        area = sheet.g(id="keep")
        area.add(sheet.polygon([place(x, y) for x, y in keep.tolist()], stroke="none"))
        sheet.add(area)
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


def picture_svg(picture: Picture, words: str) -> str:
    """An <svg> element for a page, 4 pixels to a mm; words: what it shows, for who can't see it."""
    import svgwrite

    width, height = picture.size
    sheet = svgwrite.Drawing(size=(f"{4 * width:.0f}", f"{4 * height:.0f}"), debug=False)
    sheet.viewbox(0, 0, round(width, 3), round(height, 3))
    sheet.set_desc(title=words)
    sheet["role"] = "img"

    def place(x: float, y: float) -> tuple[float, float]:
        return round(x, 2), round(height - y, 2)

    for path in picture.paths:
        sheet.add(_path(sheet, path, place))
    for text in picture.texts:
        sheet.add(_text(sheet, text, place))
    return str(sheet.tostring())


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
