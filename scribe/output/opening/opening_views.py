"""Views of an opening with what is built into it: front elevation, and isometric, dimensioned.

Sizes are those to build to; what the room measures stands in the tables with its U.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from scribe.opening import Opening
from scribe.output.opening.dimensions import ROW, Point, Sheet
from scribe.quantity import format_mm
from scribe.sizes import Built, Carcass

_LARGE = 125.0  # page mm, the longer side of the opening
_COSINE, _SINE = float(np.cos(np.pi / 6)), 0.5


def elevation(room: Opening, built: Built) -> str:
    """The front plane as SVG: opening, carcasses, strips, and the chains that add up."""
    sheet, scale = Sheet(), _scale(room)

    def at(x: float, y: float) -> Point:
        return x * scale, -y * scale

    section = room.section(0.0)
    sheet.line([at(*point) for point in section], "room", closed=True)
    for carcass in built.carcasses:
        corners = _face(carcass)
        sheet.line([at(*corner) for corner in corners], "edge", closed=True)
        centre, middle = at(carcass.left + carcass.width / 2, carcass.foot + carcass.height / 2)
        sheet.words(carcass.name, centre, middle)
    first, last = built.carcasses[0], built.carcasses[-1]
    right = last.left + last.width
    ends = (
        max(room.wall_x("left", y, 0.0) for y in (first.foot, first.foot + first.height)),
        min(room.wall_x("right", y, 0.0) for y in (last.foot, last.foot + last.height)),
    )
    low = max(-float(section[:, 1].min()) * scale, 0.0)
    stops = [ends[0], *(each.left for each in built.carcasses), right, ends[1]]
    said = [
        _strip(built, "left", first.left - ends[0]),
        *(format_mm(each.width) for each in built.carcasses),
        _strip(built, "right", ends[1] - right),
    ]
    reach = sheet.chain([s * scale for s in stops], said, low + ROW, low, upright=False)
    whole = [first.left * scale, right * scale]
    sheet.chain(whole, [format_mm(right - first.left)], reach + ROW * 0.7, low, upright=False)
    _heights(sheet, room, built, scale, max(float(section[:, 0].max()), right) * scale)
    return sheet.svg("Front elevation with sizes in mm")


def _heights(sheet: Sheet, room: Opening, built: Built, scale: float, edge: float) -> None:
    """The tallest carcass's chain: plinth, carcass, strip; the others' heights stand in them."""
    tall = max(built.carcasses, key=lambda each: each.height)
    x = (tall.left, tall.left + tall.width)
    floor = max(room.floor_y(each, 0.0) for each in x)
    nodes = [n[0] for n in room.ceiling if x[0] < n[0] < x[1]] if room.along == "width" else []
    ceiling = min(room.ceiling_y(each, 0.0) for each in (*x, *nodes))
    stops, said = [tall.foot, tall.foot + tall.height], [format_mm(tall.height)]
    if tall.foot - floor > 1.0:
        stops, said = [floor, *stops], [format_mm(tall.foot - floor), *said]
    if ceiling - stops[-1] > 1.0:
        stops, said = [*stops, ceiling], [*said, format_mm(ceiling - stops[-1])]
    sheet.chain([-s * scale for s in stops], said, edge + 2.2 * ROW, edge, upright=True)
    for carcass in built.carcasses:
        if carcass.height != tall.height:
            x_page = (carcass.left + carcass.width / 2) * scale
            y_page = -(carcass.foot + carcass.height / 2) * scale + 5.0
            sheet.words(f"{format_mm(carcass.height)} tall", x_page, y_page)


def _strip(built: Built, strip: str, between: float) -> str:
    sizes = [each for each in built.strips if each.strip == strip]
    return format_mm(sizes[0].narrowest.value if sizes else between)


def isometric(room: Opening, built: Built) -> str:
    """From the right, above and in front, as SVG: the opening's edges and carcasses."""
    sheet, scale = Sheet(), 0.8 * _scale(room)

    def at(x: float, y: float, z: float) -> Point:
        return (x + z) * _COSINE * scale, -(y + (z - x) * _SINE) * scale

    depth = min(room.depth_of("back", x, 0.0) for x in (0.0, room.reference[0]))
    front, back = room.section(0.0, steps=1), room.section(depth, steps=1)
    sheet.line([at(float(x), float(y), depth) for x, y in back], "room", closed=True)
    for near, far in zip(front.tolist(), back.tolist(), strict=True):
        sheet.line([at(near[0], near[1], 0.0), at(far[0], far[1], depth)], "thin")
    for carcass in built.carcasses:
        _block(sheet, carcass, at)
    sheet.line([at(float(x), float(y), 0.0) for x, y in front], "thin", closed=True)
    _along(sheet, at, room, built.carcasses[-1])
    return sheet.svg("Isometric view")


def _block(sheet: Sheet, box: Carcass, at: Callable[[float, float, float], Point]) -> None:
    """The three faces that are seen."""
    face = _face(box)
    (x0, y0), (x1, _), (_, y1), _ = face
    for corners in (
        [(x, y, 0.0) for x, y in face],
        [(x0, y1, 0.0), (x1, y1, 0.0), (x1, y1, box.depth), (x0, y1, box.depth)],
        [(x1, y0, 0.0), (x1, y1, 0.0), (x1, y1, box.depth), (x1, y0, box.depth)],
    ):
        sheet.line([at(x, y, z) for x, y, z in corners], "edge", closed=True)


def _along(
    sheet: Sheet, at: Callable[[float, float, float], Point], room: Opening, box: Carcass
) -> None:
    """Width, height and depth of the last carcass, outside the opening's own lines."""
    wall = max(room.wall_x("right", y, 0.0) for y in (box.foot, box.foot + box.height))
    back = max(room.depth_of("back", wall, y) for y in (0.0, box.foot + box.height))
    width = at(box.left + box.width / 2, 0.0, 0.0)
    depth = at(wall, 0.0, back / 2)
    height = at(wall, box.foot + box.height / 2, back)
    sheet.words(format_mm(box.width), width[0] - 6.0, width[1] + 6.0)
    sheet.words(format_mm(box.depth), depth[0] + 6.0, depth[1] + 6.0)
    sheet.words(format_mm(box.height), height[0] + 5.0, height[1], turned=True)


def _face(box: Carcass) -> list[Point]:
    x0, x1, y0, y1 = box.left, box.left + box.width, box.foot, box.foot + box.height
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def _scale(room: Opening) -> float:
    return _LARGE / max(room.reference[0], room.reference[1])
