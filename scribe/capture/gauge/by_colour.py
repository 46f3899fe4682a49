"""The tips of a comb whose pins have a colour, which no shadow hides.

In: the view of the plane in which the tips lie. Out: `Tips`, and the paper's light. The colour
tells roughly where each pin ends and its shadow begins. Tips that were found by their light are
taken where they end there; where most don't, they are looked for once more in a light in which the
pins are darker than any shadow.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.profile import StepFit, fit_step
from scribe.capture.edges.tinted import PAPER, Deepened, Tinted, tinted
from scribe.capture.gauge.edge import SCAN, Edge
from scribe.capture.gauge.find import Comb, Frame, find_comb
from scribe.capture.gauge.goes_on import refuse_going_on
from scribe.capture.gauge.past_shadow import find_edge
from scribe.capture.gauge.same_pin import same_pin
from scribe.capture.gauge.tips import Tips, find_tips
from scribe.capture.view import View
from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]

_SHARE = 0.2  # of all that lies on the paper: body and shadow are large beside the pins
_DEEP_MM, _SOME = np.linspace(2.0, 12.0, 11)[:, None], 0.25  # behind their ends: between shadow
# and body some of it shows the pins themselves
_ACROSS = np.linspace(-0.3, 0.3, 5)  # of the pitch, from a pin's middle
_REACH, _SAMPLE = 1.5, 0.08  # mm along the pins
# mm before and behind a rough end, and between samples, of which so many in a row show the colour
_BEFORE, _BEHIND, _COARSE, _LASTS = 2.0, 14.0, 0.2, 3
_OFF_MM = 0.3  # by which the light's end of a pin may differ,
_USUALLY_MM, _SCATTER_MM = 0.05, 0.03  # the ends of all on average, and they among themselves,
_SCATTER = 1.5  # or times what the colour knows them to
_MOST = 0.8  # of the pins
_CLEAR = 0.5  # of the step from thing to paper
_SOFTENED_U = 0.02  # mm: what ends are rounded by colours, which are kept at half size


def tips_told(view: View, near: Array | None) -> Tips:
    """Every pin's apex, by its light and its colour.

    Refuses with gauge-not-found, gauge-no-contrast, gauge-shadow.
    """
    seen = tinted(view, _SHARE)
    if seen is None:
        return _by_light(view, near)
    try:
        tips = _by_light(view, near)
        if not _coloured(seen, tips):  # the colour is a hand's, or of the gauge's body
            return tips
        off, u = _off(seen, tips)
        if tips.shown > _MOST and _borne_out(off, u):
            return tips.only(np.abs(off) < _OFF_MM)
        refused = None
    except ScribeError as error:
        refused = error
    try:
        return _by_colour(view, seen, near)
    except ScribeError as error:
        raise (refused or error) from error


def _by_light(view: View, near: Array | None) -> Tips:
    comb = find_comb(view, near)
    tips = find_tips(view, comb, find_edge(view, comb))
    refuse_going_on(view, tips, comb.paper)
    return tips.only(same_pin(view, tips, comb.paper))


def _by_colour(view: View, seen: Tinted, near: Array | None) -> Tips:
    comb = find_comb(Deepened(view, seen), near)
    # A JPEG keeps colours in blocks, and along the edge of a board they repeat as pins' ends do.
    tips = find_tips(view, comb, _edge(seen, comb), by_lines=True)
    off, u = _off(seen, tips)
    told = np.abs(off) < _OFF_MM
    return replace(tips, t=tips.t + off, u=np.hypot(u, _SOFTENED_U)).only(told)


def _coloured(seen: Tinted, tips: Tips) -> bool:
    """Whether it is the pins that have the colour."""
    light = seen.light(tips.frame.sheet(tips.s, tips.t - _DEEP_MM))
    return bool(np.nanquantile(light, _SOME) < 0.5 * PAPER)


def _borne_out(off: Array, u: Array) -> bool:
    """Whether tips that were found by their light end, but for a few, where the colour does."""
    told = np.isfinite(off)
    if np.mean(np.abs(off) < _OFF_MM) < _MOST:
        return False
    usual = float(np.median(off[told]))
    scatter = 1.4826 * float(np.median(np.abs(off[told] - usual)))
    return abs(usual) < _USUALLY_MM and scatter < max(_SCATTER_MM, _SCATTER * np.median(u[told]))


def _edge(seen: Tinted, comb: Comb) -> Edge:
    """The edge of the pins along scan lines, where their colour ends."""
    known = np.isfinite(comb.top)
    s = np.arange(comb.s[0], comb.s[-1], SCAN)
    rough = _onto_pins(seen, comb.frame, s, np.interp(s, comb.s[known], comb.top[known]))
    fit = _ends(seen, comb.frame, s[:, None], rough[:, None])
    return Edge(s, np.where(fit.ok, rough + fit.position, np.nan))


def _onto_pins(seen: Tinted, frame: Frame, s: Array, t: Array) -> Array:
    """(N,) t where the colour begins, coming from outside: t may be a shadow's border."""
    inwards = np.arange(_BEFORE, -_BEHIND, -_COARSE)
    light = np.nan_to_num(seen.light(frame.sheet(s[:, None], t[:, None] + inwards)), nan=PAPER)
    lasting = np.lib.stride_tricks.sliding_window_view(light, _LASTS, axis=1).max(axis=2)
    on = lasting < 0.5 * PAPER
    return np.where(on.any(axis=1), t + inwards[on.argmax(axis=1)], t)


def _off(seen: Tinted, tips: Tips) -> tuple[Array, Array]:
    """(K,) mm by which the colour ends further out than the tips were found, nan where it has no
    clear end, and its standard uncertainty.
    """
    across = _ACROSS * tips.pitch
    fit = _ends(
        seen, tips.frame, tips.s[:, None] + across, tips.t[:, None] - tips.shape.seen(across)
    )
    return np.where(fit.ok, fit.position, np.nan), fit.u


def _ends(seen: Tinted, frame: Frame, s: Array, t: Array) -> StepFit:
    """Where the colour ends along the pins, from (N, A) places s, t that are taken together."""
    along = np.arange(-_REACH, _REACH + _SAMPLE, _SAMPLE)
    rows = np.nan_to_num(seen.light(frame.sheet(s[..., None], t[..., None] + along)), nan=PAPER)
    pixel = float(np.median(seen.pixel(frame.sheet(s[:, 0], t[:, 0]))))
    fit = fit_step(along, rows.mean(axis=1), pixel=pixel, near=np.zeros(len(rows)))
    return replace(fit, ok=fit.ok & (fit.high - fit.low > _CLEAR * PAPER))
