"""Will a trapped piece go into its place, and where is it tight.

A piece whose opposite edges both meet the building can't be pushed home past a wall that is
narrower in front. In its own plane two ways in are tried (`scribe.fit.entry.tilting` has the
third):

- slide: straight in, drifting sideways as far as the walls let it;
- swing: the same with the piece turned in its plane.

The piece is moved out of its place, not in: a way out is a way in. For a turn and a distance the
walls leave an interval in which it may lie sideways, of which a third wall behind
(`scribe.fit.entry.third_wall`) may leave a part; the widest way through all of them (greatest
least spare, Dijkstra) is searched for.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.fit.entry.third_wall import drifts, reaches
from scribe.geom.course import lowest_course
from scribe.passage import Way

Array = npt.NDArray[np.float64]

_STEP_MM = 2.0
_TURNS_DEG = (0.0, 0.05, 0.1, 0.2, 0.4, 0.8, 1.5, 2.5, 4.0, 6.0, 9.0, 13.0, 18.0, 25.0)


@dataclass(frozen=True)
class Found:
    """The best way of one kind. spare: mm between the walls at its tightest, negative when it
    doesn't go. left, right: mm along the piece from its front, where its two ends are then
    tightest. behind: a third wall holds it there.
    path: (P, 4) from home to free: pulled out by mm, the least and greatest drift that the walls
    leave, and turned by rad. tight: its row where it is tightest.
    """

    way: Way
    spare: float
    left: float
    right: float
    behind: bool
    path: Array
    tight: int

    @property
    def turn_deg(self) -> float:
        """How far it is turned where it is tightest."""
        return float(np.degrees(self.path[self.tight, 3]))


def border(ring: Array, y: Array) -> tuple[Array, Array]:
    """(M,) least and greatest x of a ring (N, 2) on each level y (M,); nan where it has none."""
    low, high = np.full(len(y), np.inf), np.full(len(y), -np.inf)
    start, stop = ring, np.roll(ring, -1, axis=0)
    for a, b in zip(start, stop, strict=True):
        over = slice(
            np.searchsorted(y, min(a[1], b[1]), "left"),
            np.searchsorted(y, max(a[1], b[1]), "right"),
        )
        rise = b[1] - a[1]
        ends = [a[0] + (y[over] - a[1]) / rise * (b[0] - a[0])] if rise else [a[0], b[0]]
        for x in ends:
            low[over], high[over] = np.minimum(low[over], x), np.maximum(high[over], x)
    return np.where(np.isfinite(low), low, np.nan), np.where(np.isfinite(high), high, np.nan)


def in_plane(
    keep: Array, left: Array, right: Array, *, turns: bool, behind: Array | None = None
) -> Found:
    """The widest way in, in the piece's plane.

    keep: (N, 2) the piece, x across between the walls, y the way in. left, right: (M, 2)
    fronts of the two walls in order of y, reaching beyond the piece at both ends. behind:
    (K, 2) that of a third wall, which the piece is pushed home to, reaching as far in x.
    """
    centre = keep.mean(axis=0)
    away, depth = keep - centre, float(np.ptp(keep[:, 1]))
    # Twice as many levels as steps: a shift by one step moves by whole levels.
    y = np.arange(keep[:, 1].min() - depth - _STEP_MM, keep[:, 1].max() + _STEP_MM, _STEP_MM / 2)
    west, east = wall_at(left, y, np.fmax), wall_at(right, y, np.fmin)
    shifts = int(np.ceil(depth / _STEP_MM)) + 1
    signed = [0.0, *(s * t for t in _TURNS_DEG[1:] for s in (1.0, -1.0))] if turns else [0.0]
    angles = sorted(signed)
    lows, highs = np.full((2, len(angles), shifts), [[[-np.inf]], [[np.inf]]])
    places, held = np.zeros((len(angles), shifts, 2)), np.zeros((len(angles), shifts), bool)
    course = None if behind is None else lowest_course(behind, *_ends(behind))
    for k, turn in enumerate(np.radians(angles)):
        cosine, sine = np.cos(turn), np.sin(turn)
        turned = away @ np.array([[cosine, sine], [-sine, cosine]]) + centre
        low, high = border(turned, y)
        for n in range(shifts):
            # Pulled out by n steps, level i of the piece lies at level i - 2 n of the room.
            lo = west[: len(y) - 2 * n] - low[2 * n :]
            hi = east[: len(y) - 2 * n] - high[2 * n :]
            if np.isfinite(lo).any():
                lows[k, n], highs[k, n] = np.nanmax(lo), np.nanmin(hi)
                worst = [int(np.nanargmax(lo)), int(np.nanargmin(hi))]
                places[k, n] = y[2 * n :][worst] - keep[:, 1].min()
        if course is not None:
            reach = reaches(turned, course)
            for n in range(shifts):
                least, most = drifts(reach, n * _STEP_MM, lows[k, n], highs[k, n])
                held[k, n] = least > lows[k, n] or most < highs[k, n]
                lows[k, n], highs[k, n] = max(least, lows[k, n]), min(most, highs[k, n])
    home = int(np.flatnonzero(np.array(angles) == 0.0)[0])
    spare, (k, n), way = _widest(lows, highs, home)
    at = float(places[k, n, 0]), float(places[k, n, 1])
    turns_rad = np.radians(angles)
    path = np.array([[j * _STEP_MM, lows[i, j], highs[i, j], turns_rad[i]] for i, j in way])
    tight = way.index((k, n))
    before = way[max(tight - 1, 0)]  # it is tight from there to here
    behind_it = bool(held[k, n] or held[before]) or spare == -np.inf
    return Found("swing" if turns else "slide", spare, *at, behind_it, path, tight)


def _ends(line: Array) -> tuple[float, float]:
    return float(line[:, 0].min()), float(line[:, 0].max())


def wall_at(points: Array, y: Array, pick: np.ufunc) -> Array:
    """(M,) how far a wall (N, 2) reaches in at each level; nan where it has none.

    pick: of what lies on one level, np.fmax or np.fmin.
    """
    a, b = points[:-1], points[1:]
    first = np.searchsorted(y, np.minimum(a[:, 1], b[:, 1]), "left")
    count = np.searchsorted(y, np.maximum(a[:, 1], b[:, 1]), "right") - first
    # (P,) every segment with every level that it crosses; one along a level has both its ends.
    segment = np.repeat(np.arange(len(a)), count)
    level = first[segment] + np.arange(len(segment)) - np.repeat(np.cumsum(count) - count, count)
    (ax, ay), (bx, by) = a[segment].T, b[segment].T
    along = by == ay
    share = (y[level] - ay) / np.where(along, 1.0, by - ay)
    out = np.full(len(y), np.nan)
    pick.at(out, level, ax + share * (bx - ax))
    pick.at(out, level[along], bx[along])
    return out


def _widest(
    low: Array, high: Array, home: int
) -> tuple[float, tuple[int, int], list[tuple[int, int]]]:
    """The least spare on the widest way from home, pulled out by nothing, to free; the cell that
    has it; and all cells on the way.
    """
    spare = high - low
    best = np.full(low.shape, -np.inf)
    tight = np.zeros((*low.shape, 2), np.int64)
    best[home, 0], tight[home, 0] = np.inf, (home, 0)
    before: dict[tuple[int, int], tuple[int, int]] = {}
    queue = [(-np.inf, home, 0)]
    last = low.shape[1] - 1
    while queue:
        width, k, n = heapq.heappop(queue)
        if -width < best[k, n]:
            continue
        if n == last:
            way = [(k, n)]
            while way[-1] in before:
                way.append(before[way[-1]])
            return float(best[k, n]), (int(tight[k, n][0]), int(tight[k, n][1])), way[::-1]
        for i, j in ((k - 1, n), (k + 1, n), (k, n + 1), (k, n - 1)):
            if not (0 <= i < low.shape[0] and 0 <= j <= last):
                continue
            # Between two cells the piece stays in both of their intervals.
            common = min(high[i, j], high[k, n]) - max(low[i, j], low[k, n])
            passes = min(spare[i, j], common)
            through = min(best[k, n], passes)
            if through > best[i, j]:
                best[i, j] = through
                tight[i, j] = (i, j) if passes < best[k, n] else tight[k, n]
                before[i, j] = k, n
                heapq.heappush(queue, (-through, i, j))
    return -np.inf, (home, 0), [(home, 0)]  # a wall behind lets nothing out
