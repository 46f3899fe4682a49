"""Areas and parallel curves in the plane, with shapely's exact-predicate set operations.

Areas go in and come out as plain arrays: an outer ring (N, 2) counter-clockwise and holes
clockwise, mm, the first point not repeated. Parallel curves are built from a quad for every
segment and a sector for every joint, joined. (The library's own buffer first drops steps and
hollows shallower than 1 % of the distance, which moves the curve by up to 0.15 mm at 20 mm.)
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely

from scribe.geom.polyline import nearest, segment_directions, signed_size, signed_sizes

Array = npt.NDArray[np.float64]

ARC_SAG = 2e-4  # mm, how far the chords of an arc may lie inside it
_SAME = 1e-9  # mm: set operations may give one corner twice
_ROUNDING = 1e-7  # mm, far above what arithmetic loses on a room of 100 m
_CRUMB = 1e-2  # mm, shorter pieces of a parallel curve are only rounding


class Area(NamedTuple):
    """outer: (N, 2) counter-clockwise, not closed. holes: clockwise, not closed."""

    outer: Array
    holes: tuple[Array, ...] = ()


def size(area: Area) -> float:
    """Area in mm^2 (shoelace formula; holes count negative)."""
    return sum(signed_size(ring) for ring in (area.outer, *area.holes))


def crosses_itself(points: Array) -> bool:
    """True when a polyline (N, 2) crosses or touches itself; meeting its own start is allowed."""
    return not bool(shapely.is_simple(shapely.linestrings(points)))


def union(areas: Sequence[Area], *, sliver: float = 0.0) -> list[Area]:
    """The areas joined, largest first; parts (and holes) under `sliver` mm^2 are dropped."""
    return _plain(shapely.union_all([_polygon(area) for area in areas]), sliver)


def difference(area: Area, others: Sequence[Area], *, sliver: float = 0.0) -> list[Area]:
    """What is left of `area` without the others, largest first, slivers dropped."""
    cut = shapely.union_all([_polygon(other) for other in others])
    return _plain(shapely.difference(_polygon(area), cut), sliver)


def intersection(area: Area, other: Area, *, sliver: float = 0.0) -> list[Area]:
    """What two areas share, largest first, slivers dropped."""
    return _plain(shapely.intersection(_polygon(area), _polygon(other)), sliver)


def apart(one: Array, other: Array) -> float:
    """mm between two polylines (N, 2) and (M, 2) at their nearest."""
    return float(shapely.distance(shapely.linestrings(one), shapely.linestrings(other)))


def inside_box(points: Array, box: tuple[float, float, float, float]) -> list[Array]:
    """What of a polyline (N, 2) lies in the rectangle x0, y0, x1, y1: none, one or more (M, 2)."""
    found = shapely.clip_by_rect(shapely.linestrings(points), *box)
    parts = [np.array(shapely.get_coordinates(part)) for part in shapely.get_parts(found)]
    return [part for part in parts if len(part) > 1]


def simplified(points: Array, within: float) -> Array:
    """A polyline (N, 2) with fewer points, none further than `within` mm from it (D. H. Douglas and
    T. K. Peucker, 1973).
    """
    return np.array(shapely.get_coordinates(shapely.simplify(shapely.linestrings(points), within)))


def offset_line(points: Array, distance: float) -> list[Array]:
    """The parallel curve of an open polyline, with its loops trimmed away.

    points: (N, 2) mm, not crossing itself. distance: mm, positive to the left. Returned in
    order of travel: one polyline (M, 2), or more where the source's own ends lie in the way,
    or none (there it may stop one segment early). Every point lies |distance| from the
    source, within `ARC_SAG`. A pocket whose mouth is narrower than twice the distance is
    closed off.
    """
    if distance == 0.0:
        return [points.copy()]
    border = shapely.get_coordinates(shapely.get_exterior_ring(_band(points, distance)))
    ring = border if signed_size(border[:-1]) > 0.0 else border[::-1]
    clear = [
        np.abs(nearest(at, points).distance) >= abs(distance) - 1.5 * ARC_SAG
        for at in (ring, (ring[:-1] + ring[1:]) / 2)
    ]
    kept = clear[0][:-1] & clear[1] & clear[0][1:]
    if not kept.any() or kept.all():
        return []
    # Start in the middle of what is dropped, so that no run is cut in two at the ring's seam.
    seam = int(np.flatnonzero(~kept)[0])
    order = np.roll(np.arange(len(kept)), -seam)
    edges = np.flatnonzero(np.diff(np.r_[False, kept[order], False].astype(np.int64)))
    lines = [
        ring[np.r_[order[first:last], order[last - 1] + 1]]
        for first, last in zip(edges[::2], edges[1::2], strict=True)
    ]
    lines = [
        line[np.r_[True, np.hypot(*np.diff(line, axis=0).T) > 10.0 * _ROUNDING]]
        for line in lines
        if np.hypot(*np.diff(line, axis=0).T).sum() > _CRUMB
    ]
    return [line[::-1].copy() for line in lines[::-1]] if distance > 0.0 else lines


def offset_area(area: Area, distance: float, *, sliver: float = 0.0) -> list[Area]:
    """A closed area grown by `distance` mm (shrunk when negative), corners rounded outwards.

    Minkowski sum with a disc (or the erosion by it); largest part first, slivers dropped.
    """
    polygon = _polygon(area)
    if distance == 0.0:
        return _plain(polygon, sliver)
    rings = [np.vstack([ring, ring[:1]]) for ring in (area.outer, *area.holes)]
    bands = shapely.union_all([_band(ring, -distance, closed=True) for ring in rings])
    if distance > 0.0:
        return _plain(shapely.union(polygon, bands), sliver)
    return _plain(shapely.difference(polygon, bands), sliver)


def swept(points: Array, push: npt.ArrayLike, *, sliver: float = 0.0) -> list[Area]:
    """The area a polyline (N, 2) sweeps when pushed by the vector `push` (2,) mm.

    With a push as deep as the building this is the building behind an outline, and its
    front is the outline translated, not its parallel curve.
    """
    shift = np.asarray(push, np.float64)
    quads = np.stack([points[:-1], points[1:], points[1:] + shift, points[:-1] + shift], axis=1)
    turned = np.abs(signed_sizes(quads)) > 0.0
    return _plain(shapely.union_all(shapely.polygons(quads[turned])), sliver)


def _band(points: Array, distance: float, *, closed: bool = False) -> shapely.Geometry:
    """All that lies within `distance` to the left of a polyline: a quad for every segment,
    a sector for every joint that opens a gap between two quads.
    """
    along = segment_directions(points)
    shift = distance * np.column_stack([-along[:, 1], along[:, 0]])
    quads = np.stack([points[:-1], points[1:], points[1:] + shift, points[:-1] + shift], axis=1)
    after = np.roll(along, -1, axis=0)
    turn = np.arctan2(
        along[:, 0] * after[:, 1] - along[:, 1] * after[:, 0], (along * after).sum(axis=1)
    )
    opens = turn * distance < -1e-12 * abs(distance)
    opens[-1] &= closed
    chords = np.ceil(np.abs(turn) / (2.0 * np.sqrt(2.0 * ARC_SAG / abs(distance))))
    next_shift = np.roll(shift, -1, axis=0)  # a sector ends exactly at the corner of the next quad
    flat = np.flatnonzero(opens & (chords <= 1.0))
    corner = points[flat + 1]
    triangles = np.stack([corner, corner + shift[flat], corner + next_shift[flat]], axis=1)
    sectors = []
    for k in np.flatnonzero(opens & (chords > 1.0)):
        share = np.linspace(0.0, 1.0, int(chords[k]) + 1)
        cosine, sine = np.cos(turn[k] * share), np.sin(turn[k] * share)
        arc = np.column_stack([cosine, sine]) @ np.array([shift[k], _left(shift[k])])
        arc[-1] = next_shift[k]
        sectors.append(shapely.Polygon(np.vstack([points[k + 1], points[k + 1] + arc])))
    many = np.concatenate([shapely.polygons(each) for each in (quads, triangles)])
    band = shapely.union_all([*many, *sectors])
    # Neighbours meet in corners that rounding may part: grow by what nobody can measure.
    return shapely.buffer(band, _ROUNDING, join_style="mitre")


def _left(vector: Array) -> Array:
    return np.array([-vector[1], vector[0]])


def _polygon(area: Area) -> shapely.Polygon:
    return shapely.Polygon(area.outer, area.holes)


def _plain(geometry: shapely.Geometry, sliver: float) -> list[Area]:
    areas = []
    for part in shapely.get_parts(geometry):
        if part.geom_type != "Polygon" or part.is_empty:
            continue
        holes = [_ring(hole, clockwise=True) for hole in part.interiors]
        kept = tuple(hole for hole in holes if -signed_size(hole) > sliver)
        area = Area(_ring(part.exterior, clockwise=False), kept)
        if size(area) > sliver:
            areas.append(area)
    return sorted(areas, key=size, reverse=True)


def _ring(ring: shapely.LinearRing, *, clockwise: bool) -> Array:
    points = np.array(shapely.get_coordinates(ring), np.float64)[:-1]
    apart = np.hypot(*(points - np.roll(points, 1, axis=0)).T)
    points = np.asarray(points[apart > _SAME])
    return points[::-1].copy() if (signed_size(points) < 0.0) != clockwise else points
