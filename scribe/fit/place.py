"""Where each outline comes to lie on the blank: at a distance, across an opening, or by touch.

Touch is least removal. The blank is held against the building, its visible edge parallel
to the datum, and moved on until the widest gap is closed: there nothing comes off, and at
the tightest station most does. A room only ever moves square to the visible edge, so it
is grown by its clearance once and shifted afterwards.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.fit.blank_edge import BlankEdge
from scribe.fit.room import Front, front, place_outline
from scribe.geom.frames import turned
from scribe.geom.region import Area, difference, offset_area
from scribe.job import OPPOSITE, Distance, EdgeJob, Opening, Touch
from scribe.outline import Outline
from scribe.quantity import format_mm, round_up_mm

Array = npt.NDArray[np.float64]

EXACT_MM = 1e-6  # lengths nearer than this are equal; set operations are good to 1e-9
CRUMB_MM2 = 1.0  # what is smaller, wood or hollow, goes with the sawdust
_SWEEPS = 20  # touching edges that meet in a corner settle within a few


@dataclass(frozen=True)
class PlacedRoom:
    """One outline of the building, placed and grown.

    outline: in the piece frame. grown: the solid behind it, grown by the clearance.
    reach: mm that the solid goes on beyond the outline. tightest: station at which the blank
    stands off it most, or touches it: it decides how large the blank must be.
    """

    job: EdgeJob
    edge: BlankEdge
    outline: Outline
    front: Front
    grown: tuple[Area, ...]
    reach: float
    tightest: float = 0.0

    def shifted(self, distance: float) -> PlacedRoom:
        """The same room moved so that its datum lies at a distance from the visible edge."""
        origin = self.outline.datum.origin
        now = float((origin - self.edge.visible_point) @ self.edge.visible_out)
        move = (distance - now) * self.edge.visible_out
        solid = _moved(self.front.solid, move)
        return replace(
            self,
            outline=self.outline.in_frame(turned(0.0, move)),
            front=replace(self.front, points=self.front.points + move, solid=solid),
            grown=tuple(_moved(area, move) for area in self.grown),
        )


def place_rooms(
    jobs: Sequence[EdgeJob],
    edges: Sequence[BlankEdge],
    outlines: Sequence[Outline],
    extent: float,
) -> list[PlacedRoom]:
    """Place every outline; jobs, edges and outlines (along their datums) belong together.

    extent: mm, the blank's diagonal. Refuses a blank that doesn't reach the building everywhere.
    """
    first = [
        trial(job, edge, outline, extent)
        for job, edge, outline in zip(jobs, edges, outlines, strict=True)
    ]
    placed: dict[int, PlacedRoom] = {
        number: room.shifted(room.job.placing.mm)
        for number, room in enumerate(first)
        if isinstance(room.job.placing, Distance)
    }
    for _ in range(_SWEEPS):
        before = {number: room.outline.datum.origin for number, room in placed.items()}
        for number, room in enumerate(first):
            if isinstance(room.job.placing, Touch):
                others = [other for other in placed if other != number]
                placed[number] = _touching(room, [placed[other] for other in others])
        for number, room in enumerate(first):
            if isinstance(room.job.placing, Opening):
                placed[number] = _across(room, room.job.placing.mm, placed)
        if _settled(before, placed):
            break
    rooms = [placed[number] for number in range(len(first))]
    return [_reached(room, [other for other in rooms if other is not room]) for room in rooms]


def trial(job: EdgeJob, edge: BlankEdge, outline: Outline, extent: float) -> PlacedRoom:
    """The room with its datum on the visible edge; extent: mm, the blank's diagonal."""
    size = float(np.hypot(*np.ptp(outline.points, axis=0)))
    away = float(np.hypot(*(outline.points[0] - outline.datum.origin)))
    reach = 4.0 * (extent + size + away + abs(job.station) + job.clearance)
    placed = place_outline(outline, edge, 0.0, job.station)
    face = front(placed, reach)
    grown = tuple(offset_area(face.solid, job.clearance, sliver=CRUMB_MM2))
    return PlacedRoom(job, edge, placed, face, grown, reach)


def _touching(room: PlacedRoom, others: Sequence[PlacedRoom]) -> PlacedRoom:
    """Moved until the widest gap along the edge, as the other rooms leave it, is closed."""
    slant = float(room.edge.out @ room.edge.visible_out)
    past = room.job.placing.past if isinstance(room.job.placing, Touch) else 0.0
    distance = -widest_gap(room, [])[0] / slant
    for _ in range(_SWEEPS):
        moved = room.shifted(distance)
        gap, _ = widest_gap(moved, others)
        if gap == -np.inf:
            raise ScribeError(
                "edge-all-waste",
                what=f"nothing of the {room.edge.edge} edge is left between the other outlines",
                where=f"edge {room.edge.edge}",
                do="check the distances and stations of the other edges",
            )
        distance -= gap / slant
        if abs(gap) <= EXACT_MM / 1000:
            break
    return room.shifted(distance - past / slant)


def _across(room: PlacedRoom, opening: float, placed: Mapping[int, PlacedRoom]) -> PlacedRoom:
    """The datum at `opening` from the datum of the opposite edge."""
    other = next(r for r in placed.values() if r.edge.edge == OPPOSITE[room.edge.edge])
    start = other.outline.datum.origin - room.edge.visible_point
    return room.shifted(float(start @ room.edge.visible_out) + opening)


def _settled(before: Mapping[int, Array], placed: Mapping[int, PlacedRoom]) -> bool:
    return before.keys() == placed.keys() and all(
        float(np.hypot(*(placed[number].outline.datum.origin - origin))) <= EXACT_MM / 1000
        for number, origin in before.items()
    )


def widest_gap(room: PlacedRoom, others: Sequence[PlacedRoom]) -> tuple[float, float]:
    """How far the grown room stands off the blank's edge at most, in mm, and the station there.

    Negative when the blank's edge lies inside the room everywhere; -inf when the other
    rooms leave nothing of the edge.
    """
    solids = [*room.grown, *(area for other in others for area in other.grown)]
    widest, station = -np.inf, 0.0
    deep = room.edge.out * room.reach / 2
    for start, stop in zip(room.edge.chain[:-1], room.edge.chain[1:], strict=True):
        corners = np.array([start - deep, stop - deep, stop + deep, start + deep])
        strip = Area(corners if room.edge.solid == "left" else corners[::-1])
        free = difference(strip, solids)
        if free:
            points = np.vstack([area.outer for area in free])
            along = (stop - start) / np.hypot(*(stop - start))
            square = room.edge.out - (room.edge.out @ along) * along
            gap = (points - start) @ (square / (square @ room.edge.out))
            at = int(np.argmax(gap))
            if gap[at] > widest:
                widest, station = float(gap[at]), float(room.edge.station(points[at]))
    return widest, station


def _reached(room: PlacedRoom, others: Sequence[PlacedRoom]) -> PlacedRoom:
    """The room with the station that decides; refuses a blank that doesn't reach it there."""
    gap, station = widest_gap(room, others)
    if gap > EXACT_MM:
        more = format_mm(round_up_mm(gap - EXACT_MM, 0.1))
        raise ScribeError(
            "blank-too-small",
            what=f"the blank is too small for outline {room.job.outline}: {more} mm more is "
            f"needed at station {format_mm(station, 0)} from the {room.edge.start} end",
            where=f"edge {room.edge.edge}",
            do="take a larger blank, or change {placing}",
        )
    return replace(room, tightest=station)


def _moved(area: Area, move: Array) -> Area:
    return Area(area.outer + move, tuple(hole + move for hole in area.holes))
