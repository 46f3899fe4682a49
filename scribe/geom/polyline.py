"""Open polylines as (N, 2) arrays in mm: stations, resampling, normals, distances.

A station here is the length along the polyline from its first point. Left is left of the
direction of travel, y up. No two neighbouring points may be equal.
"""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

_BLOCK = 16  # segments looked at together
_PAIRS = 100_000  # of points and blocks at once: no more than fits a processor's cache
_ON_LINE = 1e-9  # mm: a corner so near to a line counts as on it


class Feet(NamedTuple):
    """Nearest places on a polyline, one for each point asked about.

    station: (M,) mm along the polyline. point: (M, 2). distance: (M,) signed mm, positive
    for points left of the polyline.
    """

    station: Array
    point: Array
    distance: Array


def stations(points: Array) -> Array:
    """(N,) length along the polyline from its first point to each vertex."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])


def length(points: Array) -> float:
    """Length of the whole polyline in mm."""
    return float(stations(points)[-1])


def point_at(points: Array, station: npt.ArrayLike) -> Array:
    """(..., 2) points at the stations (...); beyond an end, the end itself."""
    s, at = stations(points), np.asarray(station, np.float64)
    return np.stack([np.interp(at, s, points[:, 0]), np.interp(at, s, points[:, 1])], axis=-1)


def spans(points: Array) -> Array:
    """(N,) mm of the polyline that each vertex stands for: half of either segment beside it.

    >>> spans(np.array([[0.0, 0.0], [1.0, 0.0], [4.0, 0.0]])).tolist()
    [0.5, 2.0, 1.5]
    """
    half = np.hypot(*np.diff(points, axis=0).T) / 2.0
    return np.asarray(np.append(half, 0.0) + np.append(0.0, half))


def signed_size(ring: Array) -> float:
    """mm^2 enclosed by a ring (N, 2), positive when it runs counter-clockwise."""
    return float(signed_sizes(ring))


def signed_sizes(rings: Array) -> Array:
    """(...) mm^2 enclosed by rings (..., N, 2), positive where they run counter-clockwise."""
    x, y = np.moveaxis(rings - rings[..., :1, :], -1, 0)
    after = np.roll(np.arange(rings.shape[-2]), -1)
    return np.asarray((x * y[..., after] - x[..., after] * y).sum(axis=-1) / 2)


def counter_clockwise(ring: Array) -> Array:
    """The ring (N, 2), turned round where it runs clockwise."""
    return ring if signed_size(ring) > 0.0 else np.asarray(ring[::-1])


def line_through(ring: Array, at: Array, along: Array) -> Array | None:
    """(2, 2) where the straight line through a point (2,) along a unit vector (2,) meets a ring
    first and where last, mm; None where it misses.

    >>> line_through(np.array([[0.0, 0], [4, 0], [4, 2], [0, 2]]), np.array([1.0, 1.0]),
    ...              np.array([0.0, 1.0])).tolist()
    [[1.0, 0.0], [1.0, 2.0]]
    """
    a = ring - at
    b = np.roll(a, -1, axis=0)
    side_a, side_b = (along[0] * each[:, 1] - along[1] * each[:, 0] for each in (a, b))
    met = np.flatnonzero((side_a <= _ON_LINE) != (side_b <= _ON_LINE))
    if not len(met):
        return None
    share = side_a[met] / (side_a[met] - side_b[met])
    place = a[met] @ along + share * ((b[met] - a[met]) @ along)
    return np.array([at + place.min() * along, at + place.max() * along])


def even_stations(total: float, step: float, keep: npt.ArrayLike = ()) -> Array:
    """Stations from 0 to total, no further apart than `step`, evenly spaced between kept ones.

    keep: stations (of corners) that must be among them.

    >>> even_stations(10.0, 4.0, keep=[3.0]).round(3).tolist()
    [0.0, 3.0, 6.5, 10.0]
    """
    inner = np.asarray(keep, np.float64).ravel()
    stops = np.unique(np.concatenate([[0.0], inner[(inner > 0.0) & (inner < total)], [total]]))
    runs = [
        np.linspace(start, stop, max(1, int(np.ceil((stop - start) / step - 1e-9))) + 1)[:-1]
        for start, stop in pairwise(stops)
    ]
    return np.concatenate([*runs, [total]])


def resample(points: Array, step: float, keep: npt.ArrayLike = ()) -> Array:
    """(M, 2) points on the polyline at `even_stations`; corners at the stations `keep` stay."""
    return point_at(points, even_stations(length(points), step, keep))


def segment_directions(points: Array) -> Array:
    """(N - 1, 2) unit vectors along the segments."""
    along = np.diff(points, axis=0)
    return np.asarray(along / np.hypot(*along.T)[:, None], np.float64)


def normals(points: Array) -> Array:
    """(N, 2) unit normals to the left of travel; at a vertex, square to the bisecting direction.

    Where the polyline turns right back on itself, the normal of the segment before.
    """
    along = segment_directions(points)
    before, after = along[np.r_[0, : len(along)]], along[np.r_[: len(along), -1]]
    mean = before + after
    size = np.hypot(*mean.T)
    mean = np.where((size > 1e-9)[:, None], mean, before)
    mean = mean / np.hypot(*mean.T)[:, None]
    return np.column_stack([-mean[:, 1], mean[:, 0]])


def normals_at(points: Array, station: Array) -> Array:
    """(M, 2) unit normals to the left at stations (M,): between vertices they turn evenly."""
    s, own = stations(points), normals(points)
    found = np.column_stack([np.interp(station, s, own[:, k]) for k in (0, 1)])
    return np.asarray(found / np.maximum(np.hypot(*found.T), 1e-12)[:, None])


def nearest(points: Array, polyline: Array) -> Feet:
    """The foot of each point (M, 2) on the polyline (N, 2), with the signed distance.

    Beside a vertex the side is judged by the bisecting direction there (Baerentzen and
    Aanaes, 2005, doi:10.1109/TVCG.2005.49, in the plane); beyond an end, by the end segment.
    """
    points = np.asarray(points, np.float64).reshape(-1, 2)
    s, vertex_normals = stations(polyline), normals(polyline)
    start, along = polyline[:-1], np.diff(polyline, axis=0)
    segment, fraction = _nearest_segment(points, polyline)
    foot = start[segment] + fraction[:, None] * along[segment]
    normal = np.column_stack([-along[segment, 1], along[segment, 0]])
    normal = np.where((fraction == 0.0)[:, None], vertex_normals[segment], normal)
    normal = np.where((fraction == 1.0)[:, None], vertex_normals[segment + 1], normal)
    side = np.where(((points - foot) * normal).sum(axis=1) < 0.0, -1.0, 1.0)
    station = s[segment] + fraction * (s[segment + 1] - s[segment])
    return Feet(station, foot, side * np.hypot(*(points - foot).T))


class _Blocks(NamedTuple):
    """Segments of a polyline, S at a time; a last block that isn't full repeats its last one.

    first: (B,) number of each block's first segment. start, along: (2, B, S) where each segment
    begins, and to where from there. square: (B, S) its squared length. known: (B, 2) a corner in
    the middle. centre, radius: (B, 2), (B,) of a circle round the whole block.
    """

    first: npt.NDArray[np.int64]
    start: Array
    along: Array
    square: Array
    known: Array
    centre: Array
    radius: Array


def _in_blocks(polyline: Array) -> _Blocks:
    last = len(polyline) - 1
    count = min(_BLOCK, last)
    first = np.arange(0, last, count)
    corners = polyline[np.minimum(first[:, None] + np.arange(count + 1), last)]
    centre = (corners.min(axis=1) + corners.max(axis=1)) / 2
    radius = np.hypot(*(corners - centre[:, None]).transpose(2, 0, 1)).max(axis=1) * (1.0 + 1e-12)
    segment = np.minimum(first[:, None] + np.arange(count), last - 1)
    start, along = polyline[:-1].T[:, segment], np.diff(polyline, axis=0).T[:, segment]
    square = (along**2).sum(axis=0)
    return _Blocks(first, start, along, square, corners[:, count // 2], centre, radius)


def _nearest_segment(points: Array, polyline: Array) -> tuple[npt.NDArray[np.int64], Array]:
    """Nearest segment (M,) of each point and how far along it (M,) the foot lies, 0 to 1.

    Of segments that are equally near the first. A block of segments whose enclosing circle lies
    further off than something known to be nearer is passed over, so that the cost grows with M,
    not with M times N.
    """
    blocks = _in_blocks(polyline)
    segment, fraction = np.zeros(len(points), np.int64), np.zeros(len(points))
    at_once = max(1, _PAIRS // len(blocks.first))
    for first in range(0, len(points), at_once):
        part = slice(first, first + at_once)
        segment[part], fraction[part] = _nearest_in(points[part], blocks)
    return segment, fraction


def _nearest_in(points: Array, blocks: _Blocks) -> tuple[npt.NDArray[np.int64], Array]:
    reach = np.sqrt(_squares(points, blocks.known).min(axis=1) * (1.0 + 1e-12) + 1e-18)
    # (K,) every point with every block that may hold its nearest segment, in order.
    row, block = np.nonzero(
        _squares(points, blocks.centre) <= (reach[:, None] + blocks.radius) ** 2
    )
    x, y = points[row].T[:, :, None] - blocks.start[:, block]
    dx, dy = blocks.along[:, block]
    share = np.clip((x * dx + y * dy) / blocks.square[block], 0.0, 1.0)
    gap = (x - share * dx) ** 2 + (y - share * dy) ** 2
    best = gap.argmin(axis=1)
    least, rows = gap[np.arange(len(row)), best], np.arange(len(points))
    lowest = np.minimum.reduceat(least, np.searchsorted(row, rows))
    winners = np.flatnonzero(least == lowest[row])
    winner = winners[np.searchsorted(row[winners], rows)]
    return blocks.first[block[winner]] + best[winner], share[winner, best[winner]]


def _squares(points: Array, others: Array) -> Array:
    """(M, K) squared distances of points (M, 2) from others (K, 2), mm^2."""
    (x, y), (a, b) = points.T, others.T
    return np.asarray((x[:, None] - a) ** 2 + (y[:, None] - b) ** 2)


def turning_back(station: Array, least: float) -> list[tuple[float, float, float]]:
    """Where a line goes back on itself: lowest and highest station, mm, and how far it goes back.

    station: (N,) mm, of a line's points in order. least: mm; what goes back by no more is left out.

    >>> turning_back(np.array([0.0, 10.0, 7.0, 20.0]), 0.5)
    [(7.0, 10.0, 3.0)]
    """
    back = np.maximum.accumulate(station) - station
    over = np.concatenate([[False], back > 0.0, [False]])
    bounds = np.flatnonzero(np.diff(over.astype(int))).tolist()
    found = []
    for first, last in zip(bounds[::2], bounds[1::2], strict=True):
        if (most := float(back[first:last].max())) > least:
            found.append((float(station[first:last].min()), float(station[first - 1]), most))
    return found
