"""How far a piece may drift sideways while a third wall lies before it.

A piece that is pushed home between two walls meets a third one behind. Where that is not
straight (a pier that goes into a notch of the piece), or the piece is turned, it can't drift
as it likes. In a frame with y the way in: the piece, pulled out by p and shifted sideways by d,
is clear of the wall when its own back never lies behind it:

    M(d) = max over x of (back(x - d) - wall(x)) <= p

Both are polylines, so that the greatest difference lies at a vertex of one of them.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.geom.course import lowest_course

Array = npt.NDArray[np.float64]

_TOUCH = 0.01  # mm: arcs of a cut are drawn by chords that lie so near to it
# mm of drift that are looked at on either side: finely where a notch holds the piece.
_DRIFTS = np.unique(np.concatenate([np.linspace(0.0, 3.0, 61), np.geomspace(3.0, 400.0, 60)]))
_BOTH = np.concatenate([-_DRIFTS[:0:-1], _DRIFTS])


def reaches(ring: Array, wall: Array) -> Array:
    """(D,) mm that a piece must be pulled out to be clear of a wall, for each drift looked at.

    ring: (N, 2) the piece as it is turned. wall: (M, 2) lowest course of the wall, wider than
    the piece at both ends.
    """
    ends = float(ring[:, 0].min()), float(ring[:, 0].max())
    turned_over = np.vstack([ring, ring[:1]]) * [1.0, -1.0]
    back = lowest_course(turned_over, *ends) * [1.0, -1.0]
    found = np.empty(len(_BOTH))
    for n, drift in enumerate(_BOTH):
        x = back[:, 0] + drift
        inner = (wall[:, 0] >= x[0]) & (wall[:, 0] <= x[-1])
        own = np.interp(wall[inner, 0], x, back[:, 1]) - wall[inner, 1]
        its = back[:, 1] - np.interp(x, *wall.T)
        found[n] = max(float(own.max(initial=-np.inf)), float(its.max()))
    return found


def drifts(reach: Array, pulled: float, low: float, high: float) -> tuple[float, float]:
    """The drifts that leave a piece clear of the wall when it is pulled out by so much.

    reach: as from `reaches`. low, high: what the other two walls leave; of several intervals
    the one that shares most with them. (inf, -inf) when there is none.
    """
    clear = reach <= pulled + _TOUCH
    bounds = np.flatnonzero(np.diff(np.concatenate([[False], clear, [False]]).astype(int)))
    best, width = (np.inf, -np.inf), -np.inf
    for first, last in zip(bounds[::2], bounds[1::2] - 1, strict=True):
        start = -np.inf if first == 0 else float(_BOTH[first])
        stop = np.inf if last == len(_BOTH) - 1 else float(_BOTH[last])
        shared = min(stop, high) - max(start, low)
        if shared > width:
            best, width = (start, stop), shared
    return best
