"""What an opening makes each reading of a room read: the model that the adjustment inverts.

Heights are taken above the floor below the spot, depths from the front plane; "back" is at the
back wall. A level or plumb reading says nothing of where the other surfaces are.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import singledispatch
from math import dist

from scribe.opening import Opening, Side
from scribe.room_survey import (
    BreakTaken,
    Corner,
    Deep,
    DepthTaken,
    DiagonalTaken,
    HeightTaken,
    LeanTaken,
    PlumbTaken,
    SlopeTaken,
    Spot,
    Taken,
    Wall,
    WidthTaken,
)

SPANS = (WidthTaken, HeightTaken, DepthTaken, DiagonalTaken)  # taken with a tape between surfaces


def predicted(reading: Taken, room: Opening, lines: Mapping[int, float]) -> float:
    """mm that the reading reads in this opening. lines: where each plumb line hangs, mm along
    the direction across its wall.
    """
    if isinstance(reading, PlumbTaken):
        wall = _across(room, reading.wall, reading.at, reading.height)
        apart = wall - lines[reading.line]
        return -apart if reading.wall == "left" else apart
    return _read(reading, room)


@singledispatch
def _read(reading: Taken, room: Opening) -> float:
    raise AssertionError(f"nothing is known of {reading.name} in {room.name}")


@_read.register
def _(reading: WidthTaken, room: Opening) -> float:
    middle = room.reference[0] / 2.0
    z = depth_at(room, reading.depth, middle, reading.height)
    y = room.floor_y(middle, z) + reading.height
    ends = []
    for side in ("left", "right"):
        x = room.wall_x(side, y, z)
        ends.append(room.wall_x(side, y, depth_at(room, reading.depth, x, y)))
    return ends[1] - ends[0]


@_read.register
def _(reading: HeightTaken, room: Opening) -> float:
    x, z = _along_floor(room, reading.side, reading.distance, reading.depth)
    return room.ceiling_y(x, z) - room.floor_y(x, z)


@_read.register
def _(reading: DepthTaken, room: Opening) -> float:
    x, _ = _along_floor(room, reading.side, reading.distance, 0.0)
    return room.back_z(x, room.floor_y(x, room.reference[2]) + reading.height)


@_read.register
def _(reading: DiagonalTaken, room: Opening) -> float:
    return dist(_place(room, reading.start), _place(room, reading.end))


@_read.register
def _(reading: LeanTaken, room: Opening) -> float:
    low, high = (
        _across(room, reading.wall, reading.at, height)
        for height in (reading.low, reading.low + reading.over)
    )
    return high - low if reading.wall == "left" else low - high


@_read.register
def _(reading: SlopeTaken, room: Opening) -> float:
    surface = room.floor_y if reading.surface == "floor" else room.ceiling_y
    ends = []
    for place in (reading.start, reading.start + reading.over):
        if reading.along == "width":
            ends.append(surface(place, depth_at(room, reading.at, place, 0.0)))
        else:
            ends.append(surface(float(reading.at), place))
    return ends[1] - ends[0]


@_read.register
def _(reading: BreakTaken, room: Opening) -> float:
    return min((node[0] for node in room.ceiling[1:-1]), key=lambda at: abs(at - reading.reads))


def _place(room: Opening, where: Corner | Spot) -> tuple[float, float, float]:
    """(x, y, z) of a corner or of a spot."""
    width, _, depth = room.reference
    if isinstance(where, Corner):
        x, y, z = room.corner(where.plane, where.end, where.side).tolist()
        return x, y, z
    if where.on in ("floor", "ceiling"):
        z = depth_at(room, where.depth, where.from_left, 0.0)
        level = room.floor_y if where.on == "floor" else room.ceiling_y
        return where.from_left, level(where.from_left, z), z
    if where.on == "back":
        y = room.floor_y(where.from_left, depth) + where.height
        return where.from_left, y, room.back_z(where.from_left, y)
    side: Side = "left" if where.on == "left" else "right"
    x = 0.0 if side == "left" else width
    z = depth_at(room, where.depth, x, where.height)
    y = room.floor_y(x, z) + where.height
    x = room.wall_x(side, y, z)
    return x, y, depth_at(room, where.depth, x, y)


def depth_at(room: Opening, depth: Deep, x: float, y: float) -> float:
    """z of a depth as it was typed, at x and level y."""
    return room.back_z(x, y) if depth == "back" else depth


def _along_floor(room: Opening, side: str, distance: float, depth: Deep) -> tuple[float, float]:
    """(x, z) so far from a side wall along the floor."""
    x = distance if side == "left" else room.reference[0] - distance
    z = depth_at(room, depth, x, 0.0)
    if side == "left":
        return room.wall_x("left", room.floor_y(0.0, z), z) + distance, z
    return room.wall_x("right", room.floor_y(room.reference[0], z), z) - distance, z


def _across(room: Opening, wall: Wall, at: Deep, height: float) -> float:
    """Where a wall stands across its own direction: x of a side wall, z of the back."""
    if wall == "back":
        x = float(at) if at != "back" else room.reference[0] / 2.0
        return room.back_z(x, room.floor_y(x, room.reference[2]) + height)
    x = 0.0 if wall == "left" else room.reference[0]
    z = depth_at(room, at, x, height)
    return room.wall_x(wall, room.floor_y(x, z) + height, z)
