"""The bar that a drawn line shows in scan lines square to it: how dark, how wide, where it ends.

In: the view, and stations along a way. Out: the `Look` at each of them, and which to believe.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.profile import BarFit, fit_bar
from scribe.capture.edges.row_solve import ROUNDS
from scribe.capture.edges.scan import Stations, keep_steady, pixel_at, read_scans, scan_axis
from scribe.capture.view import View

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

FINE_SMOOTH = 0.7  # mm: over which scan lines are squared up and outliers judged
_ROUGH_HALF = 1.8  # mm, half a scan line
_ROUGH_ROUNDS = 12  # of a fit that only says where to measure: beyond, few rows show a line
_FAINT = 0.3  # part of the line's usual contrast below which it has ended
_SPECK = 0.35  # part of it below which a station shows no line
_TWICE = 2.0  # times its usual width from which a station shows something else
_LOPSIDED = 0.3  # part of the light by which the sides of a line on one board may differ
_END_MEAN = 1.2  # mm over which the contrast at an end is judged


@dataclass(frozen=True)
class Look:
    """The bar at every station, which of them to believe, and their scatter (N,) mm."""

    where: Stations
    fit: BarFit
    good: Mask
    spread: Array

    @property
    def points(self) -> Array:
        """(N, 2) mm on the line."""
        return self.where.moved(self.fit.centre)

    @property
    def own(self) -> Array:
        """(N,) mm how wide the line looks: its width and blur can't be told apart."""
        return np.hypot(self.fit.width, self.fit.blur)


def measured(view: View, where: Stations, t: Array, step: float, rounds: int = ROUNDS) -> Look:
    """The line at stations, t: (S,) mm along their scans; rounds of the fit, at most."""
    fit = _bars(view, where, t, step, rounds)
    own = np.hypot(fit.width, fit.blur)
    usual = float(np.median(own[fit.ok])) if fit.ok.any() else 0.0
    depth = depth_of(fit)
    dark = float(np.median(depth[fit.ok])) if fit.ok.any() else 0.0
    shine = np.maximum(fit.left, fit.right)
    alike = fit.ok & (own < _TWICE * usual) & (depth > _SPECK * dark)
    alike &= np.abs(fit.right - fit.left) < _LOPSIDED * shine  # else the border of a board
    good, spread = keep_steady(where.place, fit.centre, fit.u, alike, FINE_SMOOTH)
    return Look(where, fit, good, spread)


def _bars(view: View, where: Stations, t: Array, step: float, rounds: int) -> BarFit:
    rows = read_scans(view, where, t, step)
    near = np.zeros(len(rows))
    return fit_bar(t, rows, pixel=pixel_at(view, where), near=near, dark=True, rounds=rounds)


def roughly(view: View, where: Stations, step: float) -> Look:
    """As measured, along scans wide enough for a rough way, and no better than that needs."""
    return measured(view, where, _rough_axis(view, where), step, _ROUGH_ROUNDS)


def rough_bars(view: View, where: Stations, step: float) -> BarFit:
    """The bars of such scans, without a judgement."""
    return _bars(view, where, _rough_axis(view, where), step, _ROUGH_ROUNDS)


def _rough_axis(view: View, where: Stations) -> Array:
    return scan_axis(_ROUGH_HALF, pixel_at(view, where))


def depth_of(fit: BarFit) -> Array:
    """(N,) light that the line takes away, over its width: known well even of a thin line."""
    return np.maximum(-fit.contrast, 0.0) * np.minimum(fit.width, 1.0)


def between_ends(look: Look, inside: slice) -> slice:
    """From the first to the last place inside where the line is as dark as it usually is."""
    if not look.good.any():
        return slice(0, 0)
    place = look.where.place
    depth = np.where(look.good, depth_of(look.fit), 0.0)
    usual = float(np.median(depth[look.good]))
    near = np.abs(place[:, None] - place) < _END_MEAN
    mean = (near * np.minimum(depth, 2.0 * usual)).sum(axis=1) / near.sum(axis=1)
    index = np.arange(len(depth))
    dark = (mean > _FAINT * usual) & look.good & (index >= inside.start) & (index < inside.stop)
    places = np.flatnonzero(dark)
    # The outermost stations see past the end as well.
    return slice(int(places[0]) + 1, int(places[-1])) if len(places) > 2 else slice(0, 0)
