"""Lay one line on another: the turn and shift that bring them nearest, weighted and robust.

Points of the one, feet on the other, distances across it (point to line): Gauss-Newton in
shift and turn, the feet found anew each round (Besl and McKay 1992, in the point-to-line form
of Chen and Medioni 1992). Needs a start within some tens of degrees; where a line covers only
part of the other, every place along it is tried.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.geom.frames import Rigid, turned_about
from scribe.geom.polyline import nearest, normals_at, stations

Array = npt.NDArray[np.float64]

_ROUNDS = 60
_TUKEY = 4.685  # robust standard deviations (95 % efficiency)
_SETTLED = 1e-10
_HOLD = 1e6  # over the damping: what is held doesn't move
_COARSE_MM = 8.0  # from one place along the line to the next that is tried


@dataclass(frozen=True)
class Registration:
    """target_from_source, and the weighted rms of what is left, mm.

    by: (N, 3) how the distance of each source point from the target changes with shift x, shift
    y (mm) and turn (rad, about the middle of the source). gain: (3, N) how shift and turn answer
    when a point is found off across the line by one mm. A distance that is left thus answers to
    all of them by I + by @ gain.
    """

    target_from_source: Rigid
    by: Array
    gain: Array
    rms: float

    def left_u(self, own: Array, common: Array) -> Array:
        """(N,) mm standard uncertainty of the distances left, JCGM 100, 5.2.2.

        own: (N,) mm across the line, independent from point to point. common: (K, N) mm, errors
        that the points share, for one standard uncertainty of each of K causes.
        """
        spread = (self.gain * own**2) @ self.gain.T
        lone = own**2 * (1.0 + 2.0 * np.einsum("np,pn->n", self.by, self.gain))
        lone = lone + np.einsum("np,pq,nq->n", self.by, spread, self.by)
        shared = ((common + common @ self.gain.T @ self.by.T) ** 2).sum(axis=0)
        return np.asarray(np.sqrt(np.maximum(lone, 0.0) + shared))


def register(source: Array, target: Array, u: Array, *, ends: bool = False) -> Registration:
    """Bring a line (N, 2) onto another (M, 2); u: (N,) mm of the source's points.

    Both are travelled the same way. The source may be a part of the target. ends: it runs from
    end to end of the target; its middle then stays midway between the target's ends, and only
    the shift across and the turn are found.
    """
    weight = 1.0 / np.maximum(u, 1e-6)
    if ends:
        start = _by_ends(source, target[0], target[-1])
        held = (target[-1] - target[0]) / np.hypot(*(target[-1] - target[0]))
        return _refined(source, target, weight, start, rounds=_ROUNDS, held=held)
    along = stations(target)
    chord = source[-1] - source[0]
    size, best = float(np.hypot(*chord)), None
    free = max(along[-1] - size, 0.0)
    for start in np.linspace(0.0, free, int(free / _COARSE_MM) + 1):
        first, last = (np.array([np.interp(s, along, target[:, k]) for k in (0, 1)])
                       for s in (start, min(start + size, along[-1])))  # fmt: skip
        laid = _by_ends(source, first, last)
        found = _refined(source, target, weight, laid, rounds=12)
        if best is None or found.rms < best.rms:
            best = found
    assert best is not None
    return _refined(source, target, weight, best.target_from_source, rounds=_ROUNDS)


def _by_ends(source: Array, start: Array, stop: Array) -> Rigid:
    """The turn and shift that lay the source's ends on a chord."""
    own, other = source[-1] - source[0], stop - start
    angle = float(np.arctan2(other[1], other[0]) - np.arctan2(own[1], own[0]))
    middle = (source[0] + source[-1]) / 2.0
    return turned_about(middle, angle, (start + stop) / 2.0 - middle)


def _refined(
    source: Array,
    target: Array,
    weight: Array,
    start: Rigid,
    *,
    rounds: int,
    held: Array | None = None,
) -> Registration:
    """Gauss-Newton from a start; held: (2,) unit vector along which nothing is shifted."""
    step, pose = np.ones(3), start
    hold = np.zeros((1, 3)) if held is None else np.array([[*held, 0.0]]) * _HOLD
    for _ in range(rounds):
        placed = pose.apply(source)
        middle = placed.mean(axis=0)
        feet = nearest(placed, target)
        normal = normals_at(target, feet.station)
        away = ((placed - feet.point) * normal).sum(axis=1)
        arm = placed - middle
        by = np.column_stack([normal, normal[:, 1] * arm[:, 0] - normal[:, 0] * arm[:, 1]])
        spread = max(1.4826 * float(np.median(np.abs(away))), 1e-6)
        # Tukey's biweight: what stands off by much is what is looked for, and has no say.
        scale = weight * np.clip(1.0 - (away / (_TUKEY * spread)) ** 2, 0.0, None)
        # A hair of damping: along a straight line nothing holds the shift.
        firm = np.vstack([1e-3 * np.eye(3), hold]) * float(scale.mean())
        gain = -np.linalg.pinv(np.vstack([by * scale[:, None], firm]))[:, : len(by)] * scale
        step = gain @ away
        pose = turned_about(middle, step[2], step[:2]) @ pose
        if np.abs(step).max() < _SETTLED:
            break
    rms = float(np.sqrt(np.average(away**2, weights=scale**2)))
    return Registration(pose, by, np.asarray(gain), rms)
