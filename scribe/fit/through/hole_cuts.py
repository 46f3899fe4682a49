"""Holes as they come out of the finished piece, where they are marked, and how it gets round them.

In: the finished piece, its placed rooms and holes. Out: the cuts with the two distances that
mark each centre on the blank, the lines along which the piece is split, and sentences for
the fitter.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.facing import CLOSED_MM
from scribe.fit.cut import hole_lines
from scribe.fit.place import PlacedRoom
from scribe.fit.through.holes import PlacedHole
from scribe.fit.through.splits import slant_note
from scribe.geom.region import Area, apart
from scribe.geom.webs import thinnest_web
from scribe.job import Edge, HoleJob
from scribe.piece import HoleCut
from scribe.pipes import pipe_note
from scribe.quantity import format_mm, round_down_mm, round_up_mm

Array = npt.NDArray[np.float64]

WEB_MM = 10.0  # less wood than this beside a hole breaks easily (common practice, no source)
LEAST_WEB_MM = 2.0  # and less than this is no wood at all: the bit tears it out (as above)


def hole_cuts(
    keep: Area, blank: Array, rooms: Sequence[PlacedRoom], holes: Sequence[PlacedHole]
) -> tuple[HoleCut, ...]:
    """Every hole's cut. blank: (N, 2) its corners. Refuses a hole that misses the piece."""
    found = hole_lines(keep, rooms, [hole.grown for hole in holes])
    cuts = []
    for hole, lines in zip(holes, found, strict=True):
        if not lines:
            raise ScribeError(
                "hole-misses",
                what="it lies outside of what is left of the blank",
                where=f"hole {hole.job.name}",
                do="check its centre, and from which edges that was measured",
            )
        cuts.append(
            HoleCut(
                name=hole.job.name,
                lines=tuple(lines),
                through=hole.through,
                centre=hole.centre,
                bore=hole.bore,
                size=hole.size,
                from_edges=_marking(hole, blank),
                u=hole.u,
                clearance=hole.job.clearance,
                way=hole.job.way,
                towards=hole.job.towards,
                access=hole.job.access,
            )
        )
    return tuple(cuts)


def _marking(hole: PlacedHole, blank: Array) -> tuple[tuple[str, float], tuple[str, float]]:
    """How far the centre is from the two edges of the blank that it was measured from."""
    low, high = blank.min(axis=0), blank.max(axis=0)
    edges = hole.job.edges if hole.job.beside is None else HoleJob.edges
    first, second = ((edge, _from(edge, hole.centre, low, high)) for edge in edges)
    return first, second


def _from(edge: Edge, at: Array, low: Array, high: Array) -> float:
    axis = 0 if edge in ("left", "right") else 1
    return float(at[axis] - low[axis] if edge in ("left", "bottom") else high[axis] - at[axis])


def hole_notes(
    keep: Area, holes: Sequence[PlacedHole], cuts: Sequence[HoleCut], splits: Sequence[Array]
) -> list[str]:
    """Sentences for the fitter, hole by hole."""
    notes: list[str] = []
    for hole, cut in zip(holes, cuts, strict=True):
        notes += [_room_round(hole), _web(keep, cut), _way(hole, cut)]
        if hole.job.access:
            notes.append(
                f"Access {cut.name}: cut it out in one piece and keep that as the lid; fix the "
                "lid with screws, never with glue, and leave room to turn what is behind it."
            )
    if len(splits):
        where = "the line" if len(splits) == 1 else "each line"
        notes.append(
            f"Split into {len(splits) + 1} parts along {where} marked SPLIT: saw the blank there "
            "first, a kerf longer than drawn, and hold the parts edge to edge while all else is "
            "marked and cut. Sawn afterwards, the kerf would be missing from hole and piece."
        )
        notes.append(slant_note(splits))
    return [note for note in notes if note]


def _room_round(hole: PlacedHole) -> str:
    """Whether the clearance takes up what isn't known of the place, and the heat."""
    expanded, job = 2.0 * hole.u, hole.job
    if job.pipe is not None:
        return pipe_note(job.name, job.pipe, job.clearance, expanded)
    if job.access or expanded <= job.clearance:
        return ""
    U = format_mm(round_up_mm(expanded, 0.1), 1)
    return (
        f"Hole {job.name}: the U of its centre, {U} mm, is more than its clearance of "
        f"{format_mm(job.clearance, 1)} mm. Hold the piece up and look before it is cut, or leave "
        "more clearance."
    )


def _web(keep: Area, cut: HoleCut) -> str:
    """How little wood is left between a hole, or its slot, and the edges and other holes."""
    closed = [line for line in cut.lines if np.hypot(*(line[-1] - line[0])) <= CLOSED_MM]
    open_to_edge = len(closed) < len(cut.lines)
    if open_to_edge and cut.way != "slot":
        return f"Hole {cut.name} is open to an edge of the piece."
    web = _beside(keep, cut) if open_to_edge else _round(keep, closed)
    what = "the slot of hole" if open_to_edge else "hole"
    if web < LEAST_WEB_MM:
        raise ScribeError(
            "hole-web",
            what=f"only {format_mm(round_down_mm(web, 0.1), 1)} mm of wood would be left beside "
            f"{what} {cut.name}, which breaks out",
            where=f"hole {cut.name}",
            do=f"move it until at least {format_mm(LEAST_WEB_MM)} mm are left, or open it to that "
            "edge with a slot",
        )
    if web >= WEB_MM:
        return ""
    left = format_mm(round_down_mm(web, 0.1), 1)
    return f"Only {left} mm of wood are left beside {what} {cut.name}: it may break out there."


def _round(keep: Area, closed: Sequence[Array]) -> float:
    """mm from a hole that is closed to whatever border is nearest."""
    own = {tuple(point) for line in closed for point in line.tolist()}
    others = [ring for ring in (keep.outer, *keep.holes) if tuple(ring[0].tolist()) not in own]
    return min(apart(line, np.vstack([r, r[:1]])) for line in closed for r in others)


def _beside(keep: Area, cut: HoleCut) -> float:
    """mm from a slot to another hole, or across to another stretch of the piece's border."""
    webs = [apart(line, np.vstack([ring, ring[:1]])) for line in cut.lines for ring in keep.holes]
    webs += [thinnest_web(keep.outer, line, WEB_MM)[0] for line in cut.lines]
    return min(webs)


def _way(hole: PlacedHole, cut: HoleCut) -> str:
    if cut.way == "slot":
        wide = cut.size[0] if cut.towards in ("top", "bottom") else cut.size[1]
        return (
            f"Slot of hole {cut.name}: {format_mm(wide, 1)} mm wide, open to the {cut.towards} "
            f"edge. The piece is pushed on with that edge first; cover the slot or glue a strip in."
        )
    if cut.way == "over" and not cut.access and hole.job.pipe is not None:
        return (
            f"Hole {cut.name} goes over the open end of the pipe: if that stays closed, give it "
            'way = "slot" or "split".'
        )
    return ""
