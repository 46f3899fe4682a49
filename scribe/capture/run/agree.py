"""Do the photos of a run show one outline? Stretches that contradict the others are named.

Two stretches that overlap must lie on each other within what chance leaves: their own
localisation, and what the network doesn't know of their two cameras against each other. A
stretch of another line, of a board that was moved, of an edge in shadow, lies elsewhere.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.run.trace import Piece
from scribe.errors import ScribeError
from scribe.geom.polyline import nearest, stations

Array = npt.NDArray[np.float64]

_OVERLAP_MM = 15.0  # shorter overlaps say nothing
_SAMPLES = 40
_TIMES, _LEAST_MM = 3.0, 0.15  # times what chance leaves, and mm: beyond both they contradict


@dataclass(frozen=True)
class _Conflict:
    """Two stretches, how far they are apart where both are, and where that is along the run."""

    one: int
    other: int
    apart: float
    at: float


def agreeing(
    pieces: Sequence[Piece], roots: Mapping[str, Array], height_u: float, axis: Array
) -> tuple[list[Piece], list[str]]:
    """The stretches that agree, and a sentence about each one left out.

    Refuses with "run-disagrees" where two stretches contradict each other and nothing else
    tells which is right.
    """
    kept, said = list(pieces), []
    while conflicts := _conflicts(kept, roots, height_u, axis):
        counts = np.zeros(len(kept), int)
        for conflict in conflicts:
            counts[[conflict.one, conflict.other]] += 1
        worst = int(np.argmax(counts))
        first = next(c for c in conflicts if worst in (c.one, c.other))
        other = first.other if first.one == worst else first.one
        if counts[worst] == counts[other]:
            raise ScribeError(
                "run-disagrees",
                what=f"round {first.at:.0f} mm these two photos show the outline {first.apart:.1f}"
                " mm apart, and nothing tells which is right",
                where=f"{kept[first.one].name}, {kept[first.other].name}",
                do="say with {near} which line is meant, or take the photos again without moving"
                " anything between them",
            )
        said.append(
            f"{kept[worst].name} was left out: round {first.at:.0f} mm it shows the outline"
            f" {first.apart:.1f} mm from where the others do."
        )
        kept.pop(worst)
    return kept, said


def _conflicts(
    pieces: Sequence[Piece], roots: Mapping[str, Array], height_u: float, axis: Array
) -> list[_Conflict]:
    found = []
    for one in range(len(pieces)):
        for other in range(one + 1, len(pieces)):
            conflict = _compare(pieces, one, other, roots, height_u, axis)
            if conflict is not None:
                found.append(conflict)
    return found


def _compare(
    pieces: Sequence[Piece],
    one: int,
    other: int,
    roots: Mapping[str, Array],
    height_u: float,
    axis: Array,
) -> _Conflict | None:
    """None where they agree, or hardly overlap."""
    a, b = pieces[one], pieces[other]
    along_a, along_b = a.trace.points @ axis, b.trace.points @ axis
    first, last = max(along_a.min(), along_b.min()), min(along_a.max(), along_b.max())
    if last - first < _OVERLAP_MM:
        return None
    rows = np.flatnonzero((along_a >= first) & (along_a <= last) & a.trace.measured)
    rows = rows[:: max(1, len(rows) // _SAMPLES)]
    if len(rows) < 3:
        return None
    points, normal = a.trace.points[rows], a.trace.normals[rows]
    feet = nearest(points, b.trace.points)
    gap = ((feet.point - points) * normal).sum(axis=1)
    ends = stations(b.trace.points)[-1]
    both = (feet.station > 0.0) & (feet.station < ends)
    if both.sum() < 3:
        return None
    variance = a.trace.u[rows] ** 2 + np.interp(
        feet.station, stations(b.trace.points), b.trace.u**2
    )
    variance += a.placed.oriented.smooth_mm**2 + b.placed.oriented.smooth_mm**2
    moves = [
        np.einsum("nd,ndp->np", normal, piece.placed.oriented.camera.plane_sensitivity(at, h))
        for piece, at, h in ((a, points, a.height), (b, feet.point, b.height))
    ]
    for root in roots.values():
        variance += ((moves[0] @ root[a.index] - moves[1] @ root[b.index]) ** 2).sum(axis=1)
    lifts = [
        (normal * piece.placed.oriented.camera.height_sensitivity(at, piece.height)).sum(axis=1)
        for piece, at in ((a, points), (b, feet.point))
    ]
    variance += (height_u * (lifts[0] - lifts[1])) ** 2
    apart = float(np.median(np.abs(gap[both])))
    if apart < max(_TIMES * float(np.sqrt(np.median(variance[both]))), _LEAST_MM):
        return None
    return _Conflict(one, other, apart, 0.5 * (first + last))
