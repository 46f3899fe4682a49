"""Find the rough way of a drawn line, to about half a millimetre.

In: the window on a grid, and what the user said. Out: points along the line, which only say where
to measure. Logarithms of light are compared, so that neither exposure nor a slow change of the
light across the sheet matters.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.chain import clusters, longest_path, path_between, thinned, without_specks
from scribe.capture.edges.grid import Grid, read_grid
from scribe.capture.edges.scan import distance_to
from scribe.capture.edges.wish import Wish, ambiguous, forwards, not_found, refuse_outside
from scribe.capture.view import View

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.int64]

_STEP = 0.4  # mm between grid points
_BESIDE = 3  # grid points from a line to what it is compared with: 1.2 mm
_FAINTEST = 0.06  # logarithm of light: a fainter line is taken for grain
_CELL = 1.0  # mm between the points of the way
_REACH = 10.0  # mm: the widest gap of a line that is bridged
# Part of its depth that a line keeps in the mean of 3 x 3: a thin one a third, less grain.
_ITSELF = 0.05
_UNLIKE = 1.5  # how much a difference between both sides speaks against a line
_UNLIKE_NEAR = 0.5  # the same along a given course: there a line may follow the grain
_LINE_CELLS = 150  # grid points: the darkest 60 mm tell how dark the line is,
_GRAIN = 0.35  # and what is fainter than this part of it is grain,
_GRAIN_NEAR = 0.2  # or than this part along a given course
_MOST = 1200  # points of the way: a line has less than half of these
_FEWEST = 5  # points of a way
_TRIED = 4  # groups that are looked at
_EDGE = 0.2  # change of the logarithm of light across: more is an edge and no line
_EDGE_NEAR = 0.5  # the same of what continues a line along a given course
_BOTH_SIDES = (2.0, 5.0, 10.0)  # mm from the way, where that is judged
_RIVAL = 0.5  # part of the best one's weight from which another is as good
_PARTS = 12  # pieces of a faint line that are put together
_APART = 3.0  # mm: what is nearer to the way belongs to it
_NEAR = 6.0  # mm round the points and lines given by the user
_SHORTEST = 10.0  # mm
# Two ways are one line that is faint in between: at most so far apart, mm, seen from as many
# points before their ends as they are mm apart, within these, and so much aside for every mm ahead.
_FAINT_REACH, _TOLD, _BEND = 60.0, (6, 30), 0.15


def find_line(view: View, wish: Wish) -> Array:
    """(N, 2) mm: the rough way of a thin dark line, about a millimetre between points."""
    refuse_outside(view.area, wish, view.where)
    grid = read_grid(view, _STEP)
    points, weight = _dark_points(grid, wish)
    if not _FEWEST <= len(points) <= _MOST:
        raise not_found(view.where, "no line stands out from the board")
    way = _best_way(grid, points, weight, wish, view.where)
    if np.hypot(*np.diff(way, axis=0).T).sum() < _SHORTEST:
        raise not_found(view.where, f"no line longer than {_SHORTEST:g} mm stands out")
    return forwards(way, wish)


def heaviest_line(view: View) -> Array | None:
    """(N, 2) mm: what looks most like a line, whichever was meant; None without any."""
    grid = read_grid(view, _STEP)
    points, weight = _dark_points(grid, Wish())
    if not _FEWEST <= len(points) <= _MOST:
        return None
    path = _heaviest(grid, points, weight)
    return None if path is None else points[path]


def _dark_points(grid: Grid, wish: Wish) -> tuple[Array, Array]:
    """(N, 2) mm and (N,): what is darker than both sides of it, and by how much."""
    bar = _darker_than_both_sides(grid.values, _UNLIKE if wish.near is None else _UNLIKE_NEAR)
    dark = float(np.partition(bar, -_LINE_CELLS, axis=None)[-_LINE_CELLS])
    mask = bar > max(_FAINTEST, (_GRAIN if wish.near is None else _GRAIN_NEAR) * dark)
    points, weight = _kept_near(*thinned(grid.points(mask), bar[mask], _CELL), wish)
    return without_specks(points, weight)


def _darker_than_both_sides(values: Array, unlike: float) -> Array:
    """How much darker each grid point is than both sides of it, in the best of 4 directions.

    unlike: what a difference of the sides speaks against a line.
    """
    smooth = _box(values)
    deep = np.full(values.shape, -np.inf)
    diagonal = round(_BESIDE / 2**0.5)
    for down, along in ((_BESIDE, 0), (0, _BESIDE), (diagonal, diagonal), (diagonal, -diagonal)):
        one, other = _shifted(smooth, down, along), _shifted(smooth, -down, -along)
        # The lower of the two, less what they differ by and more: neither a step nor the
        # shadow between a board and the paper is a line.
        lower = np.minimum(one, other)
        # Beside an edge the means take light from across it, and the edge would look like a
        # line: but there a point is as light as they are once it is a mean as well.
        itself = lower - smooth > _ITSELF * (lower - values)
        np.maximum(deep, lower - unlike * np.abs(one - other), out=deep, where=itself)
    return deep - values


def _box(values: Array) -> Array:
    """Means of 3 x 3."""
    rows = np.pad(values, ((1, 1), (0, 0)), mode="edge")
    rows = rows[:-2] + rows[1:-1] + rows[2:]
    both = np.pad(rows, ((0, 0), (1, 1)), mode="edge")
    return (both[:, :-2] + both[:, 1:-1] + both[:, 2:]) / 9.0


def _shifted(values: Array, down: int, along: int) -> Array:
    """The value so many rows and columns further; beyond the edge so dark that nothing wins."""
    result = np.full(values.shape, -99.0)
    height, width = values.shape
    target = (
        slice(max(-down, 0), height - max(down, 0)),
        slice(max(-along, 0), width - max(along, 0)),
    )
    source = (
        slice(max(down, 0), height - max(-down, 0)),
        slice(max(along, 0), width - max(-along, 0)),
    )
    result[target] = values[source]
    return result


def _kept_near(points: Array, weight: Array, wish: Wish) -> tuple[Array, Array]:
    """Only what lies near the polyline that was given."""
    if wish.near is None:
        return points, weight
    kept = distance_to(points, wish.near) < _NEAR
    return points[kept], weight[kept]


def _best_way(grid: Grid, points: Array, weight: Array, wish: Wish, where: str) -> Array:
    if wish.start is not None or wish.end is not None:
        return _between(points, weight, wish, where)
    first = _heaviest(grid, points, weight)
    if first is None:
        raise not_found(where, "no line stands out from the board")
    way, heavy = points[first], float(weight[first].sum())
    if wish.near is not None:
        return _with_all_near(grid, way, points, weight)
    while wish.silent:
        rest = distance_to(points, way) > _APART
        second = _heaviest(grid, points[rest], weight[rest])
        if second is None or weight[rest][second].sum() <= _RIVAL * heavy:
            break
        longer = _continued(way, points[rest][second])
        if longer is None:
            x, y = points[rest][second].mean(axis=0)
            raise ambiguous(where, f"there are two lines, one of them round {x:.0f}, {y:.0f} mm")
        way, heavy = longer, max(heavy, float(weight[rest][second].sum()))
    return way


def _with_all_near(grid: Grid, way: Array, points: Array, weight: Array) -> Array:
    """The way and what continues it among the points kept near the course that was given."""
    parts: list[Array] = []
    rest = distance_to(points, way) > _APART
    for _ in range(_PARTS):
        path = _heaviest(grid, points[rest], weight[rest], _EDGE_NEAR)
        if path is None:
            break
        parts.append(points[rest][path])
        rest &= distance_to(points, parts[-1]) > _APART
    while True:
        for k, part in enumerate(parts):
            longer = _continued(way, part)
            if longer is not None:
                way = longer
                parts.pop(k)
                break
        else:
            return way


def _continued(way: Array, other: Array) -> Array | None:
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
        aside = [abs(float(a[0] * gap[1] - a[1] * gap[0])) / np.hypot(*a) for a in (ahead, after)]
        if max(aside) < _STEP + _BEND * far:
            return np.concatenate([one, two])
    return None


def _heaviest(grid: Grid, points: Array, weight: Array, edge: float = _EDGE) -> Index | None:
    """The longest path of the heaviest group that is a line and not the edge of something."""
    for group in clusters(points, weight, _REACH)[:_TRIED]:
        path = group[longest_path(points[group], weight[group], _REACH)]
        if len(path) >= _FEWEST and abs(_change_across(grid, points[path])) < edge:
            return path
    return None


def _change_across(grid: Grid, way: Array) -> float:
    """Mean change of the logarithm of light across a way, beside it or beyond a shadow."""
    travel = np.gradient(way, axis=0)
    normal = travel[:, ::-1] * (-1.0, 1.0) / np.hypot(*travel.T)[:, None]
    changes = [
        float(np.mean(grid.at(way + far * normal) - grid.at(way - far * normal)))
        for far in _BOTH_SIDES
    ]
    return max(changes, key=abs)


def _between(points: Array, weight: Array, wish: Wish, where: str) -> Array:
    """From the start given to the end given; with one of them, to the far end of its line."""
    ends = []
    for point in (wish.start, wish.end):
        if point is None:
            continue
        away = np.hypot(*(points - point).T)
        if away.min() > _NEAR:
            raise not_found(where, f"nothing to follow at {point[0]:.0f}, {point[1]:.0f} mm")
        ends.append(int(np.argmin(away)))
    if len(ends) == 2:
        path = path_between(points, weight, _REACH, ends[0], ends[1])
    else:
        group = next(g for g in clusters(points, weight, _REACH) if ends[0] in g)
        path = group[longest_path(points[group], weight[group], _REACH)]
        # From the end that was given, whichever end of the path is further from it.
        near = int(np.argmin(np.hypot(*(points[path] - points[ends[0]]).T)))
        path = path[near:] if near < len(path) / 2 else path[: near + 1]
    if len(path) < _FEWEST:
        raise not_found(where, "nothing leads from the one end to the other")
    return points[path]
