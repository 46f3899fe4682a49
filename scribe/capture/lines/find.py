"""Find the rough way of a drawn line, to about half a millimetre.

In: the window on a grid, and what the user said. Out: points along the line, which only say where
to measure. Logarithms of light are compared, so that neither exposure nor a slow change of the
light across the sheet matters.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import islice

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.chain import clusters, longest_path, path_between, thinned, without_specks
from scribe.capture.edges.grid import Grid, read_grid
from scribe.capture.edges.scan import distance_to
from scribe.capture.edges.wish import Wish, forwards, no_line, refuse_outside
from scribe.capture.lines.rivals import only_line
from scribe.capture.lines.ways import FEWEST, REACH, continued, heaviest, lines
from scribe.capture.view import View

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.int64]

_STEP = 0.4  # mm between grid points
_BESIDE = 3  # grid points from a line to what it is compared with: 1.2 mm
_FAINTEST = 0.06  # logarithm of light: a fainter line is taken for grain
_CELL = 1.0  # mm between the points of the way
# Part of its depth that a line keeps in the mean of 3 x 3: a thin one a third, less grain.
_ITSELF = 0.05
_UNLIKE = 1.5  # how much a difference between both sides speaks against a line
_UNLIKE_NEAR = 0.5  # the same along a given course: there a line may follow the grain
_LINE_CELLS = 150  # grid points: the darkest 60 mm tell how dark the line is,
_GRAIN = 0.35  # and what is fainter than this part of it is grain,
_GRAIN_NEAR = 0.2  # or than this part along a given course
_FAINT = 0.15  # or, beside a line, than this part of it
_MOST = 1200  # points of the way: a line has less than half of these
_EDGE_NEAR = 0.5  # change of the logarithm of light across what continues a line near a course
_PARTS = 12  # pieces of a faint line that are put together
_APART = 3.0  # mm: what is nearer to the way belongs to it
_NEAR = 6.0  # mm round the points and lines given by the user
_SHORTEST = 10.0  # mm


def find_line(view: View, wish: Wish) -> Array:
    """(N, 2) mm: the rough way of a thin dark line, about a millimetre between points."""
    refuse_outside(view.area, wish, view.where)
    return dark_in(view, wish).line(view)


def dark_in(view: View, wish: Wish) -> Dark:
    """What may be a line in the window."""
    grid = read_grid(view, _STEP)
    bar = _darker_than_both_sides(grid.values, _UNLIKE if wish.near is None else _UNLIKE_NEAR)
    return Dark(grid, bar, float(np.partition(bar, -_LINE_CELLS, axis=None)[-_LINE_CELLS]), wish)


@dataclass(frozen=True)
class Dark:
    """How much darker each grid point is than both its sides, bar (H, W), and the line as a whole;
    and what was said of it.
    """

    grid: Grid
    bar: Array
    whole: float
    wish: Wish

    @cached_property
    def heaviest(self) -> tuple[Array, float] | None:
        """(N, 2) mm: what looks most like a line, whichever was meant, and its weight; None without
        any.
        """
        points, weight = self._points
        if not FEWEST <= len(points) <= _MOST:
            return None
        path = heaviest(self.grid, points, weight)
        return None if path is None else (points[path], float(weight[path].sum()))

    def line(self, view: View) -> Array:
        """(N, 2) mm: the way of the line that is meant."""
        way = self._best_way(view)
        if np.hypot(*np.diff(way, axis=0).T).sum() < _SHORTEST:
            raise no_line(view.where, f"no line longer than {_SHORTEST:g} mm stands out")
        return forwards(way, self.wish)

    def down_to(self, part: float) -> tuple[Array, Array]:
        """(N, 2) mm and (N,): what is at least a part as dark as the line, and by how much."""
        mask = self.bar > max(_FAINTEST, part * self.whole)
        points, weight = thinned(self.grid.points(mask), self.bar[mask], _CELL)
        return without_specks(*_kept_near(points, weight, self.wish))

    @cached_property
    def _points(self) -> tuple[Array, Array]:
        return self.down_to(_GRAIN if self.wish.near is None else _GRAIN_NEAR)

    def _best_way(self, view: View) -> Array:
        if self.wish.start is not None or self.wish.end is not None:
            return _between(self, self.wish, view.where)
        if self.heaviest is None:
            raise no_line(view.where, "no line stands out from the board")
        way, weight = self.heaviest
        if self.wish.near is not None:
            return _with_all_near(self.grid, way, *self._points)
        return only_line(view, self.grid, way, weight, self.down_to(_FAINT))


def _darker_than_both_sides(values: Array, unlike: float) -> Array:
    """How much darker each grid point is than both sides of it, in the best of 4 directions.

    unlike: what a difference of the sides speaks against a line.
    """
    smooth = _box(values)
    deep = np.full(values.shape, -np.inf)
    # Beyond the border it is so dark that nothing wins.
    around = np.pad(smooth, _BESIDE, constant_values=-99.0)
    height, width = values.shape
    diagonal = round(_BESIDE / 2**0.5)
    for down, along in ((_BESIDE, 0), (0, _BESIDE), (diagonal, diagonal), (diagonal, -diagonal)):
        one, other = (
            around[_BESIDE + y : _BESIDE + y + height, _BESIDE + x : _BESIDE + x + width]
            for y, x in ((down, along), (-down, -along))
        )
        # The lower of the two, less what they differ by and more: neither a step nor the
        # shadow between a board and the paper is a line.
        lower = np.minimum(one, other)
        # Beside an edge the means take light from across it, and the edge would look like a
        # line: but there a point is as light as they are once it is a mean as well.
        itself = lower - smooth > _ITSELF * (lower - values)
        deep = np.maximum(deep, np.where(itself, lower - unlike * np.abs(one - other), -np.inf))
    return deep - values


def _box(values: Array) -> Array:
    """Means of 3 x 3."""
    rows = np.pad(values, ((1, 1), (0, 0)), mode="edge")
    rows = rows[:-2] + rows[1:-1] + rows[2:]
    both = np.pad(rows, ((0, 0), (1, 1)), mode="edge")
    return (both[:, :-2] + both[:, 1:-1] + both[:, 2:]) / 9.0


def _kept_near(points: Array, weight: Array, wish: Wish) -> tuple[Array, Array]:
    """Only what lies near the polyline that was given."""
    if wish.near is None:
        return points, weight
    kept = distance_to(points, wish.near) < _NEAR
    return points[kept], weight[kept]


def _with_all_near(grid: Grid, way: Array, points: Array, weight: Array) -> Array:
    """The way and what continues it among the points kept near the course that was given."""
    rest = distance_to(points, way) > _APART
    points, weight = points[rest], weight[rest]
    paths = islice(lines(grid, points, weight, _APART, _EDGE_NEAR), _PARTS)
    parts = [points[path] for path in paths]
    while True:
        for k, part in enumerate(parts):
            longer = continued(way, part)
            if longer is not None:
                way = longer
                parts.pop(k)
                break
        else:
            return way


def _between(dark: Dark, wish: Wish, where: str) -> Array:
    """From the start given to the end given; with one of them, to the far end of its line."""
    given = [point for point in (wish.start, wish.end) if point is not None]
    for part in (_GRAIN, _FAINT):  # the line that is meant may be a fainter one
        points, weight = dark.down_to(part)
        away = [np.hypot(*(points - point).T) for point in given]
        lost = [
            point
            for point, each in zip(given, away, strict=True)
            if np.min(each, initial=np.inf) > _NEAR
        ]
        if not lost:
            break
    else:
        raise no_line(where, "nothing to follow at {:.0f}, {:.0f} mm".format(*lost[0]))
    ends = [int(np.argmin(each)) for each in away]
    if len(ends) == 2:
        path = path_between(points, weight, REACH, ends[0], ends[1])
    else:
        group = next(g for g in clusters(points, weight, REACH) if ends[0] in g)
        path = group[longest_path(points[group], weight[group], REACH)]
        # From the end that was given, whichever end of the path is further from it.
        near = int(np.argmin(np.hypot(*(points[path] - points[ends[0]]).T)))
        path = path[near:] if near < len(path) / 2 else path[: near + 1]
    if len(path) < FEWEST:
        raise no_line(where, "nothing leads from the one end to the other")
    return points[path]
