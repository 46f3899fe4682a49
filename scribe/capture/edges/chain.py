"""Order loose points into the one path they lie on.

In: points of a plane (mm) with a weight each, in no order, with strays and holes. Out: the
indices along the path. Points within reach of each other are joined; a join costs the
square of its length, so that the cheapest way goes through many near points and jumps only
where there are none (shortest path after E. W. Dijkstra, 1959). Memory grows with the number
of joins.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.int64]

_TOUCHING = 2.0  # mm: joined without a gap
_SPECK = 2.2  # mm: a group that reaches less far is a speck
_USUAL = 60  # the heaviest points tell the usual weight
_TOO_FAINT = 0.2  # part of it that doesn't pay
_FREE_HOP = 1.5  # mm between neighbours on a path without a jump
_RUN_UP = 5  # points before a jump that tell where the path was going,
_AHEAD = 0.87  # and the cosine up to which it still goes there: then a jump counts only
_CHEAP = 0.4  # so much
_HOLE = 2.5  # mm: a jump as long as this parts the path into runs
_LEAST_RUN = 3.0  # mm: a shorter run at an end is a stray
_NO_JOIN = (np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0))


def thinned(points: Array, weight: Array, cell: float) -> tuple[Array, Array]:
    """One point to each square cell (mm): the weighted mean, and the sum of the weights."""
    if not len(points):
        return points, weight
    place = np.floor((points - points.min(axis=0)) / cell).astype(np.int64)
    _, which = np.unique(place[:, 0] * (place[:, 1].max() + 1) + place[:, 1], return_inverse=True)
    total: Array = np.bincount(which, weight).astype(float)
    mean = [np.bincount(which, weight * points[:, axis]) / total for axis in (0, 1)]
    return np.stack(mean, axis=1), total


def clusters(points: Array, weight: Array, reach: float) -> list[Index]:
    """The groups that hang together by joins within reach, the heaviest first."""
    joins = _joins(points, reach)
    left = np.ones(len(points), bool)
    found = []
    for start in range(len(points)):
        if not left[start]:
            continue
        left[start] = False
        group, edge = [start], [start]
        while edge:
            near = joins.other[joins.of(edge.pop())]
            near = near[left[near]]
            left[near] = False
            edge += near.tolist()
            group += near.tolist()
        found.append(np.sort(np.array(group)))
    return sorted(found, key=lambda group: -float(weight[group].sum()))


def without_specks(points: Array, weight: Array) -> tuple[Array, Array]:
    """Only points of groups that reach further than a speck does."""
    kept = np.zeros(len(points), bool)
    for group in clusters(points, weight, _TOUCHING):
        kept[group] = np.ptp(points[group], axis=0).max() >= _SPECK
    return points[kept], weight[kept]


def longest_path(points: Array, weight: Array, reach: float) -> Index:
    """(K,) indices along the path that gathers most.

    A point brings its weight less a part of the usual one: where only faint points go on,
    the path ends. A jump costs what the points that are missing would have brought.
    """
    joins = _joins(points, reach)
    cost = _costs(joins, weight)
    usual = float(
        np.median(np.partition(weight, -_USUAL)[-_USUAL:] if len(weight) > _USUAL else weight)
    )
    gain = weight - _TOO_FAINT * usual
    start = int(np.argmax(weight))
    for _ in range(2):  # to the one end, and from there to the other
        away, before = _cheapest(joins, cost, start)
        start = _richest(away, before, gain - usual * _tolls(points, before))
    return _without_stray_ends(points, _walk(before, start))


def path_between(points: Array, weight: Array, reach: float, start: int, end: int) -> Index:
    """(K,) indices along the cheapest path; empty where the joins don't lead there."""
    joins = _joins(points, reach)
    away, before = _cheapest(joins, _costs(joins, weight), start)
    return _walk(before, end) if np.isfinite(away[end]) else np.zeros(0, np.int64)


class _Joins(NamedTuple):
    """Which points are joined: each one's joins lie together, those of the first point first.

    begin: (N + 1,) where each point's begin. one, other, length: (J,) both ends, and mm.
    """

    begin: list[int]
    one: Index
    other: Index
    length: Array

    def of(self, point: int) -> slice:
        """Where the joins of a point lie."""
        return slice(self.begin[point], self.begin[point + 1])


def _joins(points: Array, reach: float) -> _Joins:
    """The joins within reach, looked for among those whose x is near enough."""
    order = np.argsort(points[:, 0], kind="stable")
    x, y = points[order].T
    found = []
    for ahead in range(1, len(points)):
        here = np.flatnonzero(x[ahead:] - x[:-ahead] <= reach)
        if not len(here):
            break
        length = np.hypot(x[here + ahead] - x[here], y[here + ahead] - y[here])
        near = length <= reach
        found.append((order[here[near]], order[here[near] + ahead], length[near]))
    one, other, length = (np.concatenate(part) for part in zip(_NO_JOIN, *found, strict=True))
    one, other = np.concatenate([one, other]), np.concatenate([other, one])
    by = np.lexsort((other, one))
    begin = np.searchsorted(one[by], np.arange(len(points) + 1)).tolist()
    return _Joins(begin, one[by], other[by], np.tile(length, 2)[by])


def _costs(joins: _Joins, weight: Array) -> Array:
    """(J,) cost of each join: a weak point costs more, up to four times."""
    strong = np.clip(weight / np.median(weight), 0.25, 1.0)
    return np.asarray(joins.length**2 / np.sqrt(strong[joins.one] * strong[joins.other]))


def _cheapest(joins: _Joins, cost: Array, start: int) -> tuple[Array, Index]:
    """Cost from start to every point, and each point's predecessor."""
    away = np.full(len(joins.begin) - 1, np.inf)
    waiting = away.copy()
    before = np.full(len(away), -1, np.int64)
    away[start] = waiting[start] = 0.0
    while True:
        here = int(np.argmin(waiting))
        if not np.isfinite(waiting[here]):
            return away, before
        waiting[here] = np.inf
        part = joins.of(here)
        through = away[here] + cost[part]
        better = through < away[joins.other[part]]
        nearer = joins.other[part][better]
        away[nearer] = waiting[nearer] = through[better]
        before[nearer] = here


def _tolls(points: Array, before: Index) -> Array:
    """(N,) mm that each point's jump from its predecessor counts: less when straight ahead."""
    hop = points - points[before]
    length = np.hypot(*hop.T) * (before >= 0)
    toll = np.clip(length - _FREE_HOP, 0.0, None)
    for here in np.flatnonzero(length > _HOLE):
        start = back = int(before[here])
        for _ in range(_RUN_UP):
            start = int(before[start]) if before[start] >= 0 else start
        run_up = points[back] - points[start]
        straight = hop[here] @ run_up > _AHEAD * length[here] * np.hypot(*run_up)
        toll[here] *= _CHEAP if straight else 1.0
    return np.asarray(toll)


def _richest(away: Array, before: Index, gain: Array) -> int:
    """The end of the cheapest path that gathers most."""
    total = np.full(len(away), -np.inf)
    for here in np.argsort(away)[: int(np.isfinite(away).sum())]:
        back = before[here]
        total[here] = gain[here] + (total[back] if back >= 0 else 0.0)
    return int(np.argmax(total))


def _walk(before: Index, end: int) -> Index:
    path = [end]
    while before[path[-1]] >= 0:
        path.append(int(before[path[-1]]))
    return np.array(path[::-1])


def _without_stray_ends(points: Array, path: Index) -> Index:
    """Drop short runs at either end that only a jump connects."""
    while len(path) > 1:
        hops = np.hypot(*np.diff(points[path], axis=0).T)
        holes = np.flatnonzero(hops > _HOLE)
        if len(holes) and hops[: holes[0]].sum() < _LEAST_RUN:
            path = path[holes[0] + 1 :]
        elif len(holes) and hops[holes[-1] + 1 :].sum() < _LEAST_RUN:
            path = path[: holes[-1] + 1]
        else:
            break
    return path
