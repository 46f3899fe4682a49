"""Which line is meant, where a board carries several and nobody said which?

In: the rough way of the heaviest line on a board, and its dark points. Out: the way of its only
line, or a refusal. Beside a scribed line there may be the straight datum it is measured from, an
attempt that was given up, words, a mark. Which of two is heavier says nothing: a datum is ruled
firmly, and a scribed line may be a faint one. So every line counts that is not much shorter than
the longest; but neither grain nor words, along which scan lines don't show the same bar.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.grain import is_no_streak
from scribe.capture.edges.grid import Grid
from scribe.capture.edges.line_follow import depth_of, roughly
from scribe.capture.edges.line_ways import continued, lines
from scribe.capture.edges.scan import Stations, along, distance_to, stations
from scribe.capture.edges.wish import ambiguous
from scribe.capture.view import View

Array = npt.NDArray[np.float64]

_HEAVY = 0.5  # part of the heaviest one's weight that what continues it must have
_LONG = 0.4  # part of the longest one's length from which another counts
_APART = 2.0  # mm: what is nearer to the way belongs to it
_TRIED = 6  # ways that are looked at
_STEP, _SMOOTH = 1.0, 1.0  # mm between scan lines, and over which they are squared up
# A sheet that was carried in a pocket shows its folds, on paper that is lighter than the board by
# this and more, where they take less than this part of the light that the line takes.
_PAPER, _FOLD = 1.3, 0.7
# Logarithm of light by which both sides of a thing's border differ, so many mm from it.
_BORDER, _BORDER_MM = 0.08, (1.5, 3.0)
_DRAWN = 0.6  # part of its scan lines that show a drawn line


def only_line(
    view: View, grid: Grid, way: Array, weight: float, dark: tuple[Array, Array]
) -> Array:
    """(N, 2) mm of the one line that is drawn. way: of the heaviest one, and its weight.

    dark: (M, 2) mm and (M,) all points that may belong to lines. Refuses with outline-ambiguous.
    """
    others = []
    points, weights = dark
    beside = distance_to(points, way) > _APART
    points, weights = points[beside], weights[beside]
    for path in islice(lines(grid, points, weights, _APART), _TRIED):
        other, weighs = points[path], float(weights[path].sum())
        longer = continued(way, other) if weighs > _HEAVY * weight else None
        if longer is None:
            others.append(other)
        else:
            way, weight = longer, max(weight, weighs)
    ways = [*_as_long(others, way), way]
    drawn: list[tuple[Array, _Bar]] = []
    for each in ways:
        if each is way and not drawn:
            return way
        if bar := _drawn(view, each, [one for one in ways if one is not each]):
            drawn.append((each, bar))
    longest, own = max(drawn, key=lambda each: _length(each[0]))
    for other, bar in drawn:
        if other is not longest and _as_long([other], longest) and not bar.is_fold(own):
            x, y = other.mean(axis=0)
            what = f"there are two lines, one of them round {x:.0f}, {y:.0f} mm"
            raise ambiguous(view.where, what)
    return longest


@dataclass(frozen=True)
class _Bar:
    """What a drawn line usually is: the light beside it, and the part of it that it takes away."""

    beside: float
    taken: float

    def is_fold(self, other: _Bar) -> bool:
        """Whether this is but a fold of the paper that lies below the board with the other line."""
        return self.beside > _PAPER * other.beside and self.taken < _FOLD * other.taken


def _as_long(others: Sequence[Array], way: Array) -> list[Array]:
    """Those that are not much shorter than a way."""
    return [each for each in others if _length(each) > _LONG * _length(way)]


def _length(way: Array) -> float:
    return float(along(way)[-1])


def _drawn(view: View, way: Array, others: Sequence[Array]) -> _Bar | None:
    """The line that is drawn along a way, as far as scan lines square to it tell; else None."""
    where = stations(way, _STEP, _SMOOTH)
    look = roughly(view, where, _STEP)
    if look.good.mean() < _DRAWN:
        return None
    good, fit = look.good, look.fit
    width = float(np.median(fit.width[good]))
    if not is_no_streak(view, where[good], fit.centre[good], width, others):
        return None
    if _is_border(view, where):
        return None
    beside = float(np.median(0.5 * (fit.left + fit.right)[good]))
    return _Bar(beside, float(np.median(depth_of(fit)[good])) / beside)


def _is_border(view: View, where: Stations) -> bool:
    """Whether one side of a way is lighter than the other, as beside a card's border and shadow."""
    sides = [
        [view.light(where.points + k * mm * where.normals) for k in (1, -1)] for mm in _BORDER_MM
    ]
    changes = [float(np.nanmedian(np.log(one / other))) for one, other in sides]
    return min(changes) > _BORDER or max(changes) < -_BORDER
