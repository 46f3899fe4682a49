"""How straight an outline is, in the parameters of ISO 12780-1, with their uncertainty.

Peaks stand out of the building, hollows go into it, whichever way the outline was travelled.
Only measured points count.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scribe.errors import ScribeError
from scribe.geom.line_fit import straightness
from scribe.outline import Outline


@dataclass(frozen=True)
class StraightnessFigures:
    """mm. t, p, v, q: STRt, STRp, STRv, STRq from the least-squares line.

    t_minimum_zone: STRt from the minimum-zone line.
    u_t: standard uncertainty of both STRt, from the two points that set it. It leaves out that
        the largest of many noisy points is on average too large; smooth first.
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
    u = facing.u[facing.measured]
    return StraightnessFigures(
        t=found.t,
        p=found.p,
        v=found.v,
        q=found.q,
        t_minimum_zone=found.t_minimum_zone,
        u_t=float(np.hypot(u[found.highest], u[found.lowest])),
    )
