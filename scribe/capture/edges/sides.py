"""Directions along a polyline that do not round its corners, and where its sides meet.

Everything in mm. Round every point three lines are fitted (total least squares): through
what comes before, what comes after, and both; the one that leaves least over tells the
direction, so that a point beside a corner takes that of its own side.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.scan import Stations, along
from scribe.capture.view import Trace

Array = npt.NDArray[np.float64]

_BOTH = 1.6  # a line through both sides may leave so much more and is still preferred
_FLOOR = 0.02  # mm left over that mean nothing
_CORNER_DEG = 18.0  # a smaller turn between neighbours is a curve
_NEAR_CORNER = 0.45  # mm: what is measured nearer to a corner sees both its sides


@dataclass(frozen=True)
class Corner:
    """point: (2,) where two sides meet; normal: (2,) between theirs; after: index behind it."""

    point: Array
    normal: Array
    after: int


def sided_stations(way: Array, step: float, reach: float) -> Stations:
    """Stations a step apart whose normals look at one side of a corner only."""
    place = along(way)
    wanted = np.linspace(0.0, place[-1], max(2, round(place[-1] / step) + 1))
    points = np.stack([np.interp(wanted, place, way[:, axis]) for axis in (0, 1)], axis=1)
    foot, travel = sided_directions(wanted, points, reach)
    return Stations(foot, travel[:, ::-1] * (-1.0, 1.0), wanted)


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


def with_corners(trace: Trace) -> Trace:
    """A trace whose points beside a corner give way to the place where its sides meet.

    u grows by half of what a point and its neighbour lie apart across the edge that both see:
    between the two lies a step that is too low for a corner, or the end of a curve at one.
    """
    trace = _with_corners(trace, corners_between(trace.points, trace.normals))
    hop = np.diff(trace.points, axis=0)
    across = [(hop * normals).sum(axis=1) for normals in (trace.normals[:-1], trace.normals[1:])]
    apart = np.abs(across).min(axis=0)
    jump = np.maximum(np.append(apart, 0.0), np.append(0.0, apart))
    return replace(trace, u=np.hypot(trace.u, 0.5 * jump))


def _with_corners(trace: Trace, found: list[Corner]) -> Trace:
    if not found:
        return trace
    points, u, normals, measured = trace.points, trace.u, trace.normals, trace.measured
    kept = np.ones(len(points), bool)
    for corner in found:
        kept &= np.hypot(*(points - corner.point).T) >= _NEAR_CORNER
    order = np.concatenate([np.flatnonzero(kept), [corner.after - 0.5 for corner in found]])
    rank = np.argsort(order, kind="stable")
    extra = np.array([corner.point for corner in found])
    return replace(
        trace,
        points=np.concatenate([points[kept], extra])[rank],
        u=np.concatenate([u[kept], [1.5 * u[corner.after] for corner in found]])[rank],
        normals=np.concatenate([normals[kept], [corner.normal for corner in found]])[rank],
        measured=np.concatenate([measured[kept], np.ones(len(found), bool)])[rank],
    )
