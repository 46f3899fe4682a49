"""The sawn ends of a room: at which angles boards end at its surfaces and meet each other.

For an opening as solved: the boards a fitter puts into it, each with its face and direction,
and the surfaces they end at; mitre and bevel follow from the normals (`scribe.geom.compound`),
their uncertainty from the opening's covariance. Surfaces are taken as planes where the board
meets them: half way up and half way in, a broken ceiling part by part. Waves of a surface
where two boards meet, and its twist there, are what scribing is for.

Vectors are right-handed here: x along the opening, y up, the third towards whoever stands
before it, so the opening's depth z counts negative.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from scribe.geom.compound import Setting, dihedral, end_in_plane, joint_plane, unit
from scribe.opening import Opening, Side
from scribe.saw import SawnEnd

Array = npt.NDArray[np.float64]


class Found(NamedTuple):
    """A sawn end before its uncertainty. alike: two boards have it, as mirror images."""

    name: str
    setting: Setting
    alike: bool = False


_X, _UP, _OUT = np.eye(3)
# The side walls with the way a cheek's face looks there: to the middle.
_SIDES: tuple[tuple[Side, Array], ...] = (("left", _X), ("right", -_X))
_STEP = 1.0  # mm; surfaces are ruled, so that a difference over it is their slope


def sawn_ends(opening: Opening, thickness: float) -> tuple[SawnEnd, ...]:
    """Every sawn end of the opening for boards of one thickness (mm), in the order of a wall sheet.

    >>> room = Opening.square(1200, 2400, 350)
    >>> trims = [each for each in sawn_ends(room, 18) if each.name.startswith("trims")]
    >>> [round(abs(each.mitre_deg), 6) for each in trims]
    [45.0, 45.0]
    """

    def angles(room: Opening) -> list[float]:
        return [angle for end in settings(room) for angle in np.degrees(end.setting).tolist()]

    value, covariance = opening.propagate(angles)
    u = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    rows = zip(
        settings(opening), value.reshape(-1, 2).tolist(), u.reshape(-1, 2).tolist(), strict=True
    )
    return tuple(
        SawnEnd(end.name, mitre, bevel, thickness, mitre_u, bevel_u, end.alike)
        for end, (mitre, bevel), (mitre_u, bevel_u) in rows
    )


def settings(room: Opening) -> list[Found]:
    """Name and setting (rad) of every end, in the order of `sawn_ends`."""
    found: list[Found] = []
    for part in (_shelves, _cheeks, _uprights, _trims, _round_corners, _linings):
        found += part(room)
    return found


def _shelves(room: Opening) -> Iterator[Found]:
    """Level boards with their front along the opening, face up, from wall to wall."""
    for side, normal in _SIDES:
        yield _end(f"shelf end to the {side} wall", _UP, -normal, _wall(room, side))


def _cheeks(room: Opening) -> Iterator[Found]:
    """Plumb panels square to the front, face to the middle, under the ceiling beside each wall."""
    for side, face in _SIDES:
        for name, ceiling in _beside(room, side):
            yield _end(f"cheek at the {side} wall, top to {name}", face, _UP, ceiling)


def _uprights(room: Opening) -> Iterator[Found]:
    """Plumb boards in the front plane, face out, under each part of the ceiling."""
    facets = _facets(room)
    for name, ceiling in facets if room.along == "width" else facets[:1]:
        yield _end(f"upright in the front, top to {name}", _OUT, _UP, ceiling)


def _trims(room: Opening) -> Iterator[Found]:
    """Trims lying flat in the front plane, mitred where walls and ceiling meet or break."""
    left_foot, *ring = room.section(0.0, steps=1)
    ring.append(left_foot)  # from the right wall's foot over the ceiling to the left wall's
    breaks = [f"the ceiling at its break {n}" for n in range(len(ring) - 4, 0, -1)]
    names = ["right wall and ceiling", *breaks, "left wall and ceiling"]
    for name, before, at, after in zip(names, ring, ring[1:], ring[2:], strict=False):
        first, second = (unit([*(at - other), 0.0]) for other in (before, after))
        yield _mitred(f"trims flat in the front, {name}", _OUT, first, _OUT, second)._replace(
            alike=True
        )


def _round_corners(room: Opening) -> Iterator[Found]:
    """Boards standing plumb along a side wall and the back, mitred in the corner."""
    back = _plumb(_back(room))
    for side, normal in _SIDES:
        wall = _plumb(_wall(room, side))
        to_back, to_wall = _run(wall, _UP, -_OUT), _run(back, _UP, -normal)
        yield _mitred(
            f"skirting or plinth, {side} wall and back", wall, to_back, back, to_wall
        )._replace(alike=True)


def corner_deg(room: Opening, side: Side) -> float:
    """Degrees between a side wall and the back, plumb, as they enclose the room."""
    return float(np.degrees(dihedral(_plumb(_wall(room, side)), _plumb(_back(room)))))


def _linings(room: Opening) -> Iterator[Found]:
    """Boards lying against the ceiling: ended at a wall, mitred with the wall's, and at breaks."""
    for side, normal in _SIDES:
        wall = _wall(room, side)
        rise = unit(_UP - (_UP @ wall) * wall)
        for name, ceiling in _beside(room, side):
            run = _run(ceiling, _OUT, -normal)
            both = f"linings of the {side} wall and {name}, mitred"
            yield _end(f"lining of {name}, end to the {side} wall", ceiling, run, wall)
            yield _mitred(f"{both}: the wall's", wall, rise, ceiling, run)
            yield _mitred(f"{both}: the ceiling's", ceiling, run, wall, rise)
    square_to, onwards = (_OUT, _X) if room.along == "width" else (_X, -_OUT)
    for number, ((_, one), (_, other)) in enumerate(pairwise(_facets(room)), start=1):
        name = f"linings of the ceiling at its break {number}, mitred"
        first, second = _run(one, square_to, onwards), _run(other, square_to, -onwards)
        yield _mitred(name, one, first, other, second)._replace(alike=True)


def _end(name: str, face: Array, along: Array, plane: Array) -> Found:
    setting = end_in_plane(face, along, plane)
    assert setting is not None, name  # walls stand, ceilings lie: no board is parallel to its end
    return Found(name, setting)


def _mitred(name: str, face: Array, along: Array, other_face: Array, other_along: Array) -> Found:
    plane = joint_plane(face, along, other_face, other_along)
    # Boards that go straight on aren't mitred: their ends are square.
    return Found(name, Setting(0.0, 0.0)) if plane is None else _end(name, face, along, plane)


def _beside(room: Opening, side: Side) -> list[tuple[str, Array]]:
    """The parts of the ceiling that a side wall meets."""
    facets = _facets(room)
    if room.along == "depth":
        return facets
    return facets[:1] if side == "left" else facets[-1:]


def _facets(room: Opening) -> list[tuple[str, Array]]:
    """The flat parts of the ceiling, from the left or from the front, with normals down."""
    width, _, depth = room.reference
    middles = [(a[0] + b[0]) / 2.0 for a, b in pairwise(room.ceiling)]
    places = [(m, depth / 2) if room.along == "width" else (width / 2, m) for m in middles]
    names = [f"part {n} of the ceiling" for n in range(1, len(middles) + 1)]
    names = ["the ceiling"] if len(middles) == 1 else names
    slopes = (_slope(room.ceiling_y, x, z) for x, z in places)
    return [
        (name, unit([by_x, -1.0, -by_z])) for name, (by_x, by_z) in zip(names, slopes, strict=True)
    ]


def _wall(room: Opening, side: Side) -> Array:
    """The normal of a side wall, into the room."""
    _, height, depth = room.reference
    by_y, by_z = _slope(lambda y, z: room.wall_x(side, y, z), height / 2, depth / 2)
    into = unit([1.0, -by_y, by_z])
    return into if side == "left" else -into


def _back(room: Opening) -> Array:
    """The normal of the back wall, towards the front."""
    width, height, _ = room.reference
    by_x, by_y = _slope(room.back_z, width / 2, height / 2)
    return unit([by_x, by_y, 1.0])


def _slope(surface: Callable[[float, float], float], a: float, b: float) -> tuple[float, float]:
    """Derivatives of a surface along its two coordinates."""
    h = _STEP
    return (
        (surface(a + h, b) - surface(a - h, b)) / (2 * h),
        (surface(a, b + h) - surface(a, b - h)) / (2 * h),
    )


def _plumb(normal: Array) -> Array:
    """The normal of the plumb plane that meets a surface in a level line."""
    return unit(normal - (normal @ _UP) * _UP)


def _run(normal: Array, square_to: Array, towards: Array) -> Array:
    """The direction in a surface that is square to one vector, on the side of another."""
    run = np.cross(normal, square_to)
    return unit(run if run @ towards > 0.0 else -run)
