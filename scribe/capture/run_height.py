"""How high an outline lies over the strips, as the many photos of a run tell it.

Where the height is wrong by d, a stretch found from photo k lies off by d s_k, s_k being how
its points move with the plane; two photos of one place, from different sides, then disagree by
d n (s_k - s_l), n across the outline. All overlaps of all stretches are solved together by
weighted least squares; its u holds the stretches' own localisation and what the network doesn't
know of two cameras against each other. (The same as `capture.several` does for one sheet.) What it
can't know: that some photos show the upper edge of a board and others its foot.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
import numpy.typing as npt

from scribe.capture.camera import lifted
from scribe.capture.run_trace import Piece
from scribe.geom.polyline import nearest, stations

Array = npt.NDArray[np.float64]

_FAR_MM = 12.0  # two stretches further apart than this are of two things
_OVERLAP_MM = 15.0  # shorter overlaps say nothing
_EVERY_MM = 5.0  # errors nearer than this go together
_OUTLIERS = 4.0  # robust standard deviations
_ROUNDS = 5
_SETTLED_MM = 0.01


@dataclass(frozen=True)
class RunHeight:
    """height, u: mm above the strips."""

    height: float
    u: float


def height_of_run(pieces: Sequence[Piece], roots: Mapping[str, Array]) -> RunHeight | None:
    """What the overlaps say; None where no two photos show one place from two sides."""
    found, moved = None, list(pieces)
    for _ in range(_ROUNDS):
        rows = [_rows(a, b, roots) for a, b in combinations(moved, 2)]
        kept = [row for row in rows if row is not None]
        if not kept:
            return found
        step, u = _solved(*(np.concatenate(part) for part in zip(*kept, strict=True)))
        height = moved[0].height + step
        found = RunHeight(height, u)
        moved = [at_height(piece, height) for piece in pieces]
        if abs(step) < _SETTLED_MM:
            break
    return found


def at_height(piece: Piece, height: float) -> Piece:
    """The stretch as its pixels lie on another plane."""
    camera = piece.placed.oriented.camera
    points = camera.on_plane(camera.pixels(lifted(piece.trace.points, piece.height)), height)
    return replace(piece, height=height, trace=replace(piece.trace, points=points))


def _rows(
    a: Piece, b: Piece, roots: Mapping[str, Array]
) -> tuple[Array, Array, Array, Array] | None:
    """Gaps (N,) of b from a, their change with the height, u, and the cameras' effects (N, K)."""
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
    for piece, where in ((a, points), (b, there)):
        camera = piece.placed.oriented.camera
        lifts.append((normal * camera.height_sensitivity(where, piece.height)).sum(axis=1))
        sensitivity = camera.plane_sensitivity(where, piece.height)
        moves.append(np.einsum("nd,ndp->np", normal, sensitivity))
    own = np.interp(station, stations(b.trace.points), b.trace.u)
    smooth = np.hypot(a.placed.oriented.smooth_mm, b.placed.oriented.smooth_mm)
    u = np.sqrt(a.trace.u[at] ** 2 + own**2 + smooth**2 + 0.01**2)
    effect = np.concatenate(
        [moves[1] @ root[b.index] - moves[0] @ root[a.index] for root in roots.values()], axis=1
    )
    return gap, lifts[1] - lifts[0], u, effect


def _solved(gap: Array, slope: Array, u: Array, effect: Array) -> tuple[float, float]:
    """The step of the height that closes the gaps, and its standard uncertainty."""
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
    return step, float(np.sqrt(scatter**2 / lever + (pull**2).sum()))
