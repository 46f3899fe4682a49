"""Corners (arrises) of a polyline: where its direction turns at once, not over a radius.

On both sides of a place a parabola is fitted to the points within `reach` (local polynomial
regression of order 2, one-sided: Gijbels and Goderniaux, 2004, doi:10.1081/STA-120029828, for
the idea), and the two tangents are compared there. On a curve without a corner they agree to
second order however small its radius is against `reach`, so that a bead of 3 mm is not taken
for an arris. A corner nearer than `reach` to an end or to another corner, or turned by less than
the stated angle, is not found.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.geom.polyline import point_at, stations

Array = npt.NDArray[np.float64]

_TAPS = 12  # samples on each side; more cost time and find nothing new
_SURE = 5.0  # a turn must be this many of its standard uncertainties


def corners(points: Array, u: npt.ArrayLike, *, angle_deg: float = 25.0, reach: float) -> Array:
    """(K,) stations in mm where the polyline (N, 2) turns by more than `angle_deg`.

    u: standard uncertainty (N,) or () of the points across the polyline, that part of it
        which differs from one point to the next.
    reach: mm on each side over which a direction is measured. Longer finds smaller turns in
        noise, shorter finds corners that lie closer together.
    Empty when the polyline is shorter than twice the reach.
    """
    s = stations(points)
    spacing = float(np.median(np.diff(s)))
    reach = max(reach, 4.0 * spacing)
    step = reach / _TAPS
    if s[-1] < 2.0 * reach:
        return np.zeros(0)
    grid = np.arange(0.0, s[-1] + step / 2, step)
    turn = np.abs(_turn(point_at(points, np.minimum(grid, s[-1]))))
    noise = np.interp(grid, s, np.broadcast_to(np.asarray(u, np.float64), s.shape))
    # Neighbouring samples between the same two points say the same thing twice.
    independent = min(1.0, step / spacing)
    u_turn = np.sqrt(2.0) * noise / step * np.sqrt((_tangent_taps() ** 2).sum() / independent)
    found = (turn > np.radians(angle_deg)) & (turn > _SURE * u_turn)
    places: list[float] = []
    for index in np.argsort(-turn, kind="stable"):
        if not found[index]:
            continue
        if all(abs(grid[index] - place) >= reach for place in places):
            places.append(float(grid[index]))
    refined = [_break(points, s, place, reach) for place in sorted(places)]
    return np.unique(np.array(refined, np.float64))


def _tangent_taps() -> Array:
    """(_TAPS + 1,) weights of samples 0.._TAPS that give the slope per sample at sample 0."""
    t = np.arange(_TAPS + 1.0)
    return np.asarray(np.linalg.pinv(np.column_stack([np.ones_like(t), t, t**2]))[1], np.float64)


def _turn(samples: Array) -> Array:
    """(N,) signed turn in radians at each of the even samples; 0 within _TAPS of an end."""
    turn = np.zeros(len(samples))
    if len(samples) <= 2 * _TAPS:
        return turn
    taps = _tangent_taps()
    after = np.column_stack([np.correlate(samples[:, k], taps, "valid") for k in (0, 1)])
    before = -np.column_stack([np.correlate(samples[:, k], taps[::-1], "valid") for k in (0, 1)])
    before, after = before[:-_TAPS], after[_TAPS:]
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turn[_TAPS:-_TAPS] = np.arctan2(cross, (before * after).sum(axis=1))
    return turn


def _break(points: Array, s: Array, place: float, reach: float) -> float:
    """The station between two points that best parts the window into two parabolas."""
    window = np.flatnonzero(np.abs(s - place) <= reach)
    best, station = np.inf, place
    for cut in range(3, len(window) - 3):
        middle = (s[window[cut - 1]] + s[window[cut]]) / 2
        if abs(middle - place) > reach / 2:
            continue
        cost = _residual(points, s, window[:cut]) + _residual(points, s, window[cut:])
        if cost < best:
            best, station = cost, middle
    return float(station)


def _residual(points: Array, s: Array, part: npt.NDArray[np.int64]) -> float:
    t = s[part] - s[part[0]]
    basis, _ = np.linalg.qr(np.column_stack([np.ones_like(t), t, t**2]))
    return float(((points[part] - basis @ (basis.T @ points[part])) ** 2).sum())
