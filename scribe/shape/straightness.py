"""How straight an outline is, in the parameters of ISO 12780-1, with their uncertainty.

Peaks stand out of the building, hollows go into it, whichever way the outline was travelled.
Only measured points count.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.geom.line_fit import least_squares_line, straightness
from scribe.outline import Outline

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class StraightnessFigures:
    """mm. t, p, v, q: STRt, STRp, STRv, STRq from the least-squares line.

    t_minimum_zone: STRt from the minimum-zone line.
    u_t: standard uncertainty of both STRt, from the two points that set it and the line that
        goes along with all. It leaves out that the largest of many noisy points is on average
        too large; smooth first.
    """

    t: float
    p: float
    v: float
    q: float
    t_minimum_zone: float
    u_t: float


def straightness_of(outline: Outline) -> StraightnessFigures:
    """Straightness of the outline's measured points; refuses "straightness-points" under three."""
    facing = outline if outline.solid == "right" else outline.reversed()
    measured = facing.points[facing.measured]
    if len(measured) < 3:
        raise ScribeError(
            "straightness-points",
            what="fewer than three of its points were measured, which are straight by themselves",
            where=outline.origin or "outline",
            do="measure more of the outline",
        )
    found = straightness(measured)
    gradient = np.zeros_like(facing.points)
    gradient[facing.measured] = _gradient(measured, found.highest, found.lowest)
    return StraightnessFigures(
        t=found.t,
        p=found.p,
        v=found.v,
        q=found.q,
        t_minimum_zone=found.t_minimum_zone,
        u_t=facing.quantity_u(gradient),
    )


def _gradient(points: Array, highest: int, lowest: int) -> Array:
    """(N, 2): how the distance between two points square to the least-squares line changes.

    A point that moves takes the line's slope with it by its share of the sum of squares along.
    """
    line = least_squares_line(points)
    along = line.along(points)
    along = along - along.mean()
    weights = -(along[highest] - along[lowest]) * along / (along**2).sum()
    weights[highest] += 1.0
    weights[lowest] -= 1.0
    return np.asarray(weights[:, None] * [-line.direction[1], line.direction[0]])
