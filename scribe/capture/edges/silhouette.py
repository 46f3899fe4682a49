"""Find the rough border of a card, board or moulding that lies on the white sheet.

In: the view on the plane of its face. Out: the `Border` of what isn't paper white, which is the
thing and its shadow: the upper side from corner to corner, or the part between ends that are given.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.bare_paper import largest_thing
from scribe.capture.edges.grid import Grid, read_grid
from scribe.capture.edges.scan import along, distance_to
from scribe.capture.edges.wish import Wish, forwards, no_edge, refuse_outside
from scribe.capture.view import View
from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_STEP = 0.5  # mm between grid points
_LEAST_AREA = 150.0  # mm^2
_LEAST_RUN = 10.0  # mm
_LEANING = 0.5  # corners: a board may lie turned by up to atan of this
_SIDE = 8.0  # mm from an end in which the edge may turn down the thing's side
_FEWEST = 8  # points of an edge between two corners


@dataclass(frozen=True)
class Border:
    """way: (N, 2) mm, travelled with the thing to the right.

    backwards: True where the outline is wanted the other way, with x growing or as it was told.
    """

    way: Array
    backwards: bool

    def between_corners(self, edge: Array) -> Array:
        """An edge that runs like the way, without what runs down the sides of the thing, or along
        the shadow beside it.
        """
        return edge[self.corners(edge)]

    def corners(self, edge: Array) -> slice:
        """Which points (N, 2) of an edge that runs like the way lie between its corners."""
        # Turned by half a circle, an edge below its thing is one above it.
        turned = -edge if self.backwards else edge
        first = int(np.argmax(_LEANING * turned[:, 1] - turned[:, 0]))
        last = int(np.argmax(_LEANING * turned[:, 1] + turned[:, 0]))
        if last - first < _FEWEST:
            return slice(0, len(edge))
        turned = turned[first : last + 1]
        first += _slips_down(turned)
        last -= _slips_down(turned[::-1] * (-1.0, 1.0))
        return slice(first, last + 1)


def find_border(view: View, wish: Wish) -> Border:
    """The border of the largest thing in the window.

    Refuses with edge-no-contrast, outline-not-found, outline-outside-marks.
    """
    refuse_outside(view.area, wish, view.where)
    grid = read_grid(view, _STEP)
    mask = largest_thing(grid)
    if mask.sum() * _STEP**2 < _LEAST_AREA:
        raise ScribeError(
            "edge-no-contrast",
            what="nothing on the sheet stands out from the white paper",
            where=view.where,
            do="darken the edge with a pencil or lay dark paper under it, and take the photo again",
        )
    return border_of(grid, mask, wish, view.where)


def border_of(grid: Grid, mask: Mask, wish: Wish, where: str) -> Border:
    """The border of the thing that a mask (H, W) of the grid shows.

    Refuses with outline-not-found.
    """
    way = _boundary(grid, mask, wish, where)
    if along(way)[-1] < _LEAST_RUN:
        raise no_edge(where, "the edge on the sheet is too short to be measured")
    return Border(way, not np.array_equal(forwards(way, wish)[0], way[0]))


def _boundary(grid: Grid, mask: Mask, wish: Wish, where: str) -> Array:
    """(N, 2) mm: the part of the outer boundary that is wanted, the thing to its right."""
    import cv2

    found, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    cells = max(found, key=len)[:, 0, :]
    loop = cells * grid.step + np.array(grid.corner)
    height, width = mask.shape
    column, row = cells.T
    free = (column > 0) & (row > 0) & (column < width - 1) & (row < height - 1)
    signed = float(
        np.sum(loop[:, 0] * np.roll(loop[:, 1], -1) - np.roll(loop[:, 0], -1) * loop[:, 1])
    )
    if signed > 0:
        loop, free = loop[::-1], free[::-1]  # clockwise: the thing is to the right of travel
    return _upper(_runs(loop, free), where) if wish.silent else _wanted(loop, wish, where)


def _runs(loop: Array, free: Mask) -> list[Array]:
    """The stretches of a loop that don't run along the border of the window."""
    if free.all():
        return [loop]
    turn = int(np.argmin(free))
    loop, free = np.roll(loop, -turn, axis=0), np.roll(free, -turn)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], free.astype(np.int8), [0]])))
    return [loop[a:b] for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a > 4]


def _upper(runs: list[Array], where: str) -> Array:
    """The longest upper edge: from the upper left corner of a run to its upper right one.

    Travelled clockwise, an upper edge runs with x growing. Without one, the longest lower
    edge is taken as it runs.
    """
    edges = []
    for run in runs:
        left = int(np.argmax(_LEANING * run[:, 1] - run[:, 0]))
        right = int(np.argmax(_LEANING * run[:, 1] + run[:, 0]))
        closed = np.hypot(*(run[0] - run[-1])) < 2.0 * _STEP
        if left <= right:
            edges.append(run[left : right + 1])
        elif closed:
            edges.append(np.concatenate([run[left:], run[: right + 1]]))
        else:
            edges.append(run)
    if not edges:
        raise no_edge(where, "the object covers the whole window: its edge isn't in it")
    across = [float(edge[-1, 0] - edge[0, 0]) for edge in edges]
    best = int(np.argmax(across))
    return edges[best if across[best] > _LEAST_RUN else int(np.argmax(np.abs(across)))]


def _slips_down(edge: Array) -> int:
    """How many points at the start lie below where the edge begins to run across."""
    place = along(edge)
    x, y = edge.T
    for here in range(int(np.searchsorted(place, _SIDE)), 0, -1):
        ahead = int(np.searchsorted(place, place[here] + 1.5))
        back = int(np.searchsorted(place, place[here] - 1.5))
        if ahead >= len(edge) or back == 0:
            continue
        steep = (y[here] - y[back]) / max(float(x[here] - x[back]), 1e-3)
        level = (y[ahead] - y[here]) / max(float(x[ahead] - x[here]), 1e-3)
        if steep > 1.0 and level < 0.5:
            return here
    return 0


def _wanted(loop: Array, wish: Wish, where: str) -> Array:
    """The stretch of the loop between the ends that were given (clockwise or the other way)."""
    start = (
        wish.start if wish.start is not None else (wish.near[0] if wish.near is not None else None)
    )
    end = wish.end if wish.end is not None else (wish.near[-1] if wish.near is not None else None)
    whole = _upper([loop], where)
    first = _nearest(loop, whole[0] if start is None else start, where)
    last = _nearest(loop, whole[-1] if end is None else end, where)
    clockwise = np.roll(loop, -first, axis=0)[: (last - first) % len(loop) + 1]
    other = np.roll(loop, -last, axis=0)[: (first - last) % len(loop) + 1]
    if wish.near is None:
        return clockwise if len(clockwise) <= len(other) else other
    miss = [float(np.mean(distance_to(each[::4], wish.near))) for each in (clockwise, other)]
    return clockwise if miss[0] <= miss[1] else other


def _nearest(loop: Array, point: Array, where: str) -> int:
    away = np.hypot(*(loop - point).T)
    if away.min() > 8.0:
        raise no_edge(where, f"no edge near {point[0]:.0f}, {point[1]:.0f} mm")
    return int(np.argmin(away))
