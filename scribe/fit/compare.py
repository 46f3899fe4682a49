"""A cut edge beside the line it was to follow: where it is proud, where short, what is left to do.

In: the planned cut, and the edge as it was measured (in any frame, or gaps felt along the
fitted piece). Out: the deviation station by station, positive where wood stands beyond the
line, and what a second cut takes off. Pushed home, the piece rests where it is proudest: what
gapes elsewhere is the most less the deviation, and closing it takes off, station by station,
the deviation less the least.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.geom.polyline import nearest, stations
from scribe.geom.registration import register
from scribe.outline import Outline
from scribe.piece import CutEdge

Array = npt.NDArray[np.float64]

_STEP_MM = 5.0


@dataclass(frozen=True)
class Compared:
    """station, deviation, u: (N,) mm. deviation: proud above 0, short below.

    coverage: part of the cut that was measured. in_place: seen against the building, so that the
    edge as a whole may be too far in or out; else shifted and turned to lie best, the shape alone.
    """

    station: Array
    deviation: Array
    u: Array
    coverage: float
    in_place: bool

    @property
    def gap(self) -> Array:
        """(N,) mm that gape when the piece is pushed home as it is."""
        return np.asarray(self.deviation.max() - self.deviation)

    @property
    def second(self) -> Array:
        """(N,) mm that a second cut takes off so that nothing gapes."""
        return np.asarray(self.deviation - self.deviation.min())


def compare(cut: CutEdge, edge: Outline) -> Compared:
    """The measured edge laid on the planned line as well as it goes, and what is left.

    edge: the piece's own edge, the piece lying on the side that isn't solid.
    """
    plan = cut.line if cut.keep == "right" else cut.line[::-1]
    line = edge if edge.solid == "left" else edge.reversed()
    seen = line.measured
    points, u = line.points[seen], np.maximum(line.shape_alone().u[seen], 1e-3)
    found = register(points, plan, u)
    placed = found.target_from_source.apply(points)
    feet = nearest(placed, plan)
    inside = (feet.station > 0.0) & (feet.station < stations(plan)[-1])
    station = (feet.point[inside] - cut.start) @ cut.along
    order = np.argsort(station)
    at = np.arange(np.ceil(station.min() / _STEP_MM), np.floor(station.max() / _STEP_MM) + 1)
    even = at * _STEP_MM
    # nearest() has the left of travel positive: the piece lies on the right, so that is proud.
    deviation = np.interp(even, station[order], feet.distance[inside][order])
    planned = np.interp(feet.station[inside], stations(plan), _along(cut, plan))
    spread = np.hypot(u[inside], planned)[order]
    return Compared(
        even,
        deviation,
        np.interp(even, station[order], spread),
        float(np.ptp(station) / np.ptp((cut.line - cut.start) @ cut.along)),
        in_place=False,
    )


def felt(cut: CutEdge, station: Array, gap: Array, u: float) -> Compared:
    """Gaps felt between the fitted piece and the building, from the end its stations count from.

    A gap wider than the clearance is short of the line, a narrower one proud.
    """
    length = float(np.ptp((cut.line - cut.start) @ cut.along))
    order = np.argsort(station)
    return Compared(
        station[order],
        cut.clearance - gap[order],
        np.full(len(station), u),
        float(np.ptp(station) / length),
        in_place=True,
    )


def _along(cut: CutEdge, plan: Array) -> Array:
    """(N,) u of the planned line in the order of its travel here."""
    return cut.u if plan is cut.line else cut.u[::-1]
