"""Trace the edge of a card, board or moulding that lies on the white sheet.

In: the view on the plane of the object's face (z = its thickness). Out: the face's upper
edge, every step, travelled with x growing, normals to the left of travel. A station near a
corner looks at its own side alone, and the corner is where the two sides meet: an arris
stays sharp. The sheet beside the edge may be in shadow: paper or shadow, whichever lies
next to the object, is one side of the step; where the shadow's border lies too close to be
told apart so, two steps are fitted, see `two_steps`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.behind_shadow import (
    fit_behind_shadow,
    hidden_behind,
    object_begins,
    softest,
)
from scribe.capture.edges.coarse import Wish, distance_to, not_found
from scribe.capture.edges.profile import StepFit, fit_step
from scribe.capture.edges.scan import (
    Stations,
    along,
    bridged,
    keep_steady,
    longest_inside,
    median_seen,
    read_scans,
    running_median,
    scan_axis,
)
from scribe.capture.edges.sides import corners_between, sided_directions
from scribe.capture.edges.silhouette import find_edge, shadowed
from scribe.capture.edges.two_steps import fit_beside_shadow
from scribe.capture.view import Trace, View
from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_ROUGH_HALF, _FINE_HALF = 1.0, 0.7  # mm, half a scan line
_ROUGH_REACH, _FINE_REACH = 2.0, 1.5  # mm to each side that tell a station its direction
_LEAST_PIXELS = 7.0  # half a scan line, so that both flats of the step are seen
_FINE_PIXELS = 10.0  # so that a shadow's border beside it is seen as well
_STEADY = 0.8  # mm over which outliers are judged
_NEAR_CORNER = 0.45  # mm: what is measured nearer to a corner sees both its sides
_BEYOND = 4.0  # mm looked at past the ends that were found roughly
_LIKE = 10  # stations that an end is compared with
_TONE = 0.35  # of the step: how far its sides may be from the usual
# The visible side of a thick board is in another light than its face: beside it the step that
# is seen is the side's foot on the sheet. Grain makes a face this much darker, not more.
_DARKER = 0.7
_DEEP = np.linspace(2.5, 5.0, 8)  # mm inside of the edge where the object's light is read
_FAR = np.array([3.0, 5.0, 8.0])  # mm outside of it where the sheet's light is read
_LIKE_OBJECT = 0.3  # part of the step from object to sheet that the object's light varies by
_ASIDE, _FINE_STEP, _GRAIN = 0.8, 0.1, 0.5  # mm: outwards, between samples, widest grain
_ROUND = 10.0  # mm over which the object's brightness is compared
_PROLONGED = 3  # times the ends are looked past
_TAIL = 8  # points of the rough edge that tell where it goes on
_SOFT, _SOFTEST = 1.6, 2.2  # times the usual blur, and the blur of the photo's marks
_BETTER = 0.93  # of what one step leaves over: what two must not leave to be believed
_VAGUE = 0.3  # part of the stations that may be blurred so
_FOLLOWED = 3.0  # mm from the rough way within which the edge was followed
_CHECKED = 2  # every so many-th point of an edge is looked behind
_HIDDEN = 0.05  # part of them behind which another edge may lie
_ONE_EDGE, _ELSEWHERE = 0.25, 0.02  # mm between two looks at one edge; part that may be further
_WHOLE = 0.95  # of what one look saw: another that sees less is no better
_GRAIN = 0.15  # part of an edge behind which the grain of a board may look like another edge
_CLEAR = 0.3  # part of the light between object and sheet in which its edge must stand out
_FEWEST = 10  # points of an edge
_LEAST_SEEN = 0.5  # part of the stations that must have been measured


def trace_edge(
    view: View,
    *,
    start: Array | None = None,
    end: Array | None = None,
    near: Array | None = None,
    step: float = 0.5,
) -> Trace:
    """The edge of the object. start, end: (2,) mm and near: (N, 2) mm say which, when needed.

    Refuses with edge-no-contrast, edge-shadow, outline-not-found, outline-outside-marks.
    """
    wish = Wish(start, end, near)
    outermost = _look(view, wish, step, behind=False)
    if outermost is not None and outermost.hidden <= _HIDDEN:
        return outermost.trace
    inner = _look(view, wish, step, behind=True)
    if outermost is not None and inner is not None and _no_better(inner, outermost):
        return outermost.trace
    if inner is None or inner.hidden > _HIDDEN:
        raise shadowed(view.where)
    return inner.trace


@dataclass(frozen=True)
class _Look:
    """hidden: the part of the trace behind which another edge lies."""

    trace: Trace
    hidden: float

    @property
    def length(self) -> float:
        return float(along(self.trace.points)[-1])


def _look(view: View, wish: Wish, step: float, *, behind: bool) -> _Look | None:
    """The edge that is seen first, or behind its shadow; None where shadow hides it."""
    try:
        trace, below = _traced(view, wish, step, behind=behind)
    except ScribeError as refusal:
        if refusal.kind != "edge-shadow" and not behind:
            raise
        return None
    outline = Stations(trace.points, trace.normals, along(trace.points))
    return _Look(trace, hidden_behind(view, outline[::_CHECKED], below))


def _no_better(inner: _Look, outermost: _Look) -> bool:
    """Whether what looks strange behind the outermost edge is the object's own grain.

    Then the second look runs along the same edge, or finds as much behind its own, or less of it.
    """
    points = inner.trace.points[inner.trace.measured]
    away = distance_to(points, outermost.trace.points) > _ONE_EDGE
    if np.mean(away) < _ELSEWHERE:
        return True
    worse = inner.hidden >= outermost.hidden or inner.length < _WHOLE * outermost.length
    return worse and outermost.hidden <= _GRAIN


def _traced(view: View, wish: Wish, step: float, *, behind: bool) -> tuple[Trace, bool]:
    """The edge, and whether the object is below it.

    behind: where a shadow is what is seen first, see `behind_shadow`.
    """
    way, below = find_edge(view, wish, object_begins if behind else None)
    rounds = _PROLONGED if wish.silent else 0
    edge = _followed(view, way, below, step, rounds=rounds, behind=behind)
    if behind and np.mean(distance_to(way, edge) > _FOLLOWED) > _VAGUE:
        raise shadowed(view.where)
    second = _stations(edge, step, _FINE_REACH)
    fit, good, spread = _measure(view, second, below, step, fine=True, behind=behind)
    kept = _between_ends(
        fit.low if below else fit.high, fit, good, longest_inside(second.points, view.area)
    )
    if good[kept].sum() < _FEWEST or good[kept].mean() < _LEAST_SEEN:
        raise not_found(view.where, "the edge is too ragged or too faint to be measured")
    offset, u = bridged(
        second[kept], fit.position[kept], np.maximum(fit.u, spread)[kept], good[kept]
    )
    points = second.points[kept] + offset[:, None] * second.normals[kept]
    trace = Trace(
        points, u, second.normals[kept], good[kept], _facts(fit, good, below), np.zeros((0, 2))
    )
    trace = _with_corners(trace)
    jumps = _jumps(trace.points, trace.normals)
    return replace(trace, u=np.hypot(trace.u, 0.5 * jumps)), below


def _followed(
    view: View, way: Array, below: bool, step: float, *, rounds: int, behind: bool
) -> Array:
    """Points on the edge, found across the rough way and, in so many rounds, past its ends."""
    margin = round(1.0 / step)
    for left in range(rounds, -1, -1):
        first = _stations(_prolonged(way) if left else way, step, _ROUGH_REACH)
        first = first if behind else _past_shadow(view, first, below)
        fit, good, _ = _measure(view, first, below, step, fine=False, behind=behind)
        face = fit.low if below else fit.high
        kept = _between_ends(face, fit, good, longest_inside(first.points, view.window))
        if good[kept].sum() < _FEWEST:
            raise shadowed(view.where)
        way = first.moved(fit.position)[kept][good[kept]]
        if kept.start > margin and kept.stop < len(good) - margin:
            break
    return way


def _prolonged(way: Array) -> Array:
    """The way with both ends prolonged straight on: its corners may not have been reached."""
    ends = []
    for tail in (way[:_TAIL][::-1], way[-_TAIL:]):
        ahead = tail[-1] - tail[0]
        ends.append(tail[-1] + _BEYOND * ahead / np.hypot(*ahead))
    return np.vstack([ends[0], way, ends[1]])


def _between_ends(face: Array, fit: StepFit, good: Mask, inside: slice) -> slice:
    """The stations inside that show the edge, without those past its ends.

    face: (N,) light on the object's side. Past a corner there is a shadow or the object's
    side, in another tone.
    """
    step = np.abs(fit.high - fit.low)
    shown = np.flatnonzero(good[inside]) + inside.start

    def strange(here: np.int64, others: npt.NDArray[np.int64]) -> bool:
        away = abs(float(face[here]) - float(np.median(face[others])))
        return away > _TONE * float(np.median(step[others]))

    while len(shown) > _LIKE and strange(shown[0], shown[1:_LIKE]):
        shown = shown[1:]
    while len(shown) > _LIKE and strange(shown[-1], shown[-_LIKE:-1]):
        shown = shown[:-1]
    return slice(int(shown[0]), int(shown[-1]) + 1) if len(shown) else slice(0, 0)


def _stations(way: Array, step: float, reach: float) -> Stations:
    """Stations a step apart whose normals look at one side of a corner only."""
    place = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(way, axis=0).T))])
    wanted = np.linspace(0.0, place[-1], max(2, round(place[-1] / step) + 1))
    points = np.stack([np.interp(wanted, place, way[:, axis]) for axis in (0, 1)], axis=1)
    foot, travel = sided_directions(wanted, points, reach)
    return Stations(foot, travel[:, ::-1] * (-1.0, 1.0), wanted)


def _measure(
    view: View, where: Stations, below: bool, step: float, *, fine: bool, behind: bool
) -> tuple[StepFit, Mask, Array]:
    """The step at every station, which of them to believe, and their scatter (N,) mm."""
    pixel = float(np.median(view.pixel(where.points[:: max(1, len(where.points) // 16)])))
    if behind:
        fit = fit_behind_shadow(view, where, below, step, most=softest(view))
        if fine and not fit.ok.mean() > 1.0 - _VAGUE:
            raise shadowed(view.where)
    else:
        fit = _plain_steps(view, where, below, pixel, step, fine=fine)
    usual = float(np.median(fit.blur[fit.ok])) if fit.ok.any() else 0.0
    sharp = fit.ok & (fit.blur < _SOFT * usual)  # a softer one is the edge of a shadow
    sharp &= fit.blur < _SOFTEST * view.blur_px * pixel
    if sharp.any():  # where the inner side isn't as bright as the face, it is shadow or side
        face = fit.low if below else fit.high
        usually = running_median(face, sharp, where.place, _ROUND)
        step_usually = running_median(np.abs(fit.high - fit.low), sharp, where.place, _ROUND)
        sharp &= np.abs(face - usually) < _TONE * step_usually
        sharp &= (face > _DARKER * usually) & (face * _DARKER < usually)
    inner = fit.low if below else fit.high
    object_light = _object_light(view, where, below)
    sheet = _sheet_light(view, where, below)
    sharp &= np.abs(inner - object_light) < _LIKE_OBJECT * np.abs(sheet - object_light)
    good, spread = keep_steady(where.place, fit.position, fit.u, sharp, _STEADY)
    return fit, good, spread


def _plain_steps(
    view: View, where: Stations, below: bool, pixel: float, step: float, *, fine: bool
) -> StepFit:
    """One step at every station; fine: in a scan that shows a shadow beside it as well."""
    half = (
        max(_FINE_HALF, _FINE_PIXELS * pixel) if fine else max(_ROUGH_HALF, _LEAST_PIXELS * pixel)
    )
    t = scan_axis(half, pixel)
    rows = read_scans(view, where, t, step)
    one = fit_step(t, rows, pixel=pixel, near=np.zeros(len(rows)), slopes=True)
    return _beside_shadow(view, where, below, t, rows, pixel, one) if fine else one


def _beside_shadow(
    view: View, where: Stations, below: bool, t: Array, rows: Array, pixel: float, one: StepFit
) -> StepFit:
    """The same steps, or the inner ones of two where those leave clearly less over.

    What one step and two steps disagree by, beyond what two can know, goes half into u.
    Refuses an edge that is more blurred than the photo and isn't two clear steps.
    """
    blur = view.blur_px * pixel
    if below:
        two, far = fit_beside_shadow(t, rows, pixel=pixel, blur=blur, near=one)
    else:
        turned = replace(one, position=-one.position, low=one.high, high=one.low)
        two, far = fit_beside_shadow(t, rows[:, ::-1], pixel=pixel, blur=blur, near=turned)
        two = replace(two, position=-two.position, low=two.high, high=two.low)
    both = one.ok & two.ok
    if not both.any():
        return one
    inner, strip = (two.low, two.high) if below else (two.high, two.low)
    clear = both & (np.abs(strip - inner) > _CLEAR * np.abs(far - inner))
    less = running_median(two.noise / np.maximum(one.noise, 1e-9), both, where.place, _ROUND)
    chosen = (less < _BETTER) & two.ok
    vague = (one.blur > softest(view) * pixel) & ~(chosen & clear)
    if np.mean(vague[one.ok]) > _VAGUE:
        raise shadowed(view.where)
    apart = running_median(two.position - one.position, both, where.place, _ROUND)
    known = running_median(two.u, both, where.place, _ROUND)
    doubt = 0.5 * np.sqrt(np.maximum(apart**2 - known**2, 0.0))

    def pick(name: str) -> Array:
        return np.asarray(np.where(chosen, getattr(two, name), getattr(one, name)))

    return StepFit(
        pick("position"),
        np.hypot(pick("u"), doubt),
        pick("low"),
        pick("high"),
        pick("blur"),
        pick("noise"),
        np.where(chosen, clear, one.ok & ~vague),
    )


def _object_light(view: View, where: Stations, below: bool) -> Array:
    """(N,) light of the object well inside of each station, the median over its neighbours."""
    inwards = -where.normals if below else where.normals
    deep = where.points[:, None, :] + _DEEP[:, None] * inwards[:, None, :]
    light = median_seen(view.light(deep))[:, 0]
    return running_median(light, np.isfinite(light), where.place, _ROUND)


def _sheet_light(view: View, where: Stations, below: bool) -> float:
    """Light of the sheet outside of the edge, clear of any shadow."""
    outwards = where.normals if below else -where.normals
    far = where.points[:, None, :] + _FAR[:, None] * outwards[:, None, :]
    return float(np.nanpercentile(view.light(far), 90))


def _past_shadow(view: View, where: Stations, below: bool) -> Stations:
    """The same stations moved inwards to where the object's own light begins.

    The rough way may run along the border of the object's shadow, which lies on the sheet
    beside it. Going outwards from well inside, the object ends where its light does.
    """
    inwards = -where.normals if below else where.normals
    reach = np.arange(-_ASIDE, _DEEP[-1], _FINE_STEP)
    light = view.light(where.points[:, None, :] + reach[:, None] * inwards[:, None, :])
    level = _object_light(view, where, below)[:, None]
    sheet = _sheet_light(view, where, below)
    strange = ~(np.abs(light - level) < _LIKE_OBJECT * np.abs(sheet - level))
    window = round(_GRAIN / _FINE_STEP)  # what is narrower than this is grain and not the end
    wide = np.cumsum(np.pad(strange.astype(int), ((0, 0), (window, 0))), axis=1)
    lasting = wide[:, window:] - wide[:, :-window] > 0.7 * window
    last = np.where(lasting, np.arange(len(reach)), 0).max(axis=1)
    moved = np.where(strange[:, -_FEWEST:].any(axis=1), 0.0, reach[last])  # past its ends
    shift = running_median(moved, np.isfinite(moved), where.place, 2.0)
    offset = np.where(shift > _FINE_STEP, shift, 0.0)
    return Stations(where.points + offset[:, None] * inwards, where.normals, where.place)


def _jumps(points: Array, normals: Array) -> Array:
    """(N,) mm by which a point and its neighbour lie apart across the edge that both see.

    Between the two lies a step that is too low for a corner, or the end of a curve at one.
    """
    hop = np.diff(points, axis=0)
    across = np.abs([(hop * normals[:-1]).sum(axis=1), (hop * normals[1:]).sum(axis=1)]).min(axis=0)
    return np.asarray(np.maximum(np.append(across, 0.0), np.append(0.0, across)))


def _with_corners(trace: Trace) -> Trace:
    """Points beside a corner give way to the place where its sides meet."""
    found = corners_between(trace.points, trace.normals)
    if not found:
        return trace
    points, u, normals, measured = trace.points, trace.u, trace.normals, trace.measured
    kept = np.ones(len(points), bool)
    for corner in found:
        near = np.hypot(*(points - corner.point).T) < _NEAR_CORNER
        kept &= ~near
    order = np.concatenate([np.flatnonzero(kept), [corner.after - 0.5 for corner in found]])
    rank = np.argsort(order, kind="stable")
    extra = np.array([corner.point for corner in found])
    return replace(
        trace,
        points=np.concatenate([points[kept], extra])[rank],
        u=np.concatenate([u[kept], [1.5 * u[corner.after] for corner in found]])[rank],
        normals=np.concatenate([normals[kept], [corner.normal for corner in found]])[rank],
        measured=np.concatenate([measured[kept], np.ones(len(found), bool)])[rank],
    )


def _facts(fit: StepFit, good: Mask, below: bool) -> dict[str, str]:
    return {
        "object": "below" if below else "above",
        "edge blur": f"{float(np.median(fit.blur[good])):.3f} mm",
        "edge contrast": f"{float(np.median(np.abs(fit.high - fit.low)[good])):.2f}",
        "measured": f"{100.0 * float(good.mean()):.0f} %",
    }
