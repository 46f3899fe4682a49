"""The edge of the pins, also where their own shadow lies on the paper beyond them.

In: a view and the comb found in it. Out: an `Edge`. In hard light the outermost edge is in part
the border of the comb's shadow, as sharp as the pins and maybe as dark. Where most pins end behind
it (`ends`), their ends are looked for there; where they can't be seen nothing is said, and where
that is much, the photo is refused.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.behind_shadow import fit_behind_shadow
from scribe.capture.edges.scan import Stations
from scribe.capture.gauge.edge import LEAST_SHARP, NEAREST_MM, SCAN, SHARP, Edge, outermost
from scribe.capture.gauge.ends import Ends, pin_ends
from scribe.capture.gauge.find import Comb
from scribe.capture.view import View
from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

# Pins end behind the border of a shadow by more than this (mm), and most columns around show it.
# Behind deep notches between round ends columns end further in as well, but light lies there.
_DEEP_MM, _DEEPEST_MM, _DEEP_MOST = 0.6, 1.1, 0.65
_SHALLOW_MM, _SHALLOW_MOST, _DARK = 0.2, 0.8, 0.35  # part of the step from the pins to the paper
_DEEP, _SHALLOW = 12.0, 3.0  # blurs, where those are more
_LONGEST_MM = 12.0  # of a shadow
_BESIDE_MM = 2.0  # around where a shadow ends
_AROUND_MM, _FEWEST = 1.5, 3  # of the columns around, more than so many
_OWN_MM = 0.6  # behind its end a column shows its own light
_SIDE_MM, _FOREMOST_MM = 0.35, 0.15  # see `_foremost`
_MUCH = 0.05  # of the comb that lies in its shadow
_MOSTLY = 0.5  # of the comb
_UNTOLD = 0.2  # of the comb may lie in a shadow that hides its pins' ends
_LITTLE_MM = 16.0  # of shadow may show steps and no ends
_STANDS_OUT = 3.0  # times what is left over: a step
_PIN_MM, _OFF_MM = 0.6, 0.3  # about the half of a wide pin; by which its columns may differ


def find_edge(view: View, comb: Comb) -> Edge:
    """The edge of the pins along scan lines. Refuses with gauge-shadow, gauge-no-contrast."""
    ends = pin_ends(view, comb)
    outer = outermost(view, comb)
    if outer is None:
        s = np.arange(comb.s[0], comb.s[-1], SCAN)
        hidden = (s > ends.low) & (s < ends.high)
        t = _behind(view, comb, s, ends)
    else:
        s, t, hidden = outer.s, outer.t.copy(), _hidden(view, comb, outer, ends)
        t[hidden] = _behind(view, comb, s[hidden], ends)
        # What is as light as the shadow ends unseen: the shadow's border is found once more.
        t[hidden & ~(t < outer.bridged() - _OFF_MM)] = np.nan
        if hidden.mean() > _MOSTLY:
            more = _goes_on(outer, t, hidden)
            t[more] = np.nan
            hidden |= more
    if hidden.mean() > _MUCH:  # there is shadow to the side of the comb as well
        t[(s < ends.low) | (s > ends.high)] = np.nan
    told = _around(np.isfinite(t), round(_PIN_MM / SCAN)).any(axis=1)
    if np.mean(hidden & ~told) > _UNTOLD:
        raise _shadowed(view)
    return Edge(s, t)


def _hidden(view: View, comb: Comb, edge: Edge, ends: Ends) -> Mask:
    """(N,) where most pins around end behind the edge."""
    if not len(ends.s):
        return np.zeros(len(edge.s), bool)
    border = np.interp(ends.s, edge.s, edge.bridged())
    counts = np.interp(ends.s, edge.s, _foremost(edge)) > 0.5
    away = np.where(counts & (border - ends.t < _LONGEST_MM), border - ends.t, 0.0)

    def light(t: Array) -> Array:
        return np.nan_to_num(view.light(comb.frame.sheet(ends.s, t)))

    own = light(ends.t - _OWN_MM)
    dark = light(0.5 * (border + ends.t)) < own + _DARK * (comb.paper - own)
    near = (np.abs(edge.s[:, None] - ends.s) < _AROUND_MM).astype(np.float64)
    many = near @ counts
    blur = view.blur_px * float(np.median(view.pixel(comb.frame.sheet(ends.s, ends.t))))
    deep = near @ (away > np.clip(_DEEP * blur, _DEEP_MM, _DEEPEST_MM)) > _DEEP_MOST * many
    shallow = near @ ((away > max(_SHALLOW_MM, _SHALLOW * blur)) & dark) > _SHALLOW_MOST * many
    return np.asarray((deep | shallow) & (many > _FEWEST))


def _goes_on(outer: Edge, t: Array, hidden: Mask) -> Mask:
    """(N,) where the border of a shadow goes on without a step, though pins seem to reach it: what
    is a shadow's border beside it is one there as well.

    t: (N,) of the pins' ends, nan where unseen.
    """
    more = np.zeros(len(t), bool)
    front = _around(outer.bridged(), round(_PIN_MM / SCAN)).max(axis=1)
    bounds = np.nonzero(np.diff(hidden))[0] + 1
    for bound in bounds:
        near = np.abs(outer.s - outer.s[bound]) < _BESIDE_MM
        inner = np.nonzero(near & hidden & np.isfinite(t))[0]
        if not len(inner):
            continue
        nearest = inner[np.abs(inner - bound).argmin()]
        behind = front[nearest] - t[nearest]
        steps = np.abs(np.subtract(front[3:], front[:-3]))[near[3:] & near[:-3]]
        if behind > _DEEPEST_MM and steps.max() < 0.5 * behind:
            others = np.append(bounds, [0, len(t)])
            if hidden[bound]:
                more[others[others < bound].max() : bound] = True
            else:
                more[bound : others[others > bound].min()] = True
    return more & ~hidden


def _foremost(edge: Edge) -> Mask:
    """(N,) where pins end. Between round ends and beside steps nothing is as sharp as at them."""
    bridged = edge.bridged()
    highest = _around(bridged, round(_SIDE_MM / SCAN)).max(axis=1)
    return np.asarray(np.isfinite(edge.t) & (bridged > highest - _FOREMOST_MM))


def _around(values: npt.NDArray[Any], side: int) -> npt.NDArray[Any]:
    """(N, 2 side + 1) values around each of (N,)."""
    padded = np.pad(values, side, "edge")
    return np.lib.stride_tricks.sliding_window_view(padded, 2 * side + 1)


def _behind(view: View, comb: Comb, s: Array, ends: Ends) -> Array:
    """(N,) t of the pins' ends at s, behind a shadow that the pins' light may be as light as; nan
    where they can't be seen.
    """
    # A streak as light as the shadow hides the end, and what is found there lies further out.
    pin = np.abs(ends.s[:, None] - ends.s) < _PIN_MM
    inner = np.nanmedian(np.where(pin, ends.t, np.nan), axis=1)
    own = np.where(ends.t > inner + _OFF_MM, inner, ends.t)
    away = np.abs(s[:, None] - ends.s)
    have = (away < NEAREST_MM).any(axis=1)
    t = np.full(len(s), np.nan)
    if not have.any():
        return t
    nearest = away.argmin(axis=1)
    start = own[nearest[have]]
    along = comb.frame.turned(np.zeros(1), np.ones(1))
    where = Stations(
        comb.frame.sheet(s[have], start), np.broadcast_to(along, (len(start), 2)), s[have]
    )
    fit = fit_behind_shadow(view, where, SCAN, most=SHARP * view.blur_px)
    good = fit.ok & (np.abs(fit.position) < _OFF_MM)
    # Where the streak hides the end there is no step, and nothing is said.
    step = np.abs(fit.high - fit.low) > _STANDS_OUT * fit.noise
    if good.sum() < LEAST_SHARP * step.sum() and len(s) * SCAN > _LITTLE_MM:
        raise _shadowed(view)
    t[have] = np.where(good, start + fit.position, np.nan)
    return t


def _shadowed(view: View) -> ScribeError:
    """The refusal of pins that can't be told from their shadow."""
    return ScribeError(
        "gauge-shadow",
        what="the pins' ends can't be told from their shadow",
        where=view.where,
        do="turn the sheet so that the light falls on the side that touched, or light it"
        " from both sides, and take the photo again",
    )
