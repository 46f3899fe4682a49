"""piece = blank - (room grown by the clearance), and what each room or hole cut of its border.

Everything in the piece frame, mm. The border of the finished piece is followed once round;
every side of it lies on the blank's border or on the border of a grown room, so where two
rooms meet, their cut lines end in one and the same corner.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.facing import Side
from scribe.fit.blank_edge import BlankEdge
from scribe.fit.place import CRUMB_MM2, EXACT_MM, PlacedRoom
from scribe.fit.room import Front
from scribe.fit.wider import wider_by
from scribe.geom.polyline import nearest, stations
from scribe.geom.region import Area, difference, size
from scribe.quantity import format_mm, round_up_mm

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

Solid = tuple[Area, ...]  # what can't be built on, grown by its clearance

_JOIN_MM = 0.01  # the blank's own edge may show for so long between two cuts of one room
_CHUNK = 64
_BLANK = -1


@dataclass(frozen=True)
class CutLine:
    """One unbroken cut: its room's number, the line in the order of stations, the kept side, and
    the edge of the blank along which stations count.
    """

    room: int
    line: Array
    keep: Side
    edge: BlankEdge


def cut_blank(
    blank: Area, solids: Sequence[Solid], edges: Sequence[BlankEdge]
) -> tuple[Area, tuple[Area, ...]]:
    """The finished piece and its waste, largest part first; together they are the blank.

    edges: those that are cut; a blank that is too narrow is told how much it lacks.
    """
    parts = difference(blank, [area for solid in solids for area in solid])
    if not parts or size(parts[0]) <= CRUMB_MM2:
        lacks = wider_by(blank, edges, solids)
        far = "" if lacks is None else f": it would have to be more than {_up(lacks)} mm wider"
        raise ScribeError(
            "piece-all-waste",
            what=f"nothing of the blank is left{far}",
            where="blank",
            do="check distances, stations and which edge each outline belongs to",
        )
    keep = parts[0]
    rest = [part for part in parts[1:] if size(part) > CRUMB_MM2]
    if rest:
        lacks = wider_by(blank, edges, solids)
        wider = "a wider blank" if lacks is None else f"a blank more than {_up(lacks)} mm wider"
        raise ScribeError(
            "piece-falls-apart",
            what=f"the cuts go right through and leave {1 + len(rest)} parts",
            where="blank",
            do=f"take {wider}, or make the parts as pieces of their own",
        )
    return keep, tuple(difference(blank, [keep], sliver=EXACT_MM))


def cut_lines(
    keep: Area, rooms: Sequence[PlacedRoom], holes: Sequence[Solid] = ()
) -> list[CutLine]:
    """Every cut on the outer border of the piece that a room makes, in the order of stations."""
    ring, owner = _owned(keep.outer, [*(room.grown for room in rooms), *holes])
    lines: list[CutLine] = []
    for number, room in enumerate(rooms):
        found = [_ordered(run, number, room) for run in _runs(ring, owner, number)]
        lines += sorted(found, key=lambda cut: float(room.edge.station(cut.line).min()))
    return lines


def hole_lines(
    keep: Area, rooms: Sequence[PlacedRoom], holes: Sequence[Solid]
) -> list[list[Array]]:
    """For each hole every cut it makes on the piece; a closed one ends where it began."""
    lines: list[list[Array]] = [[] for _ in holes]
    for border in (keep.outer, *keep.holes):
        ring, owner = _owned(border, [*(room.grown for room in rooms), *holes])
        for number, found in enumerate(lines):
            found += _runs(ring, owner, len(rooms) + number)
    return lines


def carried(face: Front, line: Array, clearance: float) -> tuple[Array, Array, Mask]:
    """Along the front, mm, of the foot of every point of a cut line (N, 2); u and measured there.

    A cut line keeps the clearance from the front, so only what is that near is searched.
    """
    along = stations(face.points)
    lower = np.minimum(face.points[:-1], face.points[1:]) - clearance - 0.1
    upper = np.maximum(face.points[:-1], face.points[1:]) + clearance + 0.1
    foot = np.empty(len(line))
    for first in range(0, len(line), _CHUNK):
        part = line[first : first + _CHUNK]
        near = (lower <= part.max(axis=0)).all(axis=1) & (upper >= part.min(axis=0)).all(axis=1)
        sides = np.flatnonzero(near)
        some = slice(sides[0], sides[-1] + 2)
        foot[first : first + _CHUNK] = along[sides[0]] + nearest(part, face.points[some]).station
    before = np.searchsorted(along, foot + EXACT_MM, "right") - 1
    after = np.minimum(np.searchsorted(along, foot - EXACT_MM, "left"), len(along) - 1)
    return foot, np.interp(foot, along, face.u), face.measured[before] & face.measured[after]


def _up(mm: float) -> str:
    return format_mm(round_up_mm(mm - EXACT_MM, 0.1), 1)


def _once(ring: Array) -> Array:
    """The ring without points that repeat the one before."""
    gap = np.hypot(*(ring - np.roll(ring, 1, axis=0)).T)
    return np.asarray(ring[gap > EXACT_MM / 1000])


def _owned(border: Array, solids: Sequence[Solid]) -> tuple[Array, npt.NDArray[np.int64]]:
    """A ring without repeated points, and for each of its sides the solid that cut it."""
    ring = _once(border)
    owner = _owners(ring, solids)
    _bridge(ring, owner)
    return ring, owner


def _owners(ring: Array, solids: Sequence[Solid]) -> npt.NDArray[np.int64]:
    """(N,) number of the solid on whose border each side of the ring lies, _BLANK for none.

    Set operations hand vertices on unchanged, so most sides are known by their ends.
    """
    owner = np.full(len(ring), _BLANK, np.int64)
    middle = (ring + np.roll(ring, -1, axis=0)) / 2
    for number, solid in enumerate(solids):
        borders = (ring for area in solid for ring in (area.outer, *area.holes))
        for border in map(_once, borders):
            place = {point: n for n, point in enumerate(map(tuple, border.tolist()))}
            at = np.array([place.get(point, -1) for point in map(tuple, ring.tolist())])
            step = (np.roll(at, -1) - at) % len(border)
            known = (at >= 0) & (np.roll(at, -1) >= 0) & ((step == 1) | (step == len(border) - 1))
            owner[known] = number
            asked = np.flatnonzero((owner == _BLANK) & ~known)
            if asked.size:
                closed = np.vstack([border, border[:1]])
                gap = np.abs(nearest(middle[asked], closed).distance)
                owner[asked[gap <= EXACT_MM]] = number
    return owner


def _bridge(ring: Array, owner: npt.NDArray[np.int64]) -> None:
    """Give the blank's own edge to a solid where it only shows for a hair between two cuts."""
    length = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    before, after = np.roll(owner, 1), np.roll(owner, -1)
    hair = (owner == _BLANK) & (length <= _JOIN_MM) & (before == after)
    owner[hair] = before[hair]


def _runs(ring: Array, owner: npt.NDArray[np.int64], number: int) -> list[Array]:
    """Every unbroken run of the ring's sides that a solid owns, as a polyline."""
    mine = owner == number
    if mine.all():
        return [np.vstack([ring, ring[:1]])]
    runs = []
    for first in np.flatnonzero(mine & ~np.roll(mine, 1)):
        count = int(np.argmin(np.roll(mine, -first)))
        runs.append(ring[(first + np.arange(count + 1)) % len(ring)])
    return runs


def _ordered(run: Array, number: int, room: PlacedRoom) -> CutLine:
    """The border runs counter-clockwise, the piece on its left; stations decide the sense."""
    ends = room.edge.station(run[[0, -1]])
    forward = ends[0] < ends[1] or (ends[0] == ends[1] and room.edge.solid == "right")
    line = run if forward else run[::-1]
    return CutLine(number, line, "left" if forward else "right", room.edge)
