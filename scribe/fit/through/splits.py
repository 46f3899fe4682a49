"""The lines along which a piece is parted to get it round what can't be pushed through.

A split runs from border to border through the centre of a hole, along the blank; holes whose
centres are nearly in line share one, which then slants.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.fit.through.holes import PlacedHole
from scribe.geom.polyline import line_through
from scribe.geom.region import Area, apart
from scribe.quantity import format_mm

Array = npt.NDArray[np.float64]

_ONE_LINE_MM = 20.0  # centres no further out of line than this share one split
_STRAIGHT_MM = 0.5
_SLANT_DEG = 0.1  # more is said: a saw set along the edge would miss the centres
_STEEPEST_SPLIT_DEG = 5.0  # more isn't one split any more (common practice, no source)


def split_lines(keep: Area, holes: Sequence[PlacedHole]) -> tuple[Array, ...]:
    """(2, 2) each, from border to border of the piece, through the centres of split holes."""
    lines = []
    for axis, edges in ((0, ("left", "right")), (1, ("top", "bottom"))):
        split = [h for h in holes if h.job.way == "split" and h.job.towards in edges]
        groups: list[list[PlacedHole]] = []
        for hole in sorted(split, key=lambda each: float(each.centre[1 - axis])):
            last = groups[-1][-1].centre[1 - axis] if groups else -np.inf
            if hole.centre[1 - axis] - last <= _ONE_LINE_MM:
                groups[-1].append(hole)
            else:
                groups.append([hole])
        lines += [_across(keep, group, axis) for group in groups]
    for line in lines:
        for hole in holes:
            if hole.job.access and apart(line, np.vstack([hole.through, hole.through[:1]])) == 0.0:
                raise ScribeError(
                    "hole-split",
                    what="a split runs through it, so that its lid would come out in two",
                    where=f"hole {hole.job.name}",
                    do="move it aside, or split towards another edge",
                )
    return tuple(lines)


def _through(group: Sequence[PlacedHole], axis: int) -> tuple[Array, Array]:
    """A point and a direction: along the blank through one centre, or through all of them."""
    centres = np.array(sorted((hole.centre.tolist() for hole in group), key=lambda c: c[axis]))
    along = np.eye(2)[axis] if len(group) == 1 else centres[-1] - centres[0]
    along = along / np.hypot(*along)
    off = np.abs((centres - centres[0]) @ [-along[1], along[0]])
    if off.max() > _STRAIGHT_MM:
        worst = format_mm(float(off.max()), 1)
        raise ScribeError(
            "hole-split",
            what=f"the centres of the holes to be split are {worst} mm out of line",
            where="hole " + ", ".join(hole.job.name for hole in group),
            do='split through two of them, and give the others way = "slot"',
        )
    slant = _slant(np.array([centres[0], centres[-1]]), axis)
    if slant > _STEEPEST_SPLIT_DEG:
        raise ScribeError(
            "hole-split",
            what=f"one split through their centres would slant by {format_mm(slant, 1)} degrees",
            where="hole " + ", ".join(hole.job.name for hole in group),
            do='check both centres; else give one of them way = "slot"',
        )
    return centres[0], along


def _slant(line: Array, axis: int) -> float:
    """Degrees by which a line (2, 2) is off the blank's own direction."""
    run, rise = np.abs(np.ptp(line, axis=0)[[axis, 1 - axis]])
    return float(np.degrees(np.arctan2(rise, run)))


def slant_note(splits: Sequence[Array]) -> str:
    """Which splits run out of parallel to the blank's edges, by how much."""
    said = []
    for line in splits:
        axis = int(np.ptp(line[:, 1]) > np.ptp(line[:, 0]))
        slant = _slant(line, axis)
        if slant > _SLANT_DEG:
            rise = float(np.ptp(line[:, 1 - axis]))
            said.append(
                f"A split slants by {format_mm(slant, 1)} degrees, {format_mm(rise, 1)} mm from "
                "end to end, since the centres aren't in line with the edge: mark it by both ends."
            )
    return " ".join(said)


def _across(keep: Area, group: Sequence[PlacedHole], axis: int) -> Array:
    """Where the line through holes enters the piece first and leaves it last."""
    found = line_through(keep.outer, *_through(group, axis))
    if found is None:
        raise ScribeError(
            "hole-split",
            what="its centre lies beyond the piece, and a split through it wouldn't part that",
            where="hole " + ", ".join(hole.job.name for hole in group),
            do='check its centre, or give it way = "slot"',
        )
    return found
