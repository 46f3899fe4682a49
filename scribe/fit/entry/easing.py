"""What to take off one end of a trapped piece so that it can be pushed straight in.

In a frame with the piece's ends left and right and y the way in. Pushed out by p, the left wall
asks for a drift of at least low(p) and the right one for at most high(p); where low is the
greater, the piece is too wide. One end is left as it is and held against its wall all the way;
the other is eased by what then still stands in the other wall. Each step's drift suits the
steps beside it as well.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.fit.entry.way_in import border, wall_at

Array = npt.NDArray[np.float64]

_LEVELS_MM = 1.0
_NOTHING_MM = 0.05


@dataclass(frozen=True)
class Eased:
    """right: which end is eased, else the left. level: (N,) mm from the piece's front; off: (N,)
    mm to take off there.
    """

    right: bool
    level: Array
    off: Array

    @property
    def most(self) -> float:
        """mm, the most that comes off."""
        return float(self.off.max())

    @property
    def stretch(self) -> tuple[float, float]:
        """mm from the front, first and last place where something comes off."""
        some = self.level[self.off > _NOTHING_MM]
        return (float(some[0]), float(some[-1])) if len(some) else (0.0, 0.0)


def eased(keep: Array, left: Array, right: Array, path: Array) -> Eased:
    """The easing of that end which takes less.

    keep: (N, 2) the piece. left, right: (M, 2) fronts of the walls. path: (P, 4) as in `Found`,
    of a piece that isn't turned.
    """
    flip = np.array([-1.0, 1.0])  # turned over, the left end comes to the right
    one = _eased(keep, right, path)
    other = _eased(keep * flip, left * flip, path[:, [0, 2, 1]] * [1.0, -1.0, -1.0])
    return one if one.off.sum() <= other.off.sum() else replace(other, right=False)


def _eased(keep: Array, right: Array, path: Array) -> Eased:
    """What comes off the right end while the left one keeps to its wall."""
    front = float(keep[:, 1].min())
    y = np.arange(front, float(keep[:, 1].max()), _LEVELS_MM) + _LEVELS_MM / 2
    _, east = border(keep, y)
    low = np.concatenate([[-np.inf], path[:, 1], [-np.inf]])
    drift = np.maximum(np.maximum(low[:-2], low[1:-1]), low[2:])
    off = np.zeros(len(y))
    for pulled, each in zip(path[:, 0], drift, strict=True):
        if np.isfinite(each):
            off = np.fmax(off, east + each - wall_at(right, y - pulled, np.fmin))
    return Eased(True, y - front, off)
