"""Two strands put end to end as one: cross-faded where they overlap, sharp where they meet.

Both lie in one frame and run the same way; the second begins where the first ends.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.geom.polyline import nearest, point_at, stations
from scribe.shape.strand import Strand, chained

Array = npt.NDArray[np.float64]

_SAME_MM = 1e-6


def faded(first: Strand, second: Strand) -> Strand:
    """Within the overlap each yields to the other evenly, and errors by the same weights.

    Places are those of the one with the closer points.
    """
    s, t = stations(first.points), stations(second.points)
    begin = float(nearest(second.points[:1], first.points).station[0])
    end = float(nearest(first.points[-1:], second.points).station[0])
    place_1, place_2 = s[s > begin], t[t < end]
    if np.median(np.diff(s)) <= np.median(np.diff(t)):
        place_2 = nearest(point_at(first.points, place_1), second.points).station
    else:
        place_1 = nearest(point_at(second.points, place_2), first.points).station
    onward = (np.diff(place_1, prepend=begin) >= 0.0) & (np.diff(place_2, prepend=0.0) >= 0.0)
    place_1, place_2 = place_1[onward], place_2[onward]
    weight = np.clip((place_1 - begin) / max(s[-1] - begin, _SAME_MM), 0.0, 1.0)
    both = _weighed(first.at(place_1), second.at(place_2), weight)
    return chained([first.part(s <= begin), both, second.part(t >= end)])


def _weighed(one: Strand, two: Strand, weight: Array) -> Strand:
    w, v = weight[:, None], 1.0 - weight[:, None]
    zero = np.zeros(len(weight))
    return Strand(
        v * one.points + w * two.points,
        np.where(weight < 0.5, one.measured, two.measured),
        {
            name: np.hypot(
                (1.0 - weight) * one.own.get(name, zero), weight * two.own.get(name, zero)
            )
            for name in sorted(one.own.keys() | two.own.keys())
        },
        {name: v * one.shared[name] + w * two.shared[name] for name in one.shared},
    )


@dataclass(frozen=True)
class Crossing:
    """Segments of a first and a second line, and mm along each to where they cross."""

    segment_1: int
    segment_2: int
    at_1: float
    at_2: float


def crossings(first: Array, second: Array) -> list[Crossing]:
    """Where two polylines cross, that first which cuts off the least of both."""
    a, b = first[:-1, None], np.diff(first, axis=0)[:, None]
    c, d = second[None, :-1], np.diff(second, axis=0)[None]
    cross = b[..., 0] * d[..., 1] - b[..., 1] * d[..., 0]
    away = c - a
    with np.errstate(divide="ignore", invalid="ignore"):
        share_1 = (away[..., 0] * d[..., 1] - away[..., 1] * d[..., 0]) / cross
        share_2 = (away[..., 0] * b[..., 1] - away[..., 1] * b[..., 0]) / cross
    hit = (share_1 >= 0.0) & (share_1 <= 1.0) & (share_2 >= 0.0) & (share_2 <= 1.0)
    s, t = stations(first), stations(second)
    found = [
        Crossing(
            int(i),
            int(j),
            float(s[i] + share_1[i, j] * (s[i + 1] - s[i])),
            float(t[j] + share_2[i, j] * (t[j + 1] - t[j])),
        )
        for i, j in np.argwhere(hit)
    ]
    return sorted(found, key=lambda each: each.at_2 - each.at_1)


def cut_at(first: Strand, second: Strand, crossing: Crossing) -> Strand:
    """Both cut where they cross. The crossing moves with both lines, each across itself."""
    i, j = crossing.segment_1, crossing.segment_2
    s, t = stations(first.points), stations(second.points)
    one, two = first.at(np.array([crossing.at_1])), second.at(np.array([crossing.at_2]))
    square = np.array([_across(first.points[i : i + 2]), _across(second.points[j : j + 2])])
    back = np.linalg.inv(square)
    middle = square.sum(axis=0) / np.hypot(*square.sum(axis=0))
    share = np.abs(middle @ back)
    own = {
        name: np.hypot(
            share[0] * one.own.get(name, np.zeros(1)), share[1] * two.own.get(name, np.zeros(1))
        )
        for name in sorted(one.own.keys() | two.own.keys())
    }
    shared = {}
    for name in one.shared:
        sides = np.stack([one.shared[name][:, 0] @ square[0], two.shared[name][:, 0] @ square[1]])
        shared[name] = (back @ sides).T[:, None, :]
    corner = Strand(one.points, one.measured & two.measured, own, shared)
    before, after = s < crossing.at_1 - _SAME_MM, t > crossing.at_2 + _SAME_MM
    return chained([first.part(before), corner, second.part(after)])


def _across(segment: Array) -> Array:
    along = segment[1] - segment[0]
    return np.asarray(np.array([-along[1], along[0]]) / np.hypot(*along))
