"""What goes through a piece: its solid, grown by the clearance, and opened to an edge by a slot.

In: the holes of a job, the shaped outlines, and the placed rooms they may be measured from.
Out: solids in the piece frame that are taken off the blank together with the rooms, so that
a pipe in a corner, a slot and a notch are one operation with every other cut. Round things
are drawn with chords that lie inside by no more than ARC_SAG.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.fit.blank_edge import OUTWARD
from scribe.fit.place import PlacedRoom
from scribe.geom.frames import Rigid, outer_from_axis
from scribe.geom.polyline import signed_size
from scribe.geom.region import ARC_SAG, Area, offset_area, swept, union
from scribe.job import Closed, HoleJob, Oblong, Point, Round
from scribe.outline import Outline
from scribe.standards import COVERAGE_FACTOR

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class PlacedHole:
    """One hole in the piece frame.

    through: (M, 2) border of what goes through, counter-clockwise. centre: (2,).
    bore: diameter with the clearance, None when it isn't round. size: (width, height) mm with
    the clearance. grown: what is taken off. u: mm, standard uncertainty of the centre.
    """

    job: HoleJob
    through: Array
    centre: Array
    bore: float | None
    size: tuple[float, float]
    grown: tuple[Area, ...]
    u: float


def place_holes(
    jobs: Sequence[HoleJob],
    blank: Array,
    outlines: Mapping[str, Outline],
    rooms: Sequence[PlacedRoom],
    settled: Sequence[Outline],
) -> list[PlacedHole]:
    """Place every hole.

    blank: (N, 2) its corners. outlines: as shaped, by name. rooms and settled belong together:
    the outlines as placed, and as they were before that.
    """
    extent = float(np.hypot(*np.ptp(blank, axis=0)))
    return [_placed(job, blank, extent, outlines, rooms, settled) for job in jobs]


def _placed(
    job: HoleJob,
    blank: Array,
    extent: float,
    outlines: Mapping[str, Outline],
    rooms: Sequence[PlacedRoom],
    settled: Sequence[Outline],
) -> PlacedHole:
    frame, beside_u = Rigid(np.eye(2), np.zeros(2)), 0.0
    beside = None if job.beside is None else outlines[job.beside]
    if beside is not None:
        frame, beside_u = _frame(job, rooms, settled), float(beside.u.max())
    centre = None if job.centre is None else _centre(job, job.centre, blank, beside, frame)
    through, own_u = _through(job, centre, frame, outlines)
    middle = (through.min(axis=0) + through.max(axis=0)) / 2.0 if centre is None else centre
    grown = offset_area(Area(through), job.clearance)
    bore = job.shape.diameter + 2.0 * job.clearance if isinstance(job.shape, Round) else None
    if bore is not None:
        grown = [Area(_circle(middle, bore / 2.0))]
    size = np.ptp(grown[0].outer, axis=0)
    if job.way == "slot":
        push = 2.0 * (extent + float(np.abs(middle).max())) * OUTWARD[job.towards]
        grown = union([*grown, *swept(_closed(grown[0].outer), push)])
    measured_u = 0.0 if centre is None else job.U / COVERAGE_FACTOR
    return PlacedHole(
        job=job,
        through=through,
        centre=middle,
        bore=bore,
        size=(float(size[0]), float(size[1])),
        grown=tuple(grown),
        u=float(np.sqrt(measured_u**2 + own_u**2 + beside_u**2)),
    )


def _frame(job: HoleJob, rooms: Sequence[PlacedRoom], settled: Sequence[Outline]) -> Rigid:
    """piece_from_outline of the outline that a hole is beside."""
    for room, before in zip(rooms, settled, strict=True):
        if room.job.outline == job.beside:
            piece = outer_from_axis(room.outline.datum.origin, room.outline.datum.direction)
            return piece @ outer_from_axis(before.datum.origin, before.datum.direction).inverse()
    raise ScribeError(
        "hole-beside",
        what=f"no edge of the piece follows outline {job.beside}, so the hole has no place",
        where=f"hole {job.name}",
        do="name an outline that an edge of this piece follows, or measure from the blank",
    )


def _centre(
    job: HoleJob, stated: Point, blank: Array, beside: Outline | None, frame: Rigid
) -> Array:
    if beside is not None:
        datum = beside.datum
        away = datum.towards * (-1.0 if _building_left(beside) else 1.0)
        at = datum.origin + stated[0] * datum.direction + stated[1] * away
        return np.asarray(frame.apply(at))
    low, high = blank.min(axis=0), blank.max(axis=0)
    centre = np.zeros(2)
    for edge, distance in zip(job.edges, stated, strict=True):
        axis = int(abs(OUTWARD[edge][1]) > 0.5)
        first = edge in ("left", "bottom")
        centre[axis] = low[axis] + distance if first else high[axis] - distance
    return centre


def _building_left(outline: Outline) -> bool:
    """Whether the building lies to the left of the datum, as stations grow."""
    chord = outline.points[-1] - outline.points[0]
    return (outline.solid == "left") == (float(chord @ outline.datum.direction) > 0.0)


def _through(
    job: HoleJob, centre: Array | None, frame: Rigid, outlines: Mapping[str, Outline]
) -> tuple[Array, float]:
    """(M, 2) counter-clockwise in the piece frame, and how uncertain it is across itself, mm."""
    if isinstance(job.shape, Closed):
        outline = outlines[job.shape.outline]
        ring = frame.apply(_ring(outline, job))
        if centre is not None:
            ring = ring + centre - (ring.min(axis=0) + ring.max(axis=0)) / 2.0
        return ring, float(outline.u.max())
    assert centre is not None  # only a closed outline goes without
    if isinstance(job.shape, Oblong):
        half = np.array([job.shape.width, job.shape.height]) / 2.0
        return centre + half * np.array([[-1.0, -1], [1, -1], [1, 1], [-1, 1]]), 0.0
    return _circle(centre, job.shape.diameter / 2.0), job.shape.U / 2.0 / COVERAGE_FACTOR


def _ring(outline: Outline, job: HoleJob) -> Array:
    ring = outline.points[:-1]
    inside = "left" if signed_size(ring) > 0.0 else "right"
    if not outline.closed or outline.solid != inside:
        raise ScribeError(
            "hole-open",
            what="the outline isn't closed round something solid, so it bounds no hole",
            where=f"hole {job.name}",
            do='draw or trace it all the way round, with building = "inside"',
        )
    return ring if inside == "left" else ring[::-1]


def _circle(centre: Array, radius: float) -> Array:
    """(N, 2) counter-clockwise on the circle; N even, so that it is as wide as its diameter."""
    # Sag of a chord over the angle a: r (1 - cos(a / 2)), about r a^2 / 8.
    quarters = int(np.ceil(np.pi / 2.0 / np.sqrt(8.0 * ARC_SAG / radius))) + 1
    turn = np.linspace(0.0, 2.0 * np.pi, 4 * quarters, endpoint=False)
    return np.asarray(centre + radius * np.column_stack([np.cos(turn), np.sin(turn)]))


def _closed(ring: Array) -> Array:
    return np.vstack([ring, ring[:1]])
