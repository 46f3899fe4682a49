"""Lay a second line on where a first one ends: by what they share, or by their corner.

Both run the same way; the end of the first is where the second begins. What comes out is the
second's place and how that place follows from the errors of both lines: the rows that set it
are linear in their points (JCGM 100, 5.2.2), so whatever moves a contact moves the second line.

By overlap: distances of the second's points across the first (point to line: Chen and Medioni
1992), with what the fitter says of the overlap's length as a prior along it, robustly (Tukey).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.geom.frames import Rigid, turned_about
from scribe.geom.polyline import nearest, normals_at, point_at, stations

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.intp]

ABOUT = 0.25  # of a stated overlap: its standard uncertainty
_ALIKE_MM = 5.0  # errors of points nearer than this count as one (pins, blur, grain)
_FINALISTS = 3
_FEW = 40  # points of the second with which the search is made
_START_MM = 5.0  # between places along the line from which the search begins
_TUKEY = 4.685  # robust standard deviations (95 % efficiency)
_LOOSE_MM = 2.0  # what two lines may be apart before they are laid
_FLOOR_MM = 0.02  # two lines never agree better
_ROUNDS = 14


@dataclass(frozen=True)
class Contacts:
    """Places on a line and what a move of each does to the other line's place.

    station: (C,) mm along the line. effect: (3, C, 2): shift x, y in mm and turn in rad about
    the pivot for each mm that a contact moves along x and y, in the first line's frame.
    """

    station: Array
    effect: Array


@dataclass(frozen=True)
class Laid:
    """first_from_second, and where it comes from.

    pivot: (2,) mm, about which the turn counts. own: (3, 3) covariance of (shift x, shift y,
    turn) from what is independent of either line's common errors. station: (J,) along the
    first, apart: (J,) mm by which the second lies left of it there; empty for a corner.
    along_u: mm, standard uncertainty of the place along the first's direction, common errors
    aside.
    """

    first_from_second: Rigid
    pivot: Array
    on_first: Contacts
    on_second: Contacts
    own: Array
    station: Array
    apart: Array
    along_u: float

    def moves(self, points: Array) -> Array:
        """(N, 2, 3): how points of the laid second line move with (shift x, shift y, turn)."""
        away = points - self.pivot
        one, zero = np.ones(len(points)), np.zeros(len(points))
        return np.stack(
            [np.column_stack([one, zero, -away[:, 1]]), np.column_stack([zero, one, away[:, 0]])],
            axis=1,
        )


def lay_by_overlap(
    first: Array, second: Array, u: tuple[Array, Array], about: float, mark: Mark | None = None
) -> Laid | None:
    """The second (M, 2) laid on the end of the first (N, 2) by what both show.

    u: (N,) and (M,) mm, of each line's points, independent of their neighbours' from 5 mm on.
    about: mm, the overlap's length as stated; it is known to a quarter of itself (u). None where
    they share fewer than three points.
    """
    tail = max(stations(first)[-1] - 2.0 * about, 0.0)
    keep = stations(first) >= tail
    if keep.sum() < 3 or (stations(second) <= about).sum() < 3:
        return None
    end, before = first[keep], float(stations(first)[~keep].max(initial=0.0))
    before += float(np.hypot(*(end[0] - first[~keep][-1]))) if (~keep).any() else 0.0
    fit = _Fit(end, before, second, (u[0][keep], u[1]), about, mark)
    few = max(1, int(np.searchsorted(stations(second), about) / _FEW))
    quick = _Fit(end, before, second[::few], (u[0][keep], u[1][::few]), about, mark)
    tried = []
    for size in np.arange(0.5 * about, 1.5 * about + _START_MM, _START_MM):
        pose, cost = quick.refined(_by_chords(end, second, float(size)), rounds=6)
        tried.append((cost, float(size), pose))
    finest = [
        fit.refined(pose, rounds=_ROUNDS)
        for _, _, pose in sorted(tried, key=lambda each: each[:2])[:_FINALISTS]
    ]
    pose, cost = min(finest, key=lambda each: each[1])
    if not np.isfinite(cost):
        return None
    return fit.laid(pose)


@dataclass(frozen=True)
class Mark:
    """One and the same mark on both lines: mm along each, and its standard uncertainty."""

    first: float
    second: float
    u: float


class _Fit:
    """Rows (residual over u) of the second's points across the first, at a place of the second."""

    def __init__(
        self,
        end: Array,
        before: float,
        second: Array,
        u: tuple[Array, Array],
        about: float,
        mark: Mark | None,
    ) -> None:
        self.end, self.before, self.second, self.u, self.mark = end, before, second, u, mark
        self.s, self.t = stations(end), stations(second)
        self.about = about
        self.along = end[-1] - point_at(end, max(self.s[-1] - about, 0.0))
        self.along = self.along / np.hypot(*self.along)
        self.gap = float(np.median(np.diff(self.t)))

    def rows(self, pose: Rigid) -> tuple[Index, Array, Array, Array, Array]:
        """Which points of the second, their feet's stations, normals, distances and u."""
        placed = pose.apply(self.second[self.t <= 2.0 * self.about])
        feet = nearest(placed, self.end)
        inside = np.flatnonzero((feet.station > 0.0) & (feet.station < self.s[-1]))
        foot = feet.station[inside]
        normal = normals_at(self.end, foot)
        apart = ((placed[inside] - feet.point[inside]) * normal).sum(axis=1)
        u = np.hypot(np.interp(foot, self.s, self.u[0]), self.u[1][inside])
        return inside, foot, normal, apart, np.maximum(u, _FLOOR_MM)

    def lengthwise(self, pose: Rigid, begin: float) -> tuple[Array, float, float]:
        """The row along the line: its direction, by how much it is missed, and its u.

        begin: mm along the first's end to where the second begins.
        """
        if self.mark is None:
            return self.along, self.about - float(self.s[-1] - begin), ABOUT * self.about
        there = point_at(self.end, self.mark.first - self.before)
        miss = pose.apply(point_at(self.second, self.mark.second)) - there
        return self.along, float(miss @ self.along), self.mark.u

    def refined(self, pose: Rigid, *, rounds: int) -> tuple[Rigid, float]:
        """Gauss-Newton with feet found anew each round.

        cost: robust mean of what is left across, and what is left along: a stretch that matches
        far from where it was stated is not what was meant.
        """
        cost = np.inf
        for number in range(rounds):
            inside, foot, normal, apart, u = self.rows(pose)
            if len(inside) < 3:
                return pose, np.inf
            middle = pose.apply(self.second[inside]).mean(axis=0)
            by, left, trust = self.system(
                pose, middle, (inside, foot, normal, apart, u), 0.5**number
            )
            step = np.asarray(
                np.linalg.lstsq(by * trust[:, None], -left * trust, rcond=None)[0], np.float64
            )
            pose = turned_about(middle, step[2], step[:2]) @ pose
            cost = float(np.minimum(left[:-1] ** 2, _TUKEY**2).mean() + left[-1] ** 2 / 4.0)
            if np.abs(step).max() < 1e-6:
                break
        return pose, cost

    def system(
        self,
        pose: Rigid,
        middle: Array,
        rows: tuple[Index, Array, Array, Array, Array],
        loose: float = 0.0,
    ) -> tuple[Array, Array, Array]:
        """Rows over u: (J + 1, 3) derivatives, (J + 1,) what is left, (J + 1,) robust trust."""
        inside, foot, normal, apart, u = rows
        arm = pose.apply(self.second[inside]) - middle
        by = np.column_stack([normal, normal[:, 1] * arm[:, 0] - normal[:, 0] * arm[:, 1]])
        towards, miss, u_miss = self.lengthwise(pose, float(foot.min()))
        # Neighbours say the same thing twice: as many rows, each with less say.
        u = u * np.sqrt(max(1.0, _ALIKE_MM / self.gap))
        spread = max(1.0, 1.4826 * float(np.median(np.abs(apart / u))))
        # First a corner that is millimetres off must pull as well.
        spread = max(spread, loose * _LOOSE_MM / float(np.median(u)))
        trust = np.clip(1.0 - (apart / u / (_TUKEY * spread)) ** 2, 0.0, None)
        turn = 0.0 if self.mark is None else self._mark_turn(pose, middle, towards)
        row = np.append(towards, turn) / u_miss
        return (
            np.vstack([by / u[:, None], row]),
            np.append(apart / u, miss / u_miss),
            np.append(trust, 1.0),
        )

    def _mark_turn(self, pose: Rigid, middle: Array, towards: Array) -> float:
        assert self.mark is not None
        arm = pose.apply(point_at(self.second, self.mark.second)) - middle
        return float(towards[1] * arm[0] - towards[0] * arm[1])

    def laid(self, pose: Rigid) -> Laid:
        """The place, with what each contact does to it."""
        inside, foot, normal, apart, u = self.rows(pose)
        middle = pose.apply(self.second[inside]).mean(axis=0)
        by, _, trust = self.system(pose, middle, (inside, foot, normal, apart, u))
        weighed = by * trust[:, None]
        own = np.linalg.inv(weighed.T @ weighed)
        # What a mm of each row does to the place; rows are distances of second from first.
        gain = -(own @ weighed.T) * trust
        factor = np.sqrt(max(1.0, _ALIKE_MM / self.gap))
        effect = gain[:, :-1, None] * (normal / (u * factor)[:, None])
        on_first, on_second = -effect, effect
        s, t = foot + self.before, self.t[inside]
        if self.mark is not None:
            towards, _, u_miss = self.lengthwise(pose, float(foot.min()))
            last = gain[:, -1:, None] * towards / u_miss
            on_first = np.concatenate([on_first, -last], axis=1)
            on_second = np.concatenate([on_second, last], axis=1)
            s, t = np.append(s, self.mark.first), np.append(t, self.mark.second)
        return Laid(
            pose,
            middle,
            Contacts(s, on_first),
            Contacts(t, on_second),
            gain @ gain.T,
            foot + self.before,
            apart,
            float(np.sqrt(self.along @ own[:2, :2] @ self.along)),
        )


def _by_chords(end: Array, second: Array, length: float) -> Rigid:
    """The second's first stretch of that length on the first's last."""
    s, t = stations(end), stations(second)
    a, b = point_at(end, max(s[-1] - length, 0.0)), end[-1]
    c, d = second[0], point_at(second, min(length, t[-1]))
    own, other = d - c, b - a
    angle = float(np.arctan2(other[1], other[0]) - np.arctan2(own[1], own[0]))
    return turned_about((c + d) / 2.0, angle, (a + b - c - d) / 2.0)
