"""The solved opening -> the sizes a fitter asks for, each with u carried from its covariance.

What is level and plumb and goes straight in must be free at every depth it passes. Between the
front and the depth of a box, walls and floor are ruled, so their worst lies at one of the two;
a ceiling that breaks along the depth is looked at on every break as well.

The sizes of the largest rectangle depend on each other (wider is lower). Its u are those of the
height at that width, and of the width at that height (each a little short of it, so that a wall
moved by its u doesn't stop a rectangle that is wedged on both sides).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import get_args

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.fit.opening.standing_up import stand_up, tallest_standing, tipped_up
from scribe.geom.rectangles import Rectangle, largest, tallest_near, widest_near
from scribe.geom.region import Area, difference, intersection
from scribe.opening import Opening, Plane, Size
from scribe.quantity import format_mm
from scribe.sizes import Box, Extreme, OpeningSizes, Solid

Array = npt.NDArray[np.float64]
Found = tuple[float, float, float, Plane]
InTheWay = Callable[[Opening], Sequence[Solid]]  # it moves with the walls it stands at

PLANES: tuple[Plane, ...] = get_args(Plane)
SLIVER_MM2 = 100.0  # a chink that nothing fits into
_NEAR_MM = 12.0  # how far the best place may shift when the opening is moved by its u
_LOOSE_MM = 10.0  # more than walls move by their u: the other size must not get stuck on them
_PLACES = 25
_CHORDS = 16  # of a bowed wall: they miss a bow of 5 mm by 5 / 16**2 = 0.02 mm


def nothing(_: Opening) -> Sequence[Solid]:
    """Nothing is in the way."""
    return ()


def opening_sizes(
    room: Opening, depth: float, solids: InTheWay = nothing, room_height: float | None = None
) -> OpeningSizes:
    """Sizes for boxes of a depth, mm. room_height: of the ceiling where they are stood up."""
    least = least_depth(room)
    if depth > least.value + least.U:
        raise ScribeError(
            "deeper-than-opening",
            what=f"boxes {format_mm(depth)} mm deep don't go in: it is {format_mm(least.value)} mm "
            "deep where it is shallowest",
            where=room.name,
            do="make the boxes less deep",
        )
    whole = _largest(room, depth, solids, None)
    if whole is None:
        raise ScribeError(
            "opening-closed",
            what="nothing goes straight into the opening",
            where=room.name,
            do="check the readings and the obstacles",
        )
    rectangle = _box(room, whole, depth, solids)
    standing = stand_up(room, whole, depth, room_height)
    box: Box | None = rectangle
    if not standing.goes:
        tipped = _largest(room, depth, solids, room_height or 0.0)
        box = None if tipped is None else tipped_up(_box(room, tipped, depth, solids), standing)
    return OpeningSizes(extremes(room), least, rectangle, box, standing)


def free_areas(room: Opening, depth: float, solids: InTheWay = nothing) -> list[Area]:
    """What is free at every depth from the front plane to `depth`, largest first."""
    levels = [0.0, depth]
    if room.along == "depth":
        levels += [node[0] for node in room.ceiling if 0.0 < node[0] < depth]
    areas = [Area(room.section(levels[0], steps=_CHORDS))]
    for z in levels[1:]:
        section = Area(room.section(z, steps=_CHORDS))
        areas = [part for area in areas for part in intersection(area, section, sliver=SLIVER_MM2)]
    for solid in solids(room):
        if solid.low[2] < depth and solid.high[2] > 0.0:
            (x0, y0, _), (x1, y1, _) = solid.low, solid.high
            cut = Area(np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]))
            areas = [part for area in areas for part in difference(area, [cut], sliver=SLIVER_MM2)]
    return areas


def least_depth(room: Opening) -> Size:
    """The depth where it is shallowest, over the four corners of the back wall."""
    width, height, _ = room.reference
    spots = [(x, y) for x in (0.0, width) for y in (0.0, height)]
    return min((room.depth(x, y) for x, y in spots), key=lambda size: size.value)


def extremes(room: Opening) -> tuple[Extreme, ...]:
    """Narrowest and widest, lowest and highest, with their places."""
    found = []
    widths, heights = _widths(room), _heights(room)
    for name, pick in (("narrowest", min), ("widest", max)):
        _, y, z, plane = pick(widths)
        found.append(Extreme(name, room.width(y, z), f"{format_mm(y, 0)} mm up, {_at(plane)}"))
    for name, pick in (("lowest", min), ("highest", max)):
        _, x, z, plane = pick(heights)
        place = f"{format_mm(x, 0)} mm from the left wall, {_at(plane)}"
        found.append(Extreme(name, room.height(x, z), place))
    return tuple(found)


def _widths(room: Opening) -> list[Found]:
    """The level width at many heights: itself, height, depth and plane."""
    width, height, _ = room.reference
    found: list[Found] = []
    for plane in PLANES:
        for y in map(float, np.linspace(0.0, height, _PLACES)):
            z = room.depth_of(plane, width / 2, y)
            left, right = room.wall_x("left", y, z), room.wall_x("right", y, z)
            if y <= min(room.ceiling_y(x, z) for x in (left, right)) + 1.0:
                found.append((right - left, y, z, plane))
    return found


def _heights(room: Opening) -> list[Found]:
    """The plumb height at many places: itself, x, depth and plane."""
    width, height, _ = room.reference
    nodes = [n[0] for n in room.ceiling] if room.along == "width" else []
    places = np.unique(np.clip([*np.linspace(0.0, width, _PLACES), *nodes], 0.0, width))
    found: list[Found] = []
    for plane in PLANES:
        for x in map(float, places):
            z = room.depth_of(plane, x, height / 2)
            found.append((room.ceiling_y(x, z) - room.floor_y(x, z), x, z, plane))
    return found


def _at(plane: Plane) -> str:
    return "at the front" if plane == "front" else "at the back"


def _largest(
    room: Opening, depth: float, solids: InTheWay, level: float | None
) -> Rectangle | None:
    """The largest rectangle; level None: whether it stands up or not, 0: under its own ceiling."""
    areas = free_areas(room, depth, solids)
    if not areas:
        return None
    if level is None:
        return largest(areas)
    widths = np.linspace(1.0, room.reference[0], 200)
    tallest = np.array([tallest_standing(room, float(w), depth, level or None) for w in widths])

    def limit(x0: Array, x1: Array) -> Array:
        return np.asarray(np.interp(x1 - x0, widths, tallest))

    return largest(areas, limit=limit)


def _box(room: Opening, at: Rectangle, depth: float, solids: InTheWay) -> Box:
    def height(r: Opening) -> float:
        areas = free_areas(r, depth, solids)
        return tallest_near(areas, at.width - _LOOSE_MM, at.x0, _NEAR_MM).height

    def width(r: Opening) -> float:
        areas = free_areas(r, depth, solids)
        return widest_near(areas, at.height - _LOOSE_MM, at.y0, _NEAR_MM).width

    wide, high = room.size(width), room.size(height)
    return Box(at, Size(at.width, wide.u), Size(at.height, high.u), depth)
