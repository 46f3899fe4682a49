"""Ways among the dark points of a grid: those that are lines, and what continues one.

In: points on a board that are darker than both their sides, with a weight each, as
`scribe.capture.lines.find` has them. Out: the order in which they follow each other.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.chain import clusters, longest_path
from scribe.capture.edges.grid import Grid
from scribe.capture.edges.scan import distance_to

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.int64]

REACH = 10.0  # mm: the widest gap of a line that is bridged
FEWEST = 5  # points of a way
_MISSED = 4  # groups in a row that are no lines: then there are no more
_EDGE = 0.2  # change of the logarithm of light across: more is an edge and no line
_BOTH_SIDES = (2.0, 5.0, 10.0)  # mm from the way, where that is judged,
_ROUND = (-1.2, -0.6, 0.0, 0.6, 1.2)  # and round there
# Two ways are one line that is faint in between: at most so far apart, mm, seen from as many
# points before their ends as they are mm apart, within these, and so much aside for every mm ahead,
# or round a bend.
_FAINT_REACH, _TOLD, _BEND = 60.0, (6, 30), 0.15
_CLOSE = 0.4  # mm aside that any two may be
_RADIUS, _ROUND_GAP = 12.0, 15.0  # mm: of the sharpest bend, and how much of it may be missing


def continued(way: Array, other: Array) -> Array | None:
    """Both ways as one where the other goes on where this one ends, faint in between; else None."""
    for one, two in (
        (way, other),
        (way[::-1], other),
        (way, other[::-1]),
        (way[::-1], other[::-1]),
    ):
        gap = two[0] - one[-1]
        far = float(np.hypot(*gap))
        told = int(np.clip(far, *_TOLD))
        ahead = one[-1] - one[-min(len(one), told)]
        after = two[min(len(two), told) - 1] - two[0]
        if far > _FAINT_REACH or min(ahead @ gap, after @ gap) <= 0.0:
            continue
        before, behind = (
            float(a[0] * gap[1] - a[1] * gap[0]) / np.hypot(*a) for a in (ahead, after)
        )
        aside, round_ = 0.5 * abs(before + behind), 0.5 * abs(before - behind)
        bend = max(_BEND * far, min(far, _ROUND_GAP) ** 2 / (2.0 * _RADIUS))
        if aside < _CLOSE + _BEND * far and round_ < _CLOSE + bend:
            return np.concatenate([one, two])
    return None


def heaviest(grid: Grid, points: Array, weight: Array) -> Index | None:
    """The longest path of the heaviest group that is a line and not the edge of something."""
    return next(lines(grid, points, weight, 0.0), None)


def lines(
    grid: Grid, points: Array, weight: Array, apart: float, edge: float = _EDGE
) -> Iterator[Index]:
    """One line after the other, the heaviest first; what lies within apart, mm, belongs to it."""
    groups, missed = clusters(points, weight, REACH), 0
    while groups and missed < _MISSED:
        group = groups.pop(0)
        path = group[longest_path(points[group], weight[group], REACH)]
        if len(path) < FEWEST or abs(_change_across(grid, points[path])) >= edge:
            missed += 1
            continue
        yield path
        missed = 0
        rest = group[distance_to(points[group], points[path]) > apart]
        groups += [rest[part] for part in clusters(points[rest], weight[rest], REACH)]
        groups.sort(key=lambda each: -float(weight[each].sum()))


def _change_across(grid: Grid, way: Array) -> float:
    """Mean change of the logarithm of light across a way, beside it or beyond a shadow.

    The middle of a side's looks counts: what is as thin as another line isn't the other side.
    """
    travel = np.gradient(way, axis=0)
    normal = travel[:, ::-1] * (-1.0, 1.0) / np.hypot(*travel.T)[:, None]

    def beside(far: float) -> Array:
        looks = [grid.at(way + (far + more) * normal) for more in _ROUND]
        return np.median(looks, axis=0)

    changes = [float(np.mean(beside(far) - beside(-far))) for far in _BOTH_SIDES]
    return max(changes, key=abs)
