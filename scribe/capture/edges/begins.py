"""Where behind the border of its shadow a thing itself begins.

In: a view, and a rough border of what isn't paper white, the thing to the right of travel. Out:
points where the thing begins, to about a millimetre.

A penumbra is soft: the first sharp change of light behind it belongs to the thing (`first_sharp`).
Where the shadow's own border is sharp as well, the thing begins at the outermost step behind which
its own light lies (`first_own`); paper in shadow has another. What stays in doubt is a thing
exactly as light as its shadow.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.bare_paper import UNLIKE_PAPER
from scribe.capture.edges.chain import longest_path, thinned, without_specks
from scribe.capture.edges.scan import Stations, distance_to, read_scans, running_median, stations
from scribe.capture.edges.upright import side_width
from scribe.capture.edges.walk import SAMPLE, walked
from scribe.capture.view import View

Array = npt.NDArray[np.float64]
# Mm along rays (unit vectors, inwards, one to a station) to where a thing begins, or NaN.
Begins = Callable[[View, Stations, Array], Array]

FEWEST = 8  # points of a rough edge
_OUTSIDE, _INSIDE = 2.5, 18.0  # mm looked at, from outside of the border to inside of it
_WALK = np.arange(-_OUTSIDE, _INSIDE, SAMPLE)
_SHARP, _STEPS = 4, 3  # samples between two sharp changes, and between two steps
_CELL = 0.6  # mm between points of the edge
_MAY_MISS = 0.15  # part of the border that may stay without an edge nearby
_ABREAST = 0.9  # mm of the border that are averaged
_OWN = 3.0  # times the thing's unevenness: light within that is its own
_WIDE = 30.0  # mm that thing and shadow are wide at least
_DEEPEST = 6.0  # mm at the inner end that tell what the thing's light is
_BEHIND = (3, 15)  # samples behind a change that must have the thing's light
_COMPANY = 2.5  # mm along the border whose light is put together
_FURTHER = 0.5  # mm: what begins so far behind an edge begins at another one
_ARRIS = 0.3  # mm to which the place of an arris is foreseen
_ROUND = 10.0  # mm along the border over which brightness is compared


def past_shadow(view: View, way: Array, begins: Begins, reach: float) -> Array | None:
    """(N, 2) mm: the way moved inwards to where the thing begins; None where shadow hides that.

    way: (N, 2) mm, the thing to the right of travel. reach: mm of edge that may be missing.
    """
    where = stations(way, 1.0, 0.8)
    square = -where.normals
    # Square to the border, and all one way: round a corner of the shadow one of them misses.
    straight = np.broadcast_to(square.mean(axis=0) / np.hypot(*square.mean(axis=0)), square.shape)
    points = np.concatenate(
        [where.points + begins(view, where, ray)[:, None] * ray for ray in (square, straight)]
    )
    points = points[np.isfinite(points[:, 0])]
    # Where the shadow reaches past the thing's ends, or turns with it, points stray.
    points, weight = without_specks(*thinned(points, np.ones(len(points)), _CELL))
    if len(points) < FEWEST:
        return None
    edge = points[longest_path(points, weight, reach)]
    if np.mean(distance_to(way, edge) > _INSIDE) > _MAY_MISS:
        return None
    return edge if (edge[-1] - edge[0]) @ (way[-1] - way[0]) > 0 else edge[::-1]


def first_sharp(view: View, where: Stations, rays: Array) -> Array:
    """(N,) mm along the rays (unit vectors, inwards) to the first sharp change of light, or NaN."""
    walk = walked(view, where, rays, _WALK)
    return walk.first(walk.sharp(_SHARP))


def first_own(view: View, where: Stations, rays: Array) -> Array:
    """(N,) mm along the rays to the first step behind which the thing's own light lies, or NaN."""
    walk = walked(view, where, rays, _WALK, _ABREAST)
    own, uneven = _own_light(walk.light[:, walk.s > _INSIDE - _DEEPEST], where.place)
    near, far = _BEHIND
    strange = np.pad((walk.light - own) ** 2, ((0, 0), (1, far)), mode="edge").cumsum(axis=1)
    count = len(walk.s)
    behind = (strange[:, far : far + count] - strange[:, near : near + count]) / (far - near)
    begins = walk.stepped(_STEPS) & (behind < (_OWN * uneven) ** 2)
    # Of something narrow, its own light lies where its shadow on the far side is looked at.
    far_in = read_scans(view, where, np.arange(_INSIDE, _WIDE, 2.0), _ABREAST, rays) / walk.paper
    told = np.hstack([np.nan_to_num(far_in), own])
    begins &= (np.abs(np.log(np.maximum(told, 1e-3))) > UNLIKE_PAPER).all(axis=1, keepdims=True)
    return walk.first(begins)


def hidden_behind(view: View, where: Stations) -> float:
    """The part of the stations of an edge behind which the thing begins only at another one.

    where: on the edge that was found, normals out of the thing. The shadow of a small lamp has a
    border as sharp as the thing's, but behind it lies paper in shadow.
    """
    s = np.concatenate([SAMPLE * np.arange(*_BEHIND), np.arange(_INSIDE - _DEEPEST, _INSIDE, 0.5)])
    light = np.nan_to_num(read_scans(view, where, -s))
    count = _BEHIND[1] - _BEHIND[0]
    own, uneven = _own_light(light[:, count:], where.place)
    behind = np.median(light[:, :count], axis=1)
    behind = running_median(behind, np.isfinite(behind), where.place, _COMPANY)
    strange = np.abs(behind - own[:, 0]) > _OWN * uneven
    if not strange.any():
        return 0.0
    part = where[strange]
    begins = first_own(view, part, -part.normals)
    # Behind the foot of a side that the photo shows, the face begins at its arris.
    arris = np.abs(begins - side_width(view, part.points, part.normals)) < _ARRIS
    return float(np.sum((begins > _FURTHER) & ~arris) / len(behind))


def _own_light(deep: Array, place: Array) -> tuple[Array, float]:
    """(N, 1) light of the thing well inside of its border, and how uneven it is."""
    usual = np.median(deep, axis=1)
    own = running_median(usual, np.isfinite(usual), place, _ROUND)[:, None]
    return own, 1.4826 * float(np.median(np.abs(deep - own)))
