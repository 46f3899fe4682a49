"""Where the pins of a comb end, to a tenth of a millimetre, when a shadow may lie beyond them.

In: a view and the comb found in it. Out: places along the comb's columns. The pins reach at least
as far out as rows across them show the same pins (`rows`). From there a column keeps its light to
the end of its pin, and changes there sharply: to paper or to shadow, up or down. Where a shadow is
just as light as the column, it changes at the shadow's border only; its neighbours know better.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from scribe.capture.edges.walk import SAMPLE, Walk
from scribe.capture.gauge.find import Comb
from scribe.capture.gauge.rows import pins_from
from scribe.capture.view import View

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]

_BEFORE, _BEHIND = 2.0, 14.0  # mm before and behind the rough upper side that are looked at
_ABREAST = 0.12  # mm across the pins that are averaged to a column
_FINE, _ACROSS = 0.1, 0.75  # mm between the columns of a row; to both sides that show pin and gaps
_OWN = (4, 16)  # samples inside of the first row of pins that show a column's own light
_INSIDE = 2  # samples by which the end may lie inside of that row
_STANDS_OUT, _CHANGED = 4.0, 0.02  # times the noise, parts of the paper's light: other light
_LASTS = 3  # samples of it
_OUT, _IN, _SHARPLY = 4, 3, 0.6  # samples over which so much of the change takes place
_CORNER, _OVER = 4, 0.6  # columns that show the body's corner; mm that pins stick out of it
_WHOLE = 0.8  # part of the columns that show where to look
_GAP_MM, _SOME = 1.0, 0.3  # between parts of a row of pins; part of the columns that is some
_MARGIN_MM = 0.8  # at both ends, where half of a row shows no pins


@dataclass(frozen=True)
class Ends:
    """s: (K,) of columns, and t: mm, of the end of the pin that each lies on. Columns without an
    end are left out, and all where pins look plain.

    low, high: between which s rows show pins; all of the comb where they don't.
    """

    s: Array
    t: Array
    low: float
    high: float


def pin_ends(view: View, comb: Comb) -> Ends:
    """The rough ends of the pins of a comb."""
    known = np.isfinite(comb.top)
    rough = np.interp(comb.s, comb.s[known], comb.top[known])
    depth = np.arange(_BEFORE, -_BEHIND, -SAMPLE)
    beside = comb.s[:, None] + 0.5 * _ABREAST * np.array([-1.0, 1.0])
    points = comb.frame.sheet(beside[:, :, None], (rough[:, None] + depth)[:, None, :])
    light = np.nan_to_num(view.light(points)).mean(axis=1) / comb.paper
    pins_t = _pins_from(view, comb, rough)
    first = np.floor((rough + depth[0] - pins_t) / SAMPLE)
    step = _first_change(light, np.clip(first, 0, len(depth)).astype(np.int64))
    t = rough + depth[np.maximum(step, 0)]
    found = step >= 0
    # The body sticks out past the pins on both sides, and no pin ends at it or below.
    if known.mean() > _WHOLE:  # else only a part is asked for
        left, right = comb.top[known][:_CORNER].mean(), comb.top[known][-_CORNER:].mean()
        found &= t > np.interp(comb.s, comb.s[[0, -1]], [left, right]) + _OVER
    return Ends(comb.s[found], t[found], *_widest(comb.s, np.isfinite(pins_t)))


def _widest(s: Array, shown: Mask) -> tuple[float, float]:
    """The longest part of (M,) s that is shown but for small gaps; all of it if that is little."""
    at = np.nonzero(shown)[0]
    parts = np.split(at, np.nonzero(np.diff(s[at]) > _GAP_MM)[0] + 1)
    longest = max(parts, key=len)
    if len(longest) < _WHOLE * len(at) or len(longest) < _SOME * len(s):
        return float(s[0]), float(s[-1])
    return float(s[longest[0]]) - _MARGIN_MM, float(s[longest[-1]]) + _MARGIN_MM


def _pins_from(view: View, comb: Comb, rough: Array) -> Array:
    """(M,) t of the comb's columns from which on inwards rows are those of pins; high above where
    none is.
    """
    s = np.arange(comb.s[0], comb.s[-1], _FINE)
    across = 2 * round(_ACROSS / _FINE) + 1
    # Rows follow the comb behind all that a row shows of it.
    top = cv2.erode(np.interp(s, comb.s, rough)[None], np.ones((1, across)))[0]
    depth = np.append(np.arange(_BEFORE, -_BEHIND, -SAMPLE), np.inf)
    light = np.nan_to_num(view.light(comb.frame.sheet(s, top + depth[:-1, None]))) / comb.paper
    from_t = top + depth[pins_from(light, across, SAMPLE)]
    return np.asarray(from_t[np.clip(np.searchsorted(s, comb.s), 0, len(s) - 1)])


def _first_change(light: Array, first: Index) -> Index:
    """(M,) sample at which a column's light (M, D) sharply becomes another, coming from the first
    row of pins; -1 where there is none.
    """
    place = np.arange(light.shape[1])
    inner = np.minimum(first[:, None] + np.arange(*_OWN), len(place) - 1)
    inside_light = np.take_along_axis(light, inner, axis=1)
    own = np.median(inside_light, axis=1, keepdims=True)
    away = np.abs(light - own)
    noise = 1.4826 * float(np.median(np.abs(inside_light - own)))
    changed = away > max(_STANDS_OUT * noise, _CHANGED)
    lasting = np.lib.stride_tricks.sliding_window_view(changed, _LASTS, axis=1).all(axis=2)
    lasting = np.pad(lasting, ((0, 0), (_LASTS - 1, 0)))
    padded = np.pad(light, ((0, 0), (_OUT, _IN)), mode="edge")
    outside, inside = padded[:, : len(place)], padded[:, _OUT + _IN :]
    sharp = np.abs(outside - inside) > _SHARPLY * np.abs(outside - own)
    reached = lasting & sharp & (place <= first[:, None] + _INSIDE)
    last = np.where(reached, place, -1).max(axis=1)
    near = np.abs(place - last[:, None]) <= _OUT
    height = np.abs(
        Walk(SAMPLE * place.astype(np.float64), light, np.ones((len(light), 1))).steps()
    )
    step = np.where(near, height, -1.0).argmax(axis=1)
    return np.where(last >= 0, step, -1)
