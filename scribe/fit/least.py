"""Which way a straight edge is laid against an outline so that least has to come off.

In: an outline's front in a frame with x along the edge (stations) and y towards the building.
Out: the straight line that touches it from outside, so that nothing gapes, and lies best.
A linear programme in the line's height a and slope m and one bound t:

    largest:  minimise t                      subject to  0 <= a + m x_i - y_i <= t
    total:    minimise the area taken off     subject to  0 <= a + m x_i - y_i <= most

`most` is what a least width leaves free to be taken off. `largest` is the minimum zone of
ISO 12780-1 seen from one side. Removals are square to the edge, which the slope turns; the
programme is solved again in the turned frame until nothing turns any more.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.geom.course import lowest_course
from scribe.geom.frames import outer_from_axis
from scribe.job import Least

Array = npt.NDArray[np.float64]

_TURNED = 1e-10  # rad: by less an edge of 100 m moves by 0.01 micrometres
_ROUNDS = 50
_DECIDES = 1e-9  # a bound without a shadow price could be left out


@dataclass(frozen=True)
class Laid:
    """A straight edge laid against an outline.

    turn: rad from the x axis to the edge, counter-clockwise. largest, mean: mm that come off at
    most and on average. deciding: (K,) stations that hold the edge, rising.
    """

    turn: float
    largest: float
    mean: float
    deciding: Array


def lay(front: Array, span: tuple[float, float], least: Least, most: float = np.inf) -> Laid:
    """Lay an edge of the given span of x against a front (N, 2) mm that spans it, N >= 2.

    most: mm that may come off anywhere; where no total keeps to it, the largest is made least.
    The building lies above; where the front overhangs, its lowest part counts. The edge
    turns about its middle, and its ends move with it.
    """
    middle, half = sum(span) / 2.0, (span[1] - span[0]) / 2.0
    turn, centre = 0.0, np.array([middle, 0.0])
    for _ in range(_ROUNDS):
        edge_from_front = outer_from_axis(centre, np.array([np.cos(turn), np.sin(turn)])).inverse()
        points = lowest_course(
            edge_from_front.apply(front) + np.array([half, 0.0]), 0.0, 2.0 * half
        )
        found = _programme(points, least, most) or _programme(points, "largest", np.inf)
        assert found is not None  # a line far outside always touches: there is a solution
        height, slope, deciding = found
        removed = height + slope * points[:, 0] - points[:, 1]
        if abs(slope) < _TURNED:
            break
        turn += float(np.arctan(slope))
    return Laid(
        turn=turn,
        largest=float(removed.max()),
        mean=_mean(points[:, 0], removed),
        deciding=np.unique(deciding),
    )


def lay_straight(front: Array, span: tuple[float, float]) -> Laid:
    """The same without turning: moved along y until the edge touches."""
    points = lowest_course(front - np.array([span[0], 0.0]), 0.0, span[1] - span[0])
    removed = points[:, 1].max() - points[:, 1]
    return Laid(
        turn=0.0,
        largest=float(removed.max()),
        mean=_mean(points[:, 0], removed),
        deciding=points[[int(np.argmin(removed))], 0],
    )


def _programme(points: Array, least: Least, most: float) -> tuple[float, float, Array] | None:
    """(a, m, stations at a bound) of the best line over points (N, 2); None where none is."""
    from scipy.optimize import linprog

    x, y = points.T
    ones, zero = np.ones(len(x)), np.zeros(len(x))
    above = np.column_stack([-ones, -x, zero])  # a + m x >= y
    below = np.column_stack([ones, x, -ones])  # a + m x - y <= t
    if least == "total":
        width = np.diff(x, prepend=x[0]) / 2 + np.diff(x, append=x[-1]) / 2
        goal = np.array([width.sum(), (width * x).sum(), 0.0])
    else:
        goal = np.array([0.0, 0.0, 1.0])
    rows, bounds = np.vstack([above, below]), np.concatenate([-y, y])
    free = [(None, None), (None, None), (0.0, most if np.isfinite(most) else None)]
    found = linprog(goal, A_ub=rows, b_ub=bounds, bounds=free, method="highs")
    if found.x is None:
        return None
    a, m, _ = found.x
    tight = np.abs(found.ineqlin.marginals) > _DECIDES
    return float(a), float(m), np.tile(x, len(rows) // len(x))[tight]


def _mean(x: Array, removed: Array) -> float:
    return float(np.trapezoid(removed, x) / (x[-1] - x[0]))
