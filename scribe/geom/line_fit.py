"""Straight lines through measured points, and how straight the points are.

Distances are taken square to the line (ISO 12780-1: local straightness deviation), positive
to its left. Lines run the way the points are ordered. (N, 2) mm, N >= 2, not all equal.
Two associations: least squares, and minimum zone (ISO 1101's default for form).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Line:
    """point: (2,) mm, on the line. direction: (2,) unit vector."""

    point: Array
    direction: Array

    def deviations(self, points: Array) -> Array:
        """(N,) signed distances in mm, positive left of the line."""
        away = points - self.point
        return np.asarray(
            self.direction[0] * away[:, 1] - self.direction[1] * away[:, 0], np.float64
        )

    def along(self, points: Array) -> Array:
        """(N,) positions along the line in mm, from `point`."""
        return np.asarray((points - self.point) @ self.direction, np.float64)


@dataclass(frozen=True)
class Straightness:
    """Straightness of a profile, mm (ISO 12780-1). Peaks lie left of travel.

    t, p, v, q: STRt, STRp, STRv, STRq from the least-squares line (v as a positive depth).
    t_minimum_zone: STRt from the minimum-zone line: the gap between two parallel lines.
    highest, lowest: indices of the points that set p and v.
    """

    t: float
    p: float
    v: float
    q: float
    t_minimum_zone: float
    highest: int
    lowest: int


def least_squares_line(points: Array) -> Line:
    """Total least squares: the sum of squared distances is least (orthogonal regression)."""
    centre = points.mean(axis=0)
    away = points - centre
    _, vectors = np.linalg.eigh(away.T @ away)
    return Line(centre, _forward(np.asarray(vectors[:, 1], np.float64), points))


def minimum_zone_line(points: Array) -> Line:
    """The line midway between the two parallel lines of least separation round the points.

    Exact: the narrowest strip round a convex hull lies along one of its edges (Houle and
    Toussaint, 1988, doi:10.1109/34.6790), found by going
    round it once. Its width is the spread of `deviations`.
    """
    hull = convex_hull(points)
    if len(hull) == 2:
        return Line(hull.mean(axis=0), _forward(_unit(hull[1] - hull[0]), points))
    edges = np.roll(hull, -1, axis=0) - hull
    edges = edges / np.hypot(*edges.T)[:, None]
    # Going round, the corner opposite an edge is where the edges turn past its reverse.
    turned = np.unwrap(np.arctan2(edges[:, 1], edges[:, 0]))
    twice = np.concatenate([turned, turned + 2 * np.pi])
    opposite = np.searchsorted(twice, turned + np.pi) % len(hull)
    away = hull[opposite] - hull
    width = edges[:, 0] * away[:, 1] - edges[:, 1] * away[:, 0]
    best = int(width.argmin())
    direction = _forward(edges[best], points)
    inward = np.array([-edges[best, 1], edges[best, 0]])
    return Line(hull[best] + inward * width[best] / 2, direction)


def straightness(points: Array) -> Straightness:
    """The straightness parameters of ISO 12780-1 of an ordered profile."""
    deviation = least_squares_line(points).deviations(points)
    zone = minimum_zone_line(points).deviations(points)
    return Straightness(
        t=float(np.ptp(deviation)),
        p=float(deviation.max()),
        v=float(-deviation.min()),
        q=float(np.sqrt((deviation**2).mean())),
        t_minimum_zone=float(np.ptp(zone)),
        highest=int(deviation.argmax()),
        lowest=int(deviation.argmin()),
    )


def convex_hull(points: Array) -> Array:
    """(H, 2) corners of the hull, counter-clockwise.

    Andrew's monotone chain, doi:10.1016/0020-0190(79)90072-3.
    Points on an edge are left out; points that all lie on one line give its two ends.
    """
    ordered = np.unique(points, axis=0).tolist()
    chains: list[list[list[float]]] = []
    for run in (ordered, ordered[::-1]):
        chain: list[list[float]] = []
        for p in run:
            while len(chain) > 1 and _turns(chain[-2], chain[-1], p) <= 0.0:
                chain.pop()
            chain.append(p)
        chains.append(chain[:-1])
    return np.array(chains[0] + chains[1], np.float64)


def _turns(a: list[float], b: list[float], c: list[float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _unit(vector: Array) -> Array:
    return np.asarray(vector / np.hypot(*vector), np.float64)


def _forward(direction: Array, points: Array) -> Array:
    return -direction if (points[-1] - points[0]) @ direction < 0.0 else direction
