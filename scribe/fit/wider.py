"""How much wider a blank would have to be that the cuts go right through, or leave nothing of."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from scribe.fit.blank_edge import BlankEdge
from scribe.fit.place import CRUMB_MM2
from scribe.geom.region import Area, difference, size, union

Array = npt.NDArray[np.float64]

_TRIES = 24  # of halving: from a blank's diagonal to below a micrometre


def wider_by(
    blank: Area, edges: Sequence[BlankEdge], solids: Sequence[Sequence[Area]]
) -> float | None:
    """mm by which a blank that the cuts part would have to be wider to hold together.

    Opposite to one of the edges, whichever takes least; None where that doesn't help.
    """
    reach = float(np.hypot(*np.ptp(blank.outer, axis=0)))
    needed = (_wider(blank, edge, solids, reach) for edge in edges)
    return min((each for each in needed if each is not None), default=None)


def _wider(
    blank: Area, edge: BlankEdge, solids: Sequence[Sequence[Area]], reach: float
) -> float | None:
    cut = [area for solid in solids for area in solid]
    side = np.asarray(edge.visible_along)
    ends = (blank.outer - edge.visible_point) @ side
    corners = edge.visible_point + np.outer([ends.min(), ends.max()], side)

    def holds(more: float) -> bool:
        away = corners - more * edge.visible_out
        ring = np.vstack([corners, away[::-1]])
        strip = Area(ring if edge.solid == "right" else ring[::-1])
        parts = difference(union([blank, strip])[0], cut, sliver=CRUMB_MM2)
        return len(parts) == 1 and size(parts[0]) > CRUMB_MM2

    if not holds(reach):
        return None
    low, high = 0.0, reach
    for _ in range(_TRIES):
        middle = (low + high) / 2.0
        low, high = (low, middle) if holds(middle) else (middle, high)
    return high
