"""The outermost edge of a comb along scan lines parallel to its pins, and the light below it.

In: a view and the comb found in it. Out: an `Edge` in the gauge's frame, to a small part of a
pixel. A soft shadow is not an edge: what is much less sharp than the rest is left out. The sharp
border of a shadow is one; see `past_shadow`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.profile import fit_step
from scribe.capture.gauge.find import Comb, Frame, no_contrast, not_found
from scribe.capture.view import View

Array = npt.NDArray[np.float64]

SCAN = 0.09  # mm, between scan lines
NEAREST_MM = 0.6  # how far a rough column tells where to look
SHARP = 2.0  # times the usual blur, or the marks': what is softer is a shadow's edge
LEAST_SHARP = 0.5  # part of the edge that must be sharp
_LEAST_CONTRAST = 0.10  # of the paper's light
_DEEP = 5.0  # mm inside of the tips where the pins' light is read
_SHADOW = 0.4  # part of the step from pins to paper beyond which it is no pin
_NEIGHBOURS = 1.5  # mm to each side over which both are judged


@dataclass(frozen=True)
class Edge:
    """The fitted edge. s: (N,) even; t: (N,) nan where not found."""

    s: Array
    t: Array

    def bridged(self) -> Array:
        """(N,) t with what was not found filled in straight."""
        seen = np.isfinite(self.t)
        return np.interp(self.s, self.s[seen], self.t[seen])


def outermost(view: View, comb: Comb) -> Edge | None:
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
    have = np.abs(comb.s[nearest] - s) < NEAREST_MM
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
        & (fit.blur < SHARP * np.median(fit.blur[fit.ok]))
        & (fit.blur < SHARP * view.blur_px * pixel)
    )
    if good.sum() < LEAST_SHARP * fit.ok.sum():
        return None
    t = np.full(len(s), np.nan)
    t[have] = np.where(good, start + fit.position, np.nan)
    return Edge(s, t)


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
