"""Which line is meant, where a board carries several and nobody said which?

In: the rough way of the heaviest line on a board, and its dark points. Out: the way of its only
line, or a refusal. Beside a scribed line there may be the straight datum it is measured from, an
attempt that was given up, words, a mark. Which of two is heavier says nothing: a datum is ruled
firmly, and a scribed line may be a faint one. So every line counts that is not much shorter than
the longest, or forks from it; but neither grain nor words, along which scan lines don't show the
same bar.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.grid import Grid
from scribe.capture.edges.scan import Stations, along, distance_to, stations
from scribe.capture.edges.wish import ambiguous
from scribe.capture.lines.grain import clear_of_grain
from scribe.capture.lines.look import depth_of, roughly
from scribe.capture.lines.ways import continued, lines
from scribe.capture.view import View, inside

Array = npt.NDArray[np.float64]

_HEAVY = 0.5  # part of the heaviest one's weight that what continues it must have
_LONG = 0.4  # part of the longest one's length from which another counts
# A shorter one counts where the way might have gone on along it: it begins so near to the way, mm,
# in much the same direction (cosine; points that tell it), is so long, mm, and weighs at least such
# a part of what as much of the way does.
_FORK_NEAR, _ALIKE, _TOLD, _FORK, _FORK_HEAVY = 6.0, 0.8, 6, 10.0, 0.5
_FORK_CLEAR = 0.7  # of grain that a fork must be: the line it forks from is clear of it
_APART = 2.0  # mm: what is nearer to the way belongs to it
_TRIED = 6  # ways that are looked at
_STEP, _SMOOTH = 1.0, 1.0  # mm between scan lines, and over which they are squared up
# A sheet that was carried in a pocket shows its folds, on paper that is lighter than the board by
# this and more, where they take less than this part of the light that the line takes.
_PAPER, _FOLD = 1.3, 0.7
# Logarithm of light by which both sides of a thing's border differ, so many mm from it.
_BORDER, _BORDER_MM = 0.08, (1.5, 3.0)
_RIM_MM = 5.0  # from a thing's border to the marks
_DRAWN = 0.6  # part of its scan lines that show a drawn line


def only_line(
    view: View, grid: Grid, way: Array, weight: float, dark: tuple[Array, Array]
) -> Array:
    """(N, 2) mm of the one line that is drawn. way: of the heaviest one, and its weight.

    dark: (M, 2) mm and (M,) all points that may belong to lines. Refuses with outline-ambiguous.
    """
    others = []
    usual = weight / _length(way)
    points, weights = dark
    beside = distance_to(points, way) > _APART
    points, weights = points[beside], weights[beside]
    for path in islice(lines(grid, points, weights, _APART), _TRIED):
        other, weighs = points[path], float(weights[path].sum())
        longer = continued(way, other) if weighs > _HEAVY * weight else None
        if longer is not None:
            way, weight = longer, max(weight, weighs)
        elif weighs > _FORK_HEAVY * usual * _length(other) or _is_long(other, way):
            others.append(other)
    others = [each for each in others if _counts(each, way)]
    drawn = _drawn(view, [*others, way])
    if not drawn:
        return way
    longest, own = max(drawn, key=lambda each: _length(each[0]))
    for other, bar in drawn:
        if other is not longest and _counts(other, longest) and not bar.is_fold(own):
            x, y = other.mean(axis=0)
            what = f"there are two lines, one of them round {x:.0f}, {y:.0f} mm"
            raise ambiguous(view.where, what)
    return longest


def _drawn(view: View, ways: Sequence[Array]) -> list[tuple[Array, _Bar]]:
    """Those of the ways along which a line is drawn; without the last one where it has no rivals.

    A fork of the last one is nearly as clear of the grain as it is.
    """
    *others, way = ways
    bars = [(each, bar) for each in others if (bar := _bar(view, each, ways))]
    found = [
        (each, bar) for each, bar in bars if bar.clear > (_FORK_CLEAR if _forks(each, way) else 1.0)
    ]
    own = _bar(view, way, ways) if found else None
    return [*found, (way, own)] if own and own.clear > 1.0 else found


@dataclass(frozen=True)
class _Bar:
    """What a dark line usually is: the light beside it, and the part of it that it takes away.

    clear: of the grain, from 1 on it is none.
    """

    beside: float
    taken: float
    clear: float

    def is_fold(self, other: _Bar) -> bool:
        """Whether this is but a fold of the paper that lies below the board with the other line."""
        return self.beside > _PAPER * other.beside and self.taken < _FOLD * other.taken


def _counts(other: Array, way: Array) -> bool:
    """Whether a line may be what is meant: not much shorter than the way, or a fork of it."""
    return _is_long(other, way) or _forks(other, way)


def _is_long(other: Array, way: Array) -> bool:
    return _length(other) > _LONG * _length(way)


def _forks(other: Array, way: Array) -> bool:
    """Whether a line leaves the way by and by, or goes on where the way leaves it."""
    if _length(other) < _FORK:
        return False
    for line in (other, other[::-1]):
        away = np.hypot(*(way - line[0]).T)
        k = int(away.argmin())
        if away[k] > _FORK_NEAR:
            continue
        leaves = line[min(_TOLD, len(line) - 1)] - line[0]
        for j in (max(k - _TOLD, 0), min(k + _TOLD, len(way) - 1)):
            goes = way[j] - way[k]
            if abs(leaves @ goes) > _ALIKE * np.hypot(*leaves) * np.hypot(*goes):
                return True
    return False


def _length(way: Array) -> float:
    return float(along(way)[-1])


def _bar(view: View, way: Array, ways: Sequence[Array]) -> _Bar | None:
    """The dark line along a way, as far as scan lines square to it tell; None where they don't show
    the same bar.

    ways: all that may be lines.
    """
    where = stations(way, _STEP, _SMOOTH)
    look = roughly(view, where, _STEP)
    if look.good.mean() < _DRAWN or _is_border(view, where):
        return None
    good, fit = look.good, look.fit
    beside = float(np.median(0.5 * (fit.left + fit.right)[good]))
    taken = float(np.median(depth_of(fit)[good])) / beside
    width = float(np.median(fit.width[good]))
    others = [each for each in ways if each is not way]
    clear = clear_of_grain(view, where[good], fit.centre[good], width, others)
    return _Bar(beside, taken, clear)


def _is_border(view: View, where: Stations) -> bool:
    """Whether one side of a way is lighter than the other, as beside a card's border and shadow, or
    the marks are so near that it may be what is left between them and a board.
    """
    if any(np.mean(inside(side, view.window)) < 0.5 for side in _sides(where, _RIM_MM)):
        return True
    sides = [[view.light(side) for side in _sides(where, mm)] for mm in _BORDER_MM]
    changes = [float(np.nanmedian(np.log(one / other))) for one, other in sides]
    return min(changes) > _BORDER or max(changes) < -_BORDER


def _sides(where: Stations, mm: float) -> list[Array]:
    """(N, 2) mm so far to the left and to the right of stations."""
    return [where.points + side * where.normals for side in (mm, -mm)]
