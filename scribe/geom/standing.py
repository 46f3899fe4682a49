"""Standing a box up: how high it reaches while it is tipped, and where that is tight.

A box that lies on the floor is tipped about one of its bottom edges until it stands. In the
plane square to that edge it is a rectangle of `height` (lying along the floor) and `foot` (its
depth or its width). With the edge at t = 0, lying towards t > 0, its far corner runs along a
circle of radius r = sqrt(height^2 + foot^2) from (height, foot) to (-foot, height), and nothing
of the box ever reaches beyond it:

    head(t) = sqrt(r^2 - t^2)   for -foot <= t <= height

(turned about a corner, every point keeps its distance; the far corner's is the largest). Under a
ceiling that is straight between corners, ceiling - head is convex on every stretch, so its least
value stands at an end of the stretch or where the circle runs parallel to the ceiling.

Units mm, y up. Ceilings are polylines (N, 2) in order of rising x.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

_PLACES = 81  # places tried along an opening, then ever finer round the best
_ROUNDS = 20


class Tipping(NamedTuple):
    """The best place to tip a box up.

    spare: mm under the ceiling where it is tightest, negative when it doesn't go.
    at: x of that place. edge: x of the edge it turns about. lies: +1 when it lies towards
    greater x before, -1 towards smaller.
    """

    spare: float
    at: float
    edge: float
    lies: int


def tilt_diagonal(height: float, foot: float) -> float:
    """mm of level ceiling that tipping up a box of that height and foot needs.

    >>> tilt_diagonal(2000.0, 580.0).__round__(1)
    2082.4
    """
    return float(np.hypot(height, foot))


def tallest_to_tip(ceiling: Array | float, foot: Array | float) -> Array:
    """The greatest height that can be tipped up under a level ceiling: sqrt(c^2 - foot^2).

    0 where the foot alone is longer than the ceiling is high.

    >>> float(tallest_to_tip(2600.0, 1000.0))
    2400.0
    """
    square = np.asarray(ceiling, np.float64) ** 2 - np.asarray(foot, np.float64) ** 2
    return np.asarray(np.sqrt(np.maximum(square, 0.0)))


def spare_over_sweep(
    ceiling: Array, floor: float, edge: float, lies: int, height: float, foot: float
) -> tuple[float, float]:
    """Least mm between a ceiling and a box tipped about `edge`, and the x where it is.

    ceiling: (N, 2), reaching over the whole swept path. floor: the y that it stands on.

    >>> level = np.array([[0.0, 2600.0], [6000.0, 2600.0]])
    >>> spare_over_sweep(level, 0.0, 1500.0, 1, 2400.0, 1000.0)
    (0.0, 1500.0)
    """
    radius = float(np.hypot(height, foot))
    low, high = sorted((edge - lies * foot, edge + lies * height))
    inner = ceiling[(ceiling[:, 0] > low) & (ceiling[:, 0] < high), 0]
    x = np.concatenate([[low], inner, [high]])
    y = np.interp(x, *ceiling.T)
    slope = np.diff(y) / np.diff(x)
    touching = edge - radius * slope / np.sqrt(1.0 + slope**2)  # the circle is parallel there
    x = np.concatenate([x, np.clip(touching, x[:-1], x[1:])])
    head = floor + np.sqrt(np.maximum(radius**2 - (x - edge) ** 2, 0.0))
    spare = np.interp(x, *ceiling.T) - head
    worst = int(np.argmin(spare))
    return float(spare[worst]), float(x[worst])


def best_tipping(
    ceiling: Array, floor: float, height: float, foot: float, span: tuple[float, float]
) -> Tipping | None:
    """Where between the walls at span = (left, right) a box is tipped up along x with most spare.

    None when it doesn't lie down between them: height + foot is longer than the span.
    """
    found: list[Tipping] = []
    for lies in (1, -1):
        first = span[0] + (foot if lies > 0 else height)
        last = span[1] - (height if lies > 0 else foot)
        if last < first:
            continue
        step, best = (last - first) / (_PLACES - 1), first
        places = np.linspace(first, last, _PLACES)
        for _ in range(_ROUNDS):
            spares = [
                spare_over_sweep(ceiling, floor, float(edge), lies, height, foot)[0]
                for edge in places
            ]
            best = float(places[int(np.argmax(spares))])
            places = np.clip(best + step * np.linspace(-1.0, 1.0, 5), first, last)
            step /= 2.0
        spare, at = spare_over_sweep(ceiling, floor, best, lies, height, foot)
        found.append(Tipping(spare, at, best, lies))
    return max(found, key=lambda each: each.spare, default=None)


def highest_stretch(ceiling: Array, width: float, span: tuple[float, float]) -> tuple[float, float]:
    """The left end of the stretch of that width within span whose lowest ceiling is highest.

    Returns the x of its left end and the y of its lowest ceiling. The lowest ceiling over a
    stretch changes straight between places where an end of it passes a corner, or where both
    ends are as low.

    >>> slope = np.array([[0.0, 2400.0], [1000.0, 2400.0], [2000.0, 1400.0]])
    >>> highest_stretch(slope, 600.0, (0.0, 2000.0))
    (0.0, 2400.0)
    """
    first, last = span[0], max(span[1] - width, span[0])
    corners = ceiling[:, 0]
    places = np.unique(np.clip(np.concatenate([corners, corners - width, span]), first, last))
    places = np.unique(np.concatenate([places, *_level_ends(ceiling, width, places)]))
    lowest = np.array([lowest_over(ceiling, float(x), float(x) + width)[0] for x in places])
    best = int(np.argmax(lowest))
    return float(places[best]), float(lowest[best])


def lowest_over(ceiling: Array, x0: float, x1: float) -> tuple[float, float]:
    """The lowest y of a polyline between two x, and the x where it is."""
    inner = ceiling[(ceiling[:, 0] > x0) & (ceiling[:, 0] < x1), 0]
    x = np.concatenate([[x0], inner, [x1]])
    y = np.interp(x, *ceiling.T)
    worst = int(np.argmin(y))
    return float(y[worst]), float(x[worst])


def _level_ends(ceiling: Array, width: float, places: Array) -> list[Array]:
    """Places between neighbours of `places` at which both ends of the stretch are as low."""
    difference = np.interp(places, *ceiling.T) - np.interp(places + width, *ceiling.T)
    found = []
    for a, b, left, right in zip(
        difference[:-1], difference[1:], places[:-1], places[1:], strict=True
    ):
        if a * b < 0.0:  # straight in between, so that one step of the false position is exact
            found.append(np.array([left + (right - left) * a / (a - b)]))
    return found
