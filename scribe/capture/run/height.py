"""How high an outline lies over the strips, as the many photos of a run tell it.

Where the height is wrong by d, a stretch found from photo k lies off by d s_k, s_k being how
its points move with the plane; two photos of one place, from different sides, then disagree by
d n (s_k - s_l), n across the outline. All overlaps of all stretches are solved together by
weighted least squares; its u holds the stretches' own localisation and what the network doesn't
know of two cameras against each other. (The same as `capture.several` does for one sheet.)

A board laid beside the strips has an upper edge and a foot. A camera over the board sees the
upper edge against the sheet; one that stands outside of the edge looks at the board's side, and
what it sees against the sheet is the foot, unless the side is too unlike the face to be taken
for it. The place of the camera tells which photos are in doubt, the overlaps which of the two
they show. The foot of an edge that is square lies straight below its upper edge.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
import numpy.typing as npt

from scribe.capture.run.trace import Piece
from scribe.geom.polyline import nearest, stations

Array = npt.NDArray[np.float64]

_FAR_MM = 12.0  # two stretches further apart than this are of two things
_OVERLAP_MM = 15.0  # shorter overlaps say nothing
_EVERY_MM = 5.0  # errors nearer than this go together
_MOST_LEFT = 30.0  # u: more of one gap says no more
_OUTLIERS = 4.0  # robust standard deviations
_ROUNDS = 5
_SETTLED_MM = 0.01


@dataclass(frozen=True)
class RunHeight:
    """height, u: mm above the strips. misfit: what is left of the gaps, usual size in their u."""

    height: float
    u: float
    misfit: float


def height_of_run(
    pieces: Sequence[Piece], roots: Mapping[str, Array], foot: float | None = None
) -> RunHeight | None:
    """What the overlaps say; None where no two photos show one place from two sides.

    foot: mm, the height of what photos show that have the board's side in view; None where
    they show the upper edge as the others do.
    """
    below = [foot is not None and side_in_view(piece) for piece in pieces]
    height = pieces[0].height
    found: RunHeight | None = None
    for _ in range(_ROUNDS):
        moved = [
            at_height(piece, foot if low and foot is not None else height)
            for piece, low in zip(pieces, below, strict=True)
        ]
        pairs = combinations(zip(moved, below, strict=True), 2)
        rows = [_rows(a, b, roots, low_a, low_b) for (a, low_a), (b, low_b) in pairs]
        kept = [row for row in rows if row is not None]
        if not kept:
            return found
        step, u, misfit = _solved(*(np.concatenate(part) for part in zip(*kept, strict=True)))
        height += step
        found = RunHeight(height, u, misfit)
        if abs(step) < _SETTLED_MM:
            break
    return found if found is not None and np.isfinite(found.u) else None


def side_in_view(piece: Piece) -> bool:
    """Whether the camera stands outside of the edge, so that a board shows its side below it."""
    trace = piece.trace
    outwards = trace.normals if trace.facts.get("object") == "below" else -trace.normals
    away = piece.placed.oriented.camera.position()[:2] - trace.points
    return bool(np.median((away * outwards).sum(axis=1)) > 0.0)


def at_height(piece: Piece, height: float) -> Piece:
    """The stretch as its pixels lie on another plane."""
    camera = piece.placed.oriented.camera
    points = camera.on_plane(camera.plane_pixels(piece.trace.points, piece.height), height)
    return replace(piece, height=height, trace=replace(piece.trace, points=points))


def _rows(
    a: Piece, b: Piece, roots: Mapping[str, Array], low_a: bool, low_b: bool
) -> tuple[Array, Array, Array, Array] | None:
    """Gaps (N,) of b from a, their change with the height, u, and the cameras' effects (N, K).

    low: what shows the foot doesn't move with the height of the upper edge.
    """
    s = stations(a.trace.points)
    every = max(1, int(_EVERY_MM / float(np.median(np.diff(s)))))
    at = np.flatnonzero(a.trace.measured)[::every]
    feet = nearest(a.trace.points[at], b.trace.points)
    ends = stations(b.trace.points)[-1]
    both = (feet.station > 0.0) & (feet.station < ends) & (np.abs(feet.distance) < _FAR_MM)
    if both.sum() * _EVERY_MM < _OVERLAP_MM:
        return None
    at, there, station = at[both], feet.point[both], feet.station[both]
    points, normal = a.trace.points[at], a.trace.normals[at]
    gap = ((there - points) * normal).sum(axis=1)
    lifts, moves = [], []
    for piece, where, low in ((a, points, low_a), (b, there, low_b)):
        camera = piece.placed.oriented.camera
        lift = (normal * camera.height_sensitivity(where, piece.height)).sum(axis=1)
        lifts.append(lift * (not low))
        sensitivity = camera.plane_sensitivity(where, piece.height)
        moves.append(np.einsum("nd,ndp->np", normal, sensitivity))
    own = np.interp(station, stations(b.trace.points), b.trace.u)
    smooth = np.hypot(a.placed.oriented.smooth_mm, b.placed.oriented.smooth_mm)
    u = np.sqrt(a.trace.u[at] ** 2 + own**2 + smooth**2 + 0.01**2)
    effect = np.concatenate(
        [moves[1] @ root[b.index] - moves[0] @ root[a.index] for root in roots.values()], axis=1
    )
    return gap, lifts[1] - lifts[0], u, effect


def _solved(gap: Array, slope: Array, u: Array, effect: Array) -> tuple[float, float, float]:
    """The step of the height that closes the gaps, its standard uncertainty, what is left."""
    if not slope.any():
        return 0.0, np.inf, np.inf
    kept = np.ones(len(gap), bool)
    for _ in range(4):
        weight = kept / u**2
        lever = max(float((weight * slope**2).sum()), 1e-12)
        step = -float((weight * slope * gap).sum()) / lever
        left = (gap + step * slope) / u
        spread = 1.4826 * float(np.median(np.abs(left[kept])))
        kept = np.abs(left) <= _OUTLIERS * max(spread, 1.0)
    scatter = max(float(np.sqrt((left[kept] ** 2).mean())), 1.0)
    pull = (weight * slope) @ effect / lever
    u_step = float(np.sqrt(scatter**2 / lever + (pull**2).sum()))
    return step, u_step, float(np.sqrt(np.mean(np.minimum(left**2, _MOST_LEFT**2))))
