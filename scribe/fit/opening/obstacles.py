"""What was noted as in the way, as boxes in the opening frame, grown by its U: never too small."""

from __future__ import annotations

from scribe.opening import Opening
from scribe.room_survey import Moulding, Obstacle, RoomSurvey, Wall
from scribe.sizes import Solid

_FAR = 10_000.0  # mm, into the building
Range = tuple[float, float]


def solids(survey: RoomSurvey, room: Opening) -> tuple[Solid, ...]:
    """Every obstacle, and every moulding on every wall it runs along."""
    mouldings = [
        _moulding(each, wall, room)
        for each in survey.mouldings
        for wall in each.walls
    ]  # fmt: skip
    return (*(_obstacle(each, room) for each in survey.obstacles), *mouldings)


def _obstacle(it: Obstacle, room: Opening) -> Solid:
    along = (it.along - it.U, it.along + it.size[0] + it.U)
    across = (it.across - it.U, it.across + it.size[1] + it.U)
    out = None if it.out is None else it.out + it.U
    if it.on == "floor":
        return _solid(it.name, along, (-_FAR, out if out is not None else _FAR), across)
    if it.on == "ceiling":
        low = min(room.ceiling_y(x, z) for x in along for z in across)
        return _solid(it.name, along, (low - (_FAR if out is None else out), _FAR), across)
    if it.on == "back":
        near = min(room.back_z(x, y) for x in along for y in across)
        return _solid(it.name, along, across, (near - (_FAR if out is None else out), _FAR))
    return _solid(it.name, _from_wall(it.on, out, across, room), across, along)


def _moulding(it: Moulding, wall: Wall, room: Opening) -> Solid:
    tall, out = it.tall + it.U, it.out + it.U
    width, _, depth = room.reference
    heights = (-_FAR, max(room.floor_y(x, z) for x in (0.0, width) for z in (0.0, depth)) + tall)
    if it.kind == "cornice":
        spots = {"left": [0.0], "right": [width], "back": [0.0, width]}[wall]
        heights = (min(room.ceiling_y(x, z) for x in spots for z in (0.0, depth)) - tall, _FAR)
    levels = (max(heights[0], 0.0), min(heights[1], room.reference[1]))
    if wall == "back":
        near = min(room.back_z(x, y) for x in (0.0, width) for y in levels)
        return _solid(it.kind, (-_FAR, _FAR), heights, (near - out, _FAR))
    return _solid(it.kind, _from_wall(wall, out, levels, room), heights, (-_FAR, _FAR))


def _from_wall(wall: str, out: float | None, levels: Range, room: Opening) -> Range:
    """x of what stands out from a side wall between two levels, into the wall."""
    depths = (0.0, room.reference[2])
    if out is None:
        return -_FAR, _FAR
    if wall == "left":
        return -_FAR, max(room.wall_x("left", y, z) for y in levels for z in depths) + out
    return min(room.wall_x("right", y, z) for y in levels for z in depths) - out, _FAR


def _solid(name: str, x: Range, y: Range, z: Range) -> Solid:
    return Solid(name, (x[0], y[0], z[0]), (x[1], y[1], z[1]))
