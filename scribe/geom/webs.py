"""How much material is left between two stretches of a border.

A web is thin where two places of a ring lie near each other straight across, though far along the
border: the sides of a corner don't count, however sharp, as long as it is wider than about 30
degrees.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.geom.polyline import even_stations, nearest, point_at, stations

Array = npt.NDArray[np.float64]

_DENSE_MM = 1.0
_ROUND = 4.0  # times as far along the border as the web is to be wide


def thinnest_web(ring: Array, part: Array, enough: float) -> tuple[float, Array]:
    """The narrowest material between a part of a ring and the rest of it, and its middle (2,).

    ring: (N, 2) mm, not closed, material inside. part: (M, 2), a stretch of the ring. enough: mm;
    wider webs may be told as infinite, with the part's own middle.
    """
    closed = np.vstack([ring, ring[:1]])
    total = float(stations(closed)[-1])
    at = even_stations(total, _DENSE_MM, keep=stations(closed))[:-1]
    points = point_at(closed, at)
    own = _near(points, part)
    best, middle = np.inf, part.mean(axis=0)
    for place, station in zip(points[own], at[own], strict=True):
        away = np.abs(at - station)
        far = np.minimum(away, total - away) > _ROUND * enough
        others = points[far & ~own]
        if not len(others):
            continue
        k = int(np.hypot(*(others - place).T).argmin())
        # Across to the border between two points, not to a point of it.
        here = np.flatnonzero((points == others[k]).all(axis=1))[0]
        side = points[np.array([here - 1, here, here + 1]) % len(points)]
        foot = nearest(place, side)
        if abs(foot.distance[0]) < best:
            best, middle = float(abs(foot.distance[0])), (foot.point[0] + place) / 2.0
    return best, np.asarray(middle)


def _near(points: Array, part: Array) -> npt.NDArray[np.bool_]:
    """Which points of the ring lie on the part."""
    return np.abs(nearest(points, part).distance) < 1e-6
