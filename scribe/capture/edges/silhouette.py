"""Find the rough edge of a card, board or moulding that lies on the white sheet.

What isn't paper white is the object and its shadow. Its upper boundary is followed from
corner to corner, then walked inwards from clear paper: the penumbra of a shadow is soft,
the first sharp change belongs to the object.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.bare_paper import largest_thing
from scribe.capture.edges.chain import longest_path, thinned, without_specks
from scribe.capture.edges.coarse import (
    Grid,
    Wish,
    distance_to,
    forwards,
    not_found,
    read_grid,
    refuse_outside,
)
from scribe.capture.edges.scan import Stations, along, stations
from scribe.capture.edges.walk import SAMPLE, walked
from scribe.capture.view import View
from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]
# Mm along rays (unit vectors, inwards, one to a station) to where an object begins, or NaN.
Begins = Callable[[View, Stations, Array], Array]

_STEP = 0.5  # mm between grid points
_LEAST_AREA = 150.0  # mm^2
_LEAST_RUN = 10.0  # mm
_LEANING = 0.5  # corners: a board may lie turned by up to atan of this
_OUTSIDE, _INSIDE = 2.5, 18.0  # mm walked, from outside of the boundary to inside of it
_APART = 4  # samples between two sharp changes
_CELL = 0.6  # mm between points of the rough edge
_MAY_MISS = 0.15  # part of the boundary that may stay without an edge nearby
_SIDE = 8.0  # mm from an end in which the edge may turn down the object's side
_FEWEST = 8  # points of an edge
_REACH = 12.0  # mm of edge that may be missing,
_REACH_BEHIND = 20.0  # and where on its way it passes from lighter than its shadow to darker


def find_edge(view: View, wish: Wish, behind: Begins | None = None) -> tuple[Array, bool]:
    """(N, 2) mm the rough edge, travelled with x growing; True when the object is below it.

    behind: tells where the object begins; left out, it begins at the first sharp change.
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
    way, below = _boundary(grid, mask, wish, view.where)
    reach = _REACH_BEHIND if behind else _REACH
    edge = _past_the_shadow(view, way, below, behind or _first_sharp, reach)
    return (_from_corner_to_corner(edge, below) if wish.silent else edge), below


def _boundary(grid: Grid, mask: Mask, wish: Wish, where: str) -> tuple[Array, bool]:
    """The part of the outer boundary that is wanted, and whether the object is below it."""
    import cv2

    found, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    cells = max(found, key=len)[:, 0, :]
    loop = cells * grid.step + np.array(grid.corner)
    height, width = mask.shape
    column, row = cells.T
    free = (column > 0) & (row > 0) & (column < width - 1) & (row < height - 1)
    # The loop runs so that the object stays on one side: that tells below from above.
    signed = float(
        np.sum(loop[:, 0] * np.roll(loop[:, 1], -1) - np.roll(loop[:, 0], -1) * loop[:, 1])
    )
    if signed > 0:
        loop, free = loop[::-1], free[::-1]  # clockwise: the object is to the right of travel
    way = _upper(_runs(loop, free), where) if wish.silent else _wanted(loop, wish, where)
    ahead = forwards(way, wish)
    below = bool(np.array_equal(ahead[0], way[0]))
    if np.hypot(*np.diff(ahead, axis=0).T).sum() < _LEAST_RUN:
        raise not_found(where, "the edge on the sheet is too short to be measured")
    return ahead, below


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
        raise not_found(where, "the object covers the whole window: its edge isn't in it")
    across = [float(edge[-1, 0] - edge[0, 0]) for edge in edges]
    best = int(np.argmax(across))
    return edges[best if across[best] > _LEAST_RUN else int(np.argmax(np.abs(across)))]


def _from_corner_to_corner(edge: Array, below: bool) -> Array:
    """Without what runs down the sides of the object, or along the shadow beside it."""
    upright = 1.0 if below else -1.0
    height = _LEANING * upright * edge[:, 1]
    first, last = int(np.argmax(height - edge[:, 0])), int(np.argmax(height + edge[:, 0]))
    if last - first < _FEWEST:
        return edge
    edge = edge[first : last + 1]
    turned = edge[::-1] * (-1.0, 1.0)
    edge = edge[_slips_down(edge, upright) : len(edge) - _slips_down(turned, upright)]
    return edge


def _slips_down(edge: Array, upright: float) -> int:
    """How many points at the start lie below where the edge begins to run across."""
    place = along(edge)
    rise = upright * edge[:, 1]
    for here in range(int(np.searchsorted(place, _SIDE)), 0, -1):
        ahead = int(np.searchsorted(place, place[here] + 1.5))
        back = int(np.searchsorted(place, place[here] - 1.5))
        if ahead >= len(edge) or back == 0:
            continue
        steep = (rise[here] - rise[back]) / max(float(edge[here, 0] - edge[back, 0]), 1e-3)
        level = (rise[ahead] - rise[here]) / max(float(edge[ahead, 0] - edge[here, 0]), 1e-3)
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
        raise not_found(where, f"no edge near {point[0]:.0f}, {point[1]:.0f} mm")
    return int(np.argmin(away))


def _past_the_shadow(view: View, way: Array, below: bool, begins: Begins, reach: float) -> Array:
    """The way moved inwards to where the object begins, where a shadow lies before it."""
    where = stations(way, 1.0, 0.8)
    square = -where.normals if below else where.normals
    # Square to the boundary, and all one way: round a corner of the shadow one of them misses.
    straight = np.broadcast_to(square.mean(axis=0) / np.hypot(*square.mean(axis=0)), square.shape)
    points = np.concatenate(
        [where.points + begins(view, where, ray)[:, None] * ray for ray in (square, straight)]
    )
    points = points[np.isfinite(points[:, 0])]
    # Where the shadow reaches past the object's ends, or turns with it, points stray.
    points, weight = without_specks(*thinned(points, np.ones(len(points)), _CELL))
    if len(points) < _FEWEST:
        raise shadowed(view.where)
    edge = points[longest_path(points, weight, reach)]
    missed = distance_to(way, edge) > _INSIDE
    if missed.mean() > _MAY_MISS:
        raise shadowed(view.where)
    return edge if (edge[-1] - edge[0]) @ (way[-1] - way[0]) > 0 else edge[::-1]


def _first_sharp(view: View, where: Stations, rays: Array) -> Array:
    """(N,) mm along the rays (unit vectors, inwards) to the first sharp change of light, or NaN."""
    walk = walked(view, where, rays, np.arange(-_OUTSIDE, _INSIDE, SAMPLE))
    return walk.first(walk.sharp(_APART))


def shadowed(where: str) -> ScribeError:
    """The refusal when the object can't be told from its shadow."""
    return ScribeError(
        "edge-shadow",
        what="the edge can't be told from its shadow",
        where=where,
        do="turn the sheet so that the light falls on this edge, or light it from both sides",
    )
