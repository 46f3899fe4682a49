"""The edge between paper and pins along scan lines parallel to the pins, and the light below it.

In: a view and the comb found in it. Out: an `Edge` in the gauge's frame, to a small part of a
pixel. A soft shadow is not an edge: what is much less sharp than the rest is left out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.behind_shadow import fit_behind_shadow
from scribe.capture.edges.profile import fit_step
from scribe.capture.edges.scan import Stations, running_median
from scribe.capture.edges.walk import LEAST_CHANGE, SAMPLE, Walk
from scribe.capture.gauge.find import Comb, Frame, no_contrast, not_found
from scribe.capture.view import View
from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]

SCAN = 0.09  # mm, between scan lines
_LEAST_CONTRAST = 0.10  # of the paper's light
_SHARP = 2.0  # times the usual blur, or the marks': what is softer is a shadow's edge
_LEAST_SHARP = 0.5  # part of the edge that must be sharp
_DEEP = 5.0  # mm inside of the tips where the pins' light is read
_SHADOW = 0.4  # part of the step from pins to paper beyond which it is no pin
_NEIGHBOURS = 1.5  # mm to each side over which both are judged
_NEAREST_MM = 0.6  # how far a rough column tells where to look
_BEFORE, _BEHIND = 2.0, 10.0  # mm before and behind the border of a shadow that are looked at
_APART, _PLAIN = 6, 60  # samples between two steps, and of a pin behind its end
# Part of the comb whose pins may seem to end behind the edge that was found: mm along it that are
# put together, so that gaps between pins don't count, and mm of a shadow at most.
_HIDDEN, _PINS, _LONGEST = 0.1, 2.0, 6.0
_WHOLE = 0.8  # part of the columns that show where to look
_CORNER, _OVER = 4, 0.6  # columns that show the body's corner; mm that pins stick out of it
_STANDS_OUT = 3.0  # times what is left over: a step
_PIN, _OFF = 0.6, 0.3  # mm about the half of a wide pin; by which its columns may differ
_ABREAST = 0.12  # mm across the pins that are averaged


@dataclass(frozen=True)
class Edge:
    """The fitted edge. s: (N,) even; t: (N,) nan where not found."""

    s: Array
    t: Array

    def bridged(self) -> Array:
        """(N,) t with what was not found filled in straight."""
        seen = np.isfinite(self.t)
        return np.interp(self.s, self.s[seen], self.t[seen])


def find_edge(view: View, comb: Comb) -> Edge:
    """The edge between paper and pins along scan lines, to a small part of a pixel.

    Where only the border of a soft shadow is found, the pins' ends are looked for behind it.
    """
    column, ends = _pin_ends(view, comb)
    edge = _outermost(view, comb)
    if edge is None or _hidden(edge, column, ends):
        return _behind_shadow(view, column, ends, comb)
    return edge


def _hidden(edge: Edge, column: Array, ends: Array) -> bool:
    """Whether the pins seem to end behind the edge that was found."""
    if not len(ends):
        return False
    behind = np.interp(column, edge.s, edge.bridged()) - ends
    behind = running_median(behind, np.isfinite(behind), column, _PINS)
    return bool(np.mean((behind > _OFF) & (behind < _LONGEST)) > _HIDDEN)


def _outermost(view: View, comb: Comb) -> Edge | None:
    """The edge where coming from the paper the light falls first; None where it's a shadow's."""
    s = np.arange(comb.s[0], comb.s[-1], SCAN)
    known = np.nonzero(np.isfinite(comb.top))[0]
    if len(known) * (comb.s[1] - comb.s[0]) < 5.0:
        raise not_found(view, "no row of pin ends was found on the paper")
    # Where a streak as light as the paper hid the edge, the nearest column shows where to look.
    after = np.clip(np.searchsorted(comb.s[known], s), 1, len(known) - 1)
    pair = comb.s[known[np.stack([after - 1, after])]]
    nearest = np.where(s - pair[0] < pair[1] - s, known[after - 1], known[after])
    rough = comb.top[nearest]
    have = np.abs(comb.s[nearest] - s) < _NEAREST_MM
    pixel = view.pixel(comb.frame.sheet(s[have], rough[have]))
    size = float(np.median(pixel))
    reach = max(0.7, 6.0 * size)
    away = np.linspace(-reach, reach, 2 * round(reach / (0.75 * size)) + 1)
    start, limit = _past_shadow(view, comb, s[have], rough[have])
    lines = view.light(comb.frame.sheet(s[have][:, None], start[:, None] + away))
    lines = np.nan_to_num(lines)
    fit = fit_step(away, lines, pixel=pixel, near=np.zeros(len(lines)))
    contrast = fit.high - fit.low
    if not fit.ok.any() or np.median(contrast[fit.ok]) < _LEAST_CONTRAST * comb.paper:
        raise no_contrast(view)
    good = (
        fit.ok
        & (contrast > _LEAST_CONTRAST * comb.paper)
        & (fit.low < limit)
        & (fit.blur < _SHARP * np.median(fit.blur[fit.ok]))
        & (fit.blur < _SHARP * view.blur_px * pixel)
    )
    if good.sum() < _LEAST_SHARP * fit.ok.sum():
        return None
    t = np.full(len(s), np.nan)
    t[have] = np.where(good, start + fit.position, np.nan)
    return Edge(s, t)


def _pin_ends(view: View, comb: Comb) -> tuple[Array, Array]:
    """(K,) s of the comb's columns and t, to 0.1 mm, of the end of the pin that each lies on.

    Nothing on a pin's way is as sharp as its end: the first step that is the last for long.
    """
    known = np.isfinite(comb.top)
    rough = np.interp(comb.s, comb.s[known], comb.top[known])
    depth = np.arange(_BEFORE, -_BEHIND, -SAMPLE)
    beside = comb.s[:, None] + 0.5 * _ABREAST * np.array([-1.0, 1.0])
    points = comb.frame.sheet(beside[:, :, None], (rough[:, None] + depth)[:, None, :])
    light = np.nan_to_num(view.light(points)).mean(axis=1)
    walk = Walk(-depth, light / comb.paper, np.full((len(light), 1), comb.paper))
    crest = walk.stepped(_APART) & (np.abs(walk.steps()) > LEAST_CHANGE)
    # The body sticks out past the pins on both sides, and no pin ends at it or below.
    if known.mean() > _WHOLE:  # else only a part is asked for
        left, right = comb.top[known][:_CORNER].mean(), comb.top[known][-_CORNER:].mean()
        body = np.interp(comb.s, comb.s[[0, -1]], [left, right])
        crest &= rough[:, None] + depth > body[:, None] + _OVER
    place = np.where(crest, np.arange(len(depth)), len(depth) + _PLAIN)
    following = np.minimum.accumulate(place[:, ::-1], axis=1)[:, ::-1]
    last = crest[:, :-1] & (following[:, 1:] - place[:, :-1] > _PLAIN)
    found = last.any(axis=1)
    return comb.s[found], (rough + depth[np.argmax(last, axis=1)])[found]


def _behind_shadow(view: View, column: Array, ends: Array, comb: Comb) -> Edge:
    """The edge behind a shadow, which the pins' light may be as light as."""
    if not len(ends):
        raise _shadowed(view)
    # A streak as light as the shadow hides the end, and what is found there lies further out.
    pin = np.abs(column[:, None] - column) < _PIN
    inner = np.nanquantile(np.where(pin, ends, np.nan), 0.25, axis=1)
    ends = np.where(ends > inner + _OFF, inner, ends)
    s = np.arange(comb.s[0], comb.s[-1], SCAN)
    nearest = np.abs(s[:, None] - column).argmin(axis=1)
    have = np.abs(column[nearest] - s) < _NEAREST_MM
    start = ends[nearest[have]]
    along = comb.frame.turned(np.zeros(1), np.ones(1))
    where = Stations(
        comb.frame.sheet(s[have], start), np.broadcast_to(along, (len(start), 2)), s[have]
    )
    fit = fit_behind_shadow(view, where, SCAN, most=_SHARP * view.blur_px)
    good = fit.ok & (np.abs(fit.position) < _OFF)
    # Where the streak hides the end there is no step, and nothing is said.
    step = np.abs(fit.high - fit.low) > _STANDS_OUT * fit.noise
    if good.sum() < _LEAST_SHARP * step.sum() or not good.any():
        raise _shadowed(view)
    t = np.full(len(s), np.nan)
    t[have] = np.where(good, start + fit.position, np.nan)
    return Edge(s, t)


def _shadowed(view: View) -> ScribeError:
    """The refusal of pins that can't be told from their shadow."""
    return ScribeError(
        "gauge-shadow",
        what="the pins' ends can't be told from their shadow",
        where=view.where,
        do="turn the sheet so that the light falls on the side that touched, or light it"
        " from both sides, and take the photo again",
    )


def _past_shadow(view: View, comb: Comb, s: Array, rough: Array) -> tuple[Array, Array]:
    """(N,) t where the pins' own light begins, and (N,) the light beyond which it is no pin.

    The rough edge may be that of the pins' shadow on the paper beyond their tips: there the
    light is nearer to the paper's than the pins' is.
    """
    away = np.arange(-_DEEP, 0.4, SCAN)
    light = np.nan_to_num(view.light(comb.frame.sheet(s[:, None], rough[:, None] + away)))
    side = round(_NEIGHBOURS / SCAN)
    deep = np.median(light[:, away < -0.6 * _DEEP], axis=1)
    padded = np.pad(deep, side, mode="edge")
    pins = np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * side + 1), axis=1)
    limit = pins + _SHADOW * (comb.paper - pins)
    lighter = light > limit[:, None]
    shaded = np.median(light[:, (away > -0.5) & (away < -0.2)], axis=1) > limit
    # Inwards from the rough edge, the first place from which on it is as dark as pins.
    lasting = np.maximum.accumulate(lighter, axis=1)
    first = np.where(lasting.any(axis=1), lasting.argmax(axis=1), len(away) - 1)
    moved = np.where(shaded, away[first], 0.0)
    padded = np.pad(moved, side, mode="edge")
    moved = np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * side + 1), axis=1)
    return rough + np.where(np.abs(moved) > SCAN, moved, 0.0), limit


def light_below(view: View, frame: Frame, edge: Edge) -> Array:
    """(N,) light below the tips, averaged along the pins."""
    level = edge.bridged()
    depth = np.arange(1.0, 4.6, 0.4)
    light = view.light(frame.sheet(edge.s, level - depth[:, None]))
    return np.asarray(np.nan_to_num(light).mean(axis=0))
