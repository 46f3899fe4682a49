"""Read which sheet it is: the number markers, at the places where they must lie.

Once the place markers have given a first camera, the modules of every number marker are
read where they are, upright, so that no search through a dictionary is needed and a marker
of a few pixels still speaks. Sheets are told apart by all markers together.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from functools import cache

import numpy as np
import numpy.typing as npt

from scribe.capture.photo import Photo
from scribe.capture.sheet.marker_bits import marker_bits
from scribe.errors import ScribeError
from scribe.target import DICTIONARY, LAST_NUMBER, MODULES, NUMBER_BASE, Target, numbered

Array = npt.NDArray[np.float64]
SeenAt = Callable[[Array], Array]

_WRONG_MODULES = 2  # of 25: fewer than half of what parts any two markers of the dictionary
_CONTRAST = 0.02  # linear light between a marker's border and the paper round it
_SECOND_PRINT = 3  # this many markers of another sheet are not a misreading
_WITHIN = (np.arange(3) - 1.0) / 4.0  # samples inside a module, of its side, about its middle


def with_number(photo: Photo, target: Target, seen_at: SeenAt, stretch: Array) -> Target:
    """The same sheet with the number read off the photo; refuses two numbers, or none.

    seen_at: px of points (..., 2) mm of the sheet.
    """
    if target.form == "board":
        return target
    read = Counter(_numbers(photo, target.markers[~target.is_place] * stretch, seen_at))
    common = read.most_common(2)
    if len(common) == 2 and common[1][1] >= _SECOND_PRINT:
        raise ScribeError(
            "photo-two-prints",
            what=f"the photo shows parts of sheet no. {common[0][0]} and of no. {common[1][0]}",
            where=photo.name,
            do="leave one sheet in view, cover or remove the others, and take the photo again",
        )
    if not common:
        raise ScribeError(
            "photo-no-number",
            what="the marks that say which sheet this is can't be read",
            where=photo.name,
            do="uncover more of the marks, get closer, and take the photo again",
        )
    return numbered(target, common[0][0])


def _numbers(photo: Photo, markers: Array, seen_at: SeenAt) -> list[int]:
    """The sheet number that each marker (N, 4, 2) mm says, where it can be read."""
    origin = markers[:, 0]
    across, down = markers[:, 1] - origin, markers[:, 3] - origin
    light = _sampled(photo, seen_at, origin, across, down, np.arange(MODULES, dtype=np.float64))
    border = np.ones((MODULES, MODULES), bool)
    border[1:-1, 1:-1] = False
    dark = np.median(light[:, border], axis=1)
    outside = _sampled(photo, seen_at, origin, across, down, np.array([-0.9, MODULES - 0.1]))
    paper = np.median(outside.reshape(len(markers), -1), axis=1)
    readable = np.isfinite(light).all(axis=(1, 2)) & (paper - dark > _CONTRAST)
    black = light[:, 1:-1, 1:-1] < (0.5 * (dark + paper))[:, None, None]
    wrong = (black.reshape(len(markers), 1, -1) != _codes()).sum(axis=2)
    best = wrong.argmin(axis=1)
    sure = readable & (wrong[np.arange(len(markers)), best] <= _WRONG_MODULES)
    return [int(number) + 1 for number in best[sure]]


def _sampled(
    photo: Photo, seen_at: SeenAt, origin: Array, across: Array, down: Array, modules: Array
) -> Array:
    """(N, M, M) mean light of the modules whose indices are given, rows downwards."""
    at = ((modules[:, None] + 0.5 + _WITHIN).ravel()) / MODULES
    points = (
        origin[:, None, None]
        + at[None, None, :, None] * across[:, None, None]
        + at[None, :, None, None] * down[:, None, None]
    )
    light = photo.light(seen_at(points))
    size, inner = len(modules), len(_WITHIN)
    return np.asarray(light.reshape(len(origin), size, inner, size, inner).mean(axis=(2, 4)))


@cache
def _codes() -> npt.NDArray[np.bool_]:
    """(LAST_NUMBER, 25) black modules of every number marker."""
    bits = marker_bits(DICTIONARY, range(NUMBER_BASE, NUMBER_BASE + LAST_NUMBER))
    return np.array([bits[key][1:-1, 1:-1].ravel() for key in sorted(bits)])
