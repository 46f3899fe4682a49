"""What comes off the blank, station by station, measured on the finished piece itself.

A straight line is laid across the piece at a station, square to the blank's edge. What it
crosses between the blank's edge and the first wood that stays is to be removed; the wood
that stays on it is the width left. Where the cut itself runs square to the edge (the end
of a notch) the removal has two values, and both are listed: those just before and just after
the steep part. On a steep part a station decides nothing; a row that comes to lie there says
so, and has the uncertainty across the cut.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from scribe.fit.blank_edge import BlankEdge
from scribe.fit.place import EXACT_MM
from scribe.geom.polyline import nearest, stations
from scribe.geom.region import Area
from scribe.piece import Removal

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

# A peak or hollow is listed when it stands out by more than its own U, and by this much:
# a steel rule doesn't show less.
LEAST_PROMINENCE_MM = 0.2
# The cut counts as square to the edge where it rises this steeply (63 degrees) over at least this
# height; pins and strips break such a part into several, with less than so much between them.
STEEP = 2.0
_STEP_MM = 1.0
_BROKEN_MM = 1.0
_KNOWN = 6  # decimals of a mm that set operations are good to: 6 mm aren't to be told as 5.99
_SIDE = 1e-4  # mm beside a station at which its left and right limits are read
_APART = 0.5  # mm: an even station this near to another row adds nothing


def removal(
    edge: BlankEdge,
    blank: Area,
    keep: Area,
    line: Array,
    u: Array,
    measured: Mask,
    *,
    step: float,
    whole: tuple[float, float] = (-np.inf, np.inf),
) -> Removal:
    """The table along one cut line: its ends, even steps, peaks, hollows and corners.

    line: (N, 2) mm in the order of stations, u: (N,) mm across it, measured: (N,).
    step: mm between even stations, counted from the named end. whole: the stations between
        which no cut beside this one takes part of the width.

    The standard uncertainty of a removal is that across the line, times sqrt(1 + m^2) for a
    cut rising with slope m against the edge (GUM 5.1.2); m is taken over +-u, so that a
    corner adds no more than the corner's own height.
    """
    s, depth = edge.station(line), -edge.outwards(line)
    low, high = float(s.min()), float(s.max())
    at, kinds, side = _rows(s, depth, u, step)
    read = np.clip(at + 2 * _SIDE * side, low + _SIDE, high - _SIDE)
    remove = _deepest(edge, blank, keep, read, one_sided=side != 0)
    along = stations(line)
    points = _points(edge, blank, read, remove)
    foot = nearest(points, line).station
    across = np.interp(foot, along, u)
    slope = _slope(edge, blank, keep, read, across, side, (low, high))
    steep = np.abs(slope) > STEEP
    beside = np.where(steep, 0.0, slope * (at - read))  # read a hair beside its station
    before = np.clip(np.searchsorted(along, foot, "right") - 1, 0, len(line) - 1)
    after = np.clip(np.searchsorted(along, foot, "left"), 0, len(line) - 1)
    return Removal(
        station=at,
        remove=np.maximum(np.round(remove + beside, _KNOWN), 0.0),
        u=across * np.sqrt(1.0 + np.where(steep, 0.0, slope) ** 2),
        width_left=width_left(edge, keep, read),
        kind=tuple(kinds),
        measured=measured[before] & measured[after],
        steep=steep,
        whole=(read >= whole[0]) & (read <= whole[1]),
    )


def width_left(edge: BlankEdge, keep: Area, at: Array) -> Array:
    """(N,) mm of wood that stays on the line across the piece at each station (N,)."""
    return np.array([np.sum(d[1::2] - d[::2]) for d in _crossings(edge, keep, at)])


def turning_points(s: Array, depth: Array, least: Array) -> list[tuple[int, str]]:
    """Peaks and hollows inside a profile that stand out by more than `least` (N,), in order.

    s: (N,) stations, depth: (N,) mm removed. A peak has less removed than both sides of it,
    a hollow more. A flat one is given at its middle. The ends don't count.
    """
    found: list[tuple[int, str]] = []
    high = low = 0  # where most and least came off since the last turn
    rising: bool | None = None
    for n in range(1, len(depth)):
        high = n if depth[n] > depth[high] + EXACT_MM else high
        low = n if depth[n] < depth[low] - EXACT_MM else low
        if rising is not False and depth[high] - depth[n] > least[high]:
            if rising is not None or depth[high] - depth[0] > least[high]:
                found.append((_middle(s, depth, high), "hollow"))
            rising, low = False, n
        elif rising is not True and depth[n] - depth[low] > least[low]:
            if rising is not None or depth[0] - depth[low] > least[low]:
                found.append((_middle(s, depth, low), "peak"))
            rising, high = True, n
    return found


def _rows(s: Array, depth: Array, u: Array, step: float) -> tuple[Array, list[str], Array]:
    """The table's stations in order, their kinds, and the side (-1, 0, 1) to read them from."""
    low, high = float(s.min()), float(s.max())
    rows = [(low, "end", 1.0), (high, "end", -1.0)]
    for first, last in steep_parts(s, depth):
        # All of it, for a part that overhangs by a hair is not to be read half way through.
        before, after = float(s[first : last + 1].min()), float(s[first : last + 1].max())
        if low + _APART < before and after < high - _APART:
            rows += [(before, "corner", -1.0), (after, "corner", 1.0)]
    turns = turning_points(s, depth, np.maximum(2.0 * u, LEAST_PROMINENCE_MM))
    # The most and the least of all belong into the table however little they stand out.
    if np.ptp(depth) > EXACT_MM:
        turns += [
            (_middle(s, depth, _first(depth >= depth.max() - EXACT_MM)), "hollow"),
            (_middle(s, depth, _first(depth <= depth.min() + EXACT_MM)), "peak"),
        ]
    for n, kind in turns:
        if not _near(float(s[n]), rows):
            rows.append((float(s[n]), kind, 0.0))
    even = np.arange(np.ceil(low / step), np.floor(high / step) + 1) * step
    rows += [(float(e), "step", 0.0) for e in even if not _near(float(e), rows)]
    rows.sort(key=lambda row: row[0])
    places, kinds, sides = zip(*rows, strict=True)
    return np.array(places), list(kinds), np.array(sides)


def _near(station: float, rows: Sequence[tuple[float, str, float]]) -> bool:
    return any(abs(station - row[0]) <= _APART for row in rows)


def steep_parts(s: Array, depth: Array) -> list[tuple[int, int]]:
    """Where the cut runs square to the edge for a millimetre or more: first and last vertex.

    s, depth: (N,) mm, station and removal of its vertices. Parts that rise the same way and
    lie close together are one.
    """
    rise, run = np.diff(depth), np.diff(s)
    way = np.where(np.abs(rise) > STEEP * np.abs(run), np.sign(rise), 0.0)
    bounds = np.flatnonzero(np.diff(np.concatenate([[0.0], way, [0.0]])))
    parts: list[tuple[int, int]] = []
    for first, last in pairwise(bounds.tolist()):
        if way[first] == 0.0:
            continue
        if parts:
            start, stop = parts[-1]
            near = abs(float(s[first] - s[stop])) <= _BROKEN_MM
            if near and (depth[stop] - depth[start]) * way[first] > 0.0:
                parts[-1] = start, last
                continue
        parts.append((first, last))
    return [part for part in parts if abs(float(depth[part[1]] - depth[part[0]])) >= _STEP_MM]


def _middle(s: Array, depth: Array, at: int) -> int:
    """The vertex nearest to the middle of the flat stretch that begins at a turning point."""
    last = at
    while last + 1 < len(depth) and abs(depth[last + 1] - depth[at]) <= EXACT_MM:
        last += 1
    away = np.abs(s[at : last + 1] - (s[at] + s[last]) / 2)
    return at + _first(away <= away.min() + EXACT_MM)


def _first(wanted: Mask) -> int:
    """Position of the first of several equals, so that rounding doesn't choose among them."""
    return int(np.argmax(wanted))


def _deepest(edge: BlankEdge, blank: Area, keep: Area, at: Array, *, one_sided: Mask) -> Array:
    """(N,) what comes off at each station; on a corner the larger of both sides."""
    there = _depth(edge, blank, keep, at)
    left = _depth(edge, blank, keep, np.where(one_sided, at, at - _SIDE))
    right = _depth(edge, blank, keep, np.where(one_sided, at, at + _SIDE))
    jump = np.abs(left - right) > _STEP_MM / 2
    return np.asarray(np.where(jump, np.maximum(left, right), there))


def _depth(edge: BlankEdge, blank: Area, keep: Area, at: Array) -> Array:
    """(N,) from the blank's edge to the first wood that stays; all of it where none stays."""
    depths = []
    both = zip(_crossings(edge, blank, at), _crossings(edge, keep, at), strict=True)
    for whole, kept in both:
        if not whole.size:
            depths.append(0.0)
        else:
            depths.append(float((kept[0] if kept.size else whole[-1]) - whole[0]))
    return np.asarray(np.maximum(depths, 0.0), np.float64)


def _crossings(edge: BlankEdge, area: Area, at: Array) -> list[Array]:
    """For each station, the depths below the blank's edge at which its line meets the border.

    In order, so that wood lies between the first and second, third and fourth, and so on. A
    vertex counts with the side after it, which reads the border just above that station.
    """
    starts = np.vstack([area.outer, *area.holes])
    stops = np.vstack([np.roll(ring, -1, axis=0) for ring in (area.outer, *area.holes)])
    s0, s1 = edge.station(starts), edge.station(stops)
    d0, d1 = -edge.outwards(starts), -edge.outwards(stops)
    found = []
    for station in at:
        met = np.flatnonzero((s0 <= station) != (s1 <= station))
        share = (station - s0[met]) / (s1[met] - s0[met])
        found.append(np.sort(d0[met] + share * (d1[met] - d0[met])))
    return found


def _points(edge: BlankEdge, blank: Area, at: Array, remove: Array) -> Array:
    """(N, 2) the points of the cut line at the stations."""
    top = np.array([depths[0] if depths.size else 0.0 for depths in _crossings(edge, blank, at)])
    return np.asarray(edge.chain[0] + at[:, None] * edge.along - (top + remove)[:, None] * edge.out)


def _slope(
    edge: BlankEdge,
    blank: Area,
    keep: Area,
    at: Array,
    u: Array,
    side: Array,
    ends: tuple[float, float],
) -> Array:
    """(N,) rise of the removal over +-u (at least 0.05 mm); one-sided at ends and corners."""
    half = np.maximum(u, 0.05)
    first = np.where(side > 0, at, np.clip(at - half, ends[0] + _SIDE, None))
    last = np.where(side < 0, at, np.clip(at + half, None, ends[1] - _SIDE))
    rise = _depth(edge, blank, keep, last) - _depth(edge, blank, keep, first)
    return np.asarray(np.divide(rise, last - first, out=np.zeros(len(at)), where=last > first))
