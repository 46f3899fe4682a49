"""Trace a thin dark line on a board: pencil or knife, with grain, specks and gaps around.

In: the view of one photo. Out: the centre of the line every step along it, travelled with
x growing (upwards when it runs upright), normals to the left of travel. Scan lines stand
square to the line; the first round straightens them, the second measures. What the line
does in a gap, nobody saw: such points are marked and their u grows with the gap.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.coarse import Wish, find_line, not_found
from scribe.capture.profile import BarFit, fit_bar
from scribe.capture.scan import (
    Stations,
    bridged,
    keep_steady,
    longest_inside,
    read_scans,
    scan_axis,
    stations,
)
from scribe.capture.view import Trace, View

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_ROUGH_SMOOTH = 1.0  # mm: the rough way is no better than half of this
_FINE_SMOOTH = 0.7  # mm: over which scan lines are squared up and outliers judged
_ROUGH_HALF = 1.8  # mm, half a scan line in the first round
_FINE_HALF = (1.0, 2.5)  # mm, least and most half a scan line in the second
_FLAT = 2.5  # widths of the line to either side of its centre
_BEYOND = 2.0  # mm looked at past the ends that were found roughly
_PROLONGED = 5  # times the ends are looked past
_FEWEST = 10  # points of a line
_FAINT = 0.3  # part of the line's usual contrast below which it has ended
_SPECK = 0.35  # part of it below which a station shows no line
_LOPSIDED = 0.3  # part of the light by which the sides of a line on one board may differ
_END_MEAN = 1.2  # mm over which that is judged
_LEAST_SEEN = 0.5  # part of the stations that must have been measured


def trace_line(
    view: View,
    *,
    start: Array | None = None,
    end: Array | None = None,
    near: Array | None = None,
    step: float = 0.5,
) -> Trace:
    """The centre of the line. start, end: (2,) mm and near: (N, 2) mm say which, when needed.

    Refuses with outline-not-found, outline-ambiguous and outline-outside-marks.
    """
    way = find_line(view, Wish(start, end, near))
    points, half = _followed(view, way, step)
    second = stations(points, step, _FINE_SMOOTH, _BEYOND)
    t = scan_axis(float(np.clip(half, *_FINE_HALF)), _pixel(view, second))
    fit, good, spread = _measure(view, second, t, step)
    kept = _between_ends(second, fit, good, longest_inside(second.points, view.area))
    if start is not None or end is not None:
        kept = _between_given(second.points, kept, start, end)
    seen = good[kept]
    if seen.sum() < _FEWEST or seen.mean() < _LEAST_SEEN:
        raise not_found(view.where, "the line is too faint or too ragged to be measured")
    # A pencil's own raggedness counts, where it's more than the fit knows of.
    u = np.maximum(fit.u, spread)
    own = np.where(good, fit.u, 0.0)[kept]  # what a bridged place is doubted for is no raggedness
    offset, u = bridged(second[kept], fit.centre[kept], u[kept], seen)
    ragged = np.where(seen, np.sqrt(np.maximum(u**2 - own**2, 0.0)), 0.0)
    centred = second.points[kept] + offset[:, None] * second.normals[kept]
    return Trace(
        points=centred,
        u=u,
        normals=second.normals[kept],
        measured=seen,
        facts=_facts(fit, good, seen),
        tips=np.zeros((0, 2)),
        parts={"line width": ragged},
    )


def _followed(view: View, way: Array, step: float) -> tuple[Array, float]:
    """Points on the line, found across the rough way and past its ends; half a scan line, mm.

    As long as the line is still there at the end of what was looked at, more is looked at.
    """
    beyond, half = _BEYOND, _FINE_HALF[0]
    for _ in range(_PROLONGED):
        first = stations(way, step, _ROUGH_SMOOTH, beyond)
        fit, good, _ = _measure(view, first, scan_axis(_ROUGH_HALF, _pixel(view, first)), step)
        if good.sum() < _FEWEST:
            raise not_found(view.where, "the line is too faint or too ragged to be measured")
        drawn = _between_ends(first, fit, good, longest_inside(first.points, view.window))
        half = _FLAT * float(np.median(np.hypot(fit.width[good], fit.blur[good])))
        way = first.moved(fit.centre)[drawn][good[drawn]]
        if len(way) < _FEWEST:
            raise not_found(view.where, "the line is too faint or too ragged to be measured")
        margin = round(1.0 / step)
        if drawn.start > margin and drawn.stop < len(good) - margin:
            break
        beyond = 3.0 * _BEYOND
    return way, half


def _pixel(view: View, where: Stations) -> float:
    return float(np.median(view.pixel(where.points[:: max(1, len(where.points) // 16)])))


def _measure(view: View, where: Stations, t: Array, step: float) -> tuple[BarFit, Mask, Array]:
    """The bar at every station, which of them to believe, and their scatter (N,) mm."""
    rows = read_scans(view, where, t, step)
    fit = fit_bar(t, rows, pixel=_pixel(view, where), near=np.zeros(len(rows)), dark=True)
    usual = float(np.median(fit.width[fit.ok])) if fit.ok.any() else 0.0
    depth = _depth(fit)
    dark = float(np.median(depth[fit.ok])) if fit.ok.any() else 0.0
    shine = np.maximum(fit.left, fit.right)
    alike = fit.ok & (fit.width < 3.0 * usual) & (depth > _SPECK * dark)
    alike &= np.abs(fit.right - fit.left) < _LOPSIDED * shine  # else the border of a board
    good, spread = keep_steady(where.place, fit.centre, fit.u, alike, _FINE_SMOOTH)
    return fit, good, spread


def _depth(fit: BarFit) -> Array:
    """(N,) light that the line takes away, over its width: known well even of a thin line."""
    return np.maximum(-fit.contrast, 0.0) * np.minimum(fit.width, 1.0)


def _between_ends(where: Stations, fit: BarFit, good: Mask, inside: slice) -> slice:
    """From the first to the last place inside where the line is as dark as it usually is."""
    depth = np.where(good, _depth(fit), 0.0)
    usual = float(np.median(depth[good]))
    near = np.abs(where.place[:, None] - where.place) < _END_MEAN
    mean = (near * np.minimum(depth, 2.0 * usual)).sum(axis=1) / near.sum(axis=1)
    index = np.arange(len(depth))
    dark = (mean > _FAINT * usual) & good & (index >= inside.start) & (index < inside.stop)
    places = np.flatnonzero(dark)
    # The outermost stations see past the end as well.
    return slice(int(places[0]) + 1, int(places[-1])) if len(places) > 2 else slice(0, 0)


def _between_given(points: Array, kept: slice, start: Array | None, end: Array | None) -> slice:
    """Cut at the stations nearest to the ends that were given."""
    first, last = kept.start, kept.stop
    if start is not None:
        first = max(first, int(np.argmin(np.hypot(*(points - start).T))))
    if end is not None:
        last = min(last, int(np.argmin(np.hypot(*(points - end).T))) + 1)
    return slice(first, max(first, last))


def _facts(fit: BarFit, good: Mask, seen: Mask) -> dict[str, str]:
    gaps = int((np.diff(seen.astype(int)) == -1).sum())
    return {
        "line width": f"{float(np.median(fit.width[good])):.2f} mm",
        "line contrast": f"{float(np.median(-fit.contrast[good])):.2f}",
        "gaps": f"{gaps}",
        "measured": f"{100.0 * float(seen.mean()):.0f} %",
    }
