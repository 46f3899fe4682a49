"""Lay a second line on a first one's end by their corner: ends that meet, and the turn there.

The turn is as both lie, or an angle taken in the corner with a bevel, or the diagonal between
two points a stated way from the corner (law of cosines). Errors as in `geom.laying`.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.geom.frames import turned_about
from scribe.geom.laying import Contacts, Laid
from scribe.geom.polyline import point_at, stations
from scribe.geom.propagation import standard_u

Array = npt.NDArray[np.float64]


def lay_by_corner(
    first: Array,
    second: Array,
    u: tuple[float, float],
    u_end: float,
    turn: float | None,
    u_turn: float,
    reach: tuple[float, float],
) -> Laid:
    """The second's first point on the first's last.

    u: mm, across, of these two points. u_end: mm, how well either end is the corner, along.
    turn: the angle in rad on the right of travel between both, and None for as they lie;
    u_turn: rad, of it. reach: mm of straight distance from the corner to the points between
    which the angle was taken, on the first and on the second.
    """
    corner, start = first[-1], second[0]
    s = stations(first)
    back = float(s[-1]) - at_distance(first[::-1], reach[0])
    ahead = at_distance(second, reach[1])
    arriving = corner - point_at(first, back)
    leaving = point_at(second, ahead) - start
    angle = 0.0
    if turn is not None:
        wanted = _heading(arriving) - (np.pi - turn)  # travelled with the building on the left
        angle = wanted - _heading(leaving)
    pose = turned_about(start, float(angle), corner - start)
    one, other = _across(arriving), _across(pose.turn(leaving))
    size_1, size_2 = np.hypot(*arriving), np.hypot(*leaving)
    on_first = np.zeros((3, 2, 2))
    on_second = np.zeros((3, 2, 2))
    on_first[:2, 0], on_second[:2, 0] = np.eye(2), -np.eye(2)
    if turn is not None:
        on_first[2] = np.array([one, -one]) / size_1
        on_second[2] = np.array([other, -other]) / size_2
    own = np.zeros((3, 3))
    last, begin = first[-1] - first[-2], pose.turn(second[1] - second[0])
    for direction, across_u in ((last, u[0]), (begin, u[1])):
        along = direction / np.hypot(*direction)
        square = np.array([-along[1], along[0]])
        own[:2, :2] += across_u**2 * np.outer(square, square) + u_end**2 * np.outer(along, along)
    own[2, 2] = u_turn**2
    return Laid(
        pose,
        corner,
        Contacts(np.array([s[-1], back]), on_first),
        Contacts(np.array([0.0, ahead]), on_second),
        own,
        np.zeros(0),
        np.zeros(0),
        u_end,
    )


def at_distance(line: Array, distance: float) -> float:
    """mm along a line to where it first lies that straight distance from its beginning.

    The line's own end where it doesn't reach so far.

    >>> at_distance(np.array([[0.0, 0.0], [3.0, 0.0], [3.0, 8.0]]), 5.0)
    7.0
    """
    s = stations(line)
    away = np.hypot(*(line - line[0]).T)
    beyond = np.flatnonzero(away >= distance)
    if not len(beyond):
        return float(s[-1])
    k = int(beyond[0])
    # Where the segment leaves the circle round the beginning: t t + 2 b t + c = 0.
    start, along = line[k - 1] - line[0], (line[k] - line[k - 1]) / (s[k] - s[k - 1])
    b, c = float(start @ along), float(start @ start) - distance**2
    return float(s[k - 1]) - b + float(np.sqrt(b * b - c))


def by_diagonal(one: float, other: float, diagonal: float, u: float) -> tuple[float, float]:
    """The angle in rad between two legs (mm) from a corner whose ends are `diagonal` apart.

    u: mm, of each of the three. Also its standard uncertainty. NaN where no triangle has them.

    >>> by_diagonal(300.0, 400.0, 500.0, 0.0)[0] == np.pi / 2
    True
    """
    sides = np.array([one, other, diagonal])
    angle = _cosine_law(sides)
    step = 1e-4
    by = np.array([
        (_cosine_law(sides + step * axis) - _cosine_law(sides - step * axis)) / (2 * step)
        for axis in np.eye(3)
    ])  # fmt: skip
    return angle, float(standard_u(by, u**2 * np.eye(3)))


def _cosine_law(sides: Array) -> float:
    a, b, c = sides
    cosine = (a**2 + b**2 - c**2) / (2.0 * a * b)
    return float(np.arccos(cosine)) if abs(cosine) < 1.0 else float("nan")


def _heading(vector: Array) -> float:
    return float(np.arctan2(vector[1], vector[0]))


def _across(vector: Array) -> Array:
    return np.asarray(np.array([-vector[1], vector[0]]) / np.hypot(*vector))
