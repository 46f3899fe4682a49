"""An outline put right by a finger on its photo: a point pulled to the edge, a wrong end cut off.

What a finger set is known as well as it can aim; and how far along the line what was wrong there
reaches, nobody knows. Both are added to u as an entry of the budget of their own, so that nobody
takes a pulled point for a measured one.

A neighbour that follows a pull d by the share w may have been right as it was traced, or wrong by
all of d. Half way up the step any place between is as likely (rectangular over d: d / sqrt(12),
JCGM 100, 4.3.7); at the pulled point and where the step ends nothing is open. Between, the
standard uncertainty is d sqrt(w (1 - w) / 3), which is just that at w = 0, 1/2 and 1.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.geom.polyline import stations
from scribe.outline import Outline
from scribe.recipes.sight import Sight

Array = npt.NDArray[np.float64]
End = Literal["start", "end"]

# Standard deviation with which somebody aims through the glass, in pixels of the screen (of
# CSS: 1/96 inch at arm's length; common practice, no source).
AIM_PX = 1.5
BY_HAND = "by hand"
_PUT_RIGHT = ", put right by hand"
_REACH = 1.0 / 12.0  # of the outline's length in the photo, to each side of a pulled point
_LEAST_REACH = 3.0  # mm
_SLOPE = 3.0  # times the pull: the step then is never steeper than 1 in 2
_FEWEST = 10  # points that must be left
_RIGHT, _BELOW = np.array([1.0, 0.0]), np.array([0.0, 1.0])
_FAR = 0.25  # of the outline's length in the photo: no correction is larger


def pulled(outline: Outline, sight: Sight, start: Array, to: Array, px_shown: float) -> Outline:
    """The outline through the point that lies under `to`; (2,) px each.

    Its neighbours follow with a smooth step that reaches a twelfth of the length that the photo
    shows to both sides, further for a long pull.
    """
    a, b = sight.sheet(np.stack([start, to]))
    s = stations(outline.points)
    length = float(np.ptp(s[sight.first : sight.first + len(sight.outline_px)]))
    away = np.hypot(*(outline.points - a).T)
    if away.min() > _FAR * length or np.hypot(*(b - a)) > _FAR * length:
        raise ScribeError(
            "correction-too-far",
            what="that point is too far from the outline to be a correction of it",
            where=sight.photo,
            do="show the other edge with a few taps instead, and let it be traced again",
        )
    reach = max(_REACH * length, _LEAST_REACH, _SLOPE * float(np.hypot(*(b - a))))
    near = np.clip(1.0 - np.abs(s - s[away.argmin()]) / reach, 0, 1)
    weight = near * near * (3.0 - 2.0 * near)
    aim = AIM_PX * px_shown * _mm_per_px(sight, to)
    follows = float(np.hypot(*(b - a))) * np.sqrt(weight * (1.0 - weight) / 3.0)
    before = outline.budget.get(BY_HAND, np.zeros(len(outline)))
    part = np.sqrt(before**2 + (weight * aim) ** 2 + follows**2)
    points = outline.points + weight[:, None] * (b - a)
    return _with(outline, points, part)


def cut_off(outline: Outline, sight: Sight, at: Array, drop: End) -> Outline:
    """What lies beyond the point under the pixel `at` (2,) is no part of the outline."""
    point = sight.sheet(at[None])[0]
    nearest = int(np.hypot(*(outline.points - point).T).argmin())
    kept = slice(nearest, None) if drop == "start" else slice(0, nearest + 1)
    if len(outline.points[kept]) < _FEWEST:
        raise ScribeError(
            "correction-leaves-nothing",
            what="hardly anything of the outline would be left",
            where=sight.photo,
            do="cut off less, or trace it again",
        )
    return outline.part(kept).with_(origin=_origin(outline))


def pixels_of(outline: Outline, sight: Sight, dropped: int = 0) -> Sight:
    """The sight with the pixels of a corrected outline: the grid read backwards (Newton).

    dropped: how many points the correction took off its beginning.
    """
    first = sight.first - dropped
    last = min(first + len(sight.outline_px), len(outline))
    points = outline.points[max(first, 0) : max(last, 0)]
    pixels = sight.outline_px[max(-first, 0) :][: len(points)]
    for _ in range(4):
        here = sight.sheet(pixels)
        jx = sight.sheet(pixels + _RIGHT) - here
        jy = sight.sheet(pixels + _BELOW) - here
        off = points - here
        det = jx[:, 0] * jy[:, 1] - jx[:, 1] * jy[:, 0]
        dx = (off[:, 0] * jy[:, 1] - off[:, 1] * jy[:, 0]) / det
        dy = (jx[:, 0] * off[:, 1] - jx[:, 1] * off[:, 0]) / det
        pixels = pixels + np.stack([dx, dy], axis=1)
    return replace(sight, outline_px=pixels, first=max(first, 0))


def _mm_per_px(sight: Sight, at: Array) -> float:
    here, right, below = sight.sheet(np.stack([at, at + _RIGHT, at + _BELOW]))
    return float(max(np.hypot(*(right - here)), np.hypot(*(below - here))))


def _with(outline: Outline, points: Array, by_hand: Array) -> Outline:
    others = outline.budget or {"stated": outline.u}
    budget = {name: part for name, part in others.items() if name != BY_HAND} | {BY_HAND: by_hand}
    u = np.sqrt(np.sum([part**2 for part in budget.values()], axis=0))
    return replace(outline, points=points, u=u, budget=budget, origin=_origin(outline))


def _origin(outline: Outline) -> str:
    return outline.origin if outline.origin.endswith(_PUT_RIGHT) else outline.origin + _PUT_RIGHT
