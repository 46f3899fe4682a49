"""Directions along a polyline that do not round its corners, and where its sides meet.

Everything in mm. Round every point three lines are fitted (total least squares): through
what comes before, what comes after, and both; the one that leaves least over tells the
direction, so that a point beside a corner takes that of its own side.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

_BOTH = 1.6  # a line through both sides may leave so much more and is still preferred
_FLOOR = 0.02  # mm left over that mean nothing
_CORNER_DEG = 18.0  # a smaller turn between neighbours is a curve


@dataclass(frozen=True)
class Corner:
    """point: (2,) where two sides meet; normal: (2,) between theirs; after: index behind it."""

    point: Array
    normal: Array
    after: int


def sided_directions(place: Array, points: Array, reach: float) -> tuple[Array, Array]:
    """Foot points on the fitted lines and unit directions along them, (N, 2) each."""
    offset = place[None, :] - place[:, None]
    bell = np.exp(-0.5 * (offset / reach) ** 2)
    before, after = bell * (offset <= 1e-9), bell * (offset >= -1e-9)
    fits = [_line(points, share) for share in (before, after, bell)]
    left_over = np.stack([np.hypot(fit[2], _FLOOR) for fit in fits])
    left_over[2] /= _BOTH
    # At the ends only one side has points enough.
    left_over[0, :4] = left_over[1, -4:] = np.inf
    best = np.argmin(left_over, axis=0)
    every = np.arange(len(points))
    mean = np.stack([fit[0] for fit in fits])[best, every]
    travel = np.stack([fit[1] for fit in fits])[best, every]
    foot = mean + ((points - mean) * travel).sum(axis=1)[:, None] * travel
    return foot, travel


def _line(points: Array, share: Array) -> tuple[Array, Array, Array]:
    """Mean, direction (with travel) and rms left over of a line through weighted points."""
    share = share / share.sum(axis=1, keepdims=True)
    mean = share @ points
    x, y = points.T
    xx = share @ (x * x) - mean[:, 0] ** 2
    yy = share @ (y * y) - mean[:, 1] ** 2
    xy = share @ (x * y) - mean[:, 0] * mean[:, 1]
    angle = 0.5 * np.arctan2(2.0 * xy, xx - yy)
    travel = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    rough = np.gradient(points, axis=0)
    forwards = ((share @ rough) * travel).sum(axis=1) >= 0
    travel = np.where(forwards[:, None], travel, -travel)
    least = 0.5 * (xx + yy) - np.hypot(0.5 * (xx - yy), xy)
    return mean, travel, np.sqrt(np.maximum(least, 0.0))


def corners_between(points: Array, normals: Array) -> list[Corner]:
    """Where neighbouring points look in clearly different directions: there two sides meet."""
    turn = np.degrees(
        np.arctan2(
            normals[:-1, 0] * normals[1:, 1] - normals[:-1, 1] * normals[1:, 0],
            (normals[:-1] * normals[1:]).sum(axis=1),
        )
    )
    found = []
    for before in np.flatnonzero(np.abs(turn) > _CORNER_DEG).tolist():
        first, second = max(before - 1, 0), min(before + 2, len(points) - 1)
        pair = np.stack([normals[before], normals[before + 1]])
        reach = np.array([pair[0] @ points[first], pair[1] @ points[second]])
        meeting = np.linalg.solve(pair, reach)
        if np.hypot(*(meeting - points[before : before + 2].mean(axis=0))) < 1.0:
            middle = pair.sum(axis=0)
            found.append(Corner(meeting, middle / np.hypot(*middle), before + 1))
    return found
