"""Look along the border of a thing for its edge: as it is seen first, or behind its shadow.

In: the view on the plane of the thing's face, and the rough border. Out: the edge, the thing to the
right of travel.

What differs from the paper first is looked at first. Where another edge seems to lie behind that,
or none is sharp enough, it was a shadow's border, and the edge is looked for behind it. A station
near a corner looks at its own side alone, and the corner is where the two sides meet: an arris
stays sharp.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.begins import first_own, first_sharp, hidden_behind, past_shadow
from scribe.capture.edges.edge_steps import (
    Steps,
    steps_behind_shadow,
    steps_beside_shadow,
    steps_roughly,
)
from scribe.capture.edges.scan import Stations, along, bridged, distance_to
from scribe.capture.edges.sides import sided_stations, with_corners
from scribe.capture.edges.silhouette import Border
from scribe.capture.edges.wish import Wish, no_edge, shadowed
from scribe.capture.view import Trace, View

Array = npt.NDArray[np.float64]

_ROUGH_REACH, _FINE_REACH = 2.0, 1.5  # mm to each side that tell a station its direction
_REACH = 12.0  # mm of edge that may be missing,
_REACH_BEHIND = 20.0  # and where on its way it passes from lighter than its shadow to darker
_BEYOND = 4.0  # mm looked at past the ends that were found roughly
_PROLONGED = 3  # times the ends are looked past
_TAIL = 8  # points of the rough edge that tell where it goes on
_FOLLOWED = 3.0  # mm from the rough way within which the edge was followed
_ELSEWHERE = 0.3  # part of the rough way that may be further from it
_CHECKED = 2  # every so many-th point of an edge is looked behind
_HIDDEN = 0.05  # part of them behind which another edge may lie
_ONE_EDGE, _TWO_EDGES = 0.25, 0.02  # mm between two looks at one edge; part that may be further
_BESIDE = 2.0  # mm within which two looks saw one place
_WHOLE = 0.95  # of what one look saw: another that sees less is no better
_GRAIN = 0.15  # part of an edge behind which the grain of a board may look like another edge
_FEWEST = 10  # points of an edge
_MOST, _LEAST_SEEN = 0.8, 0.5  # part of the border that one look should measure, and that it must


def edge_along(view: View, border: Border, wish: Wish, step: float) -> Trace:
    """The edge that is seen first, or the one behind its shadow; the thing to its right."""
    whole = along(border.way)[-1] if wish.silent else 0.0
    outermost = _look(view, border, wish, step, behind=False)
    if outermost and outermost.shown and outermost.seen > _MOST * whole:
        return outermost.trace
    inner = _look(view, border, wish, step, behind=True)
    if outermost and not outermost.shown and inner and _no_better(inner, outermost):
        return outermost.trace
    shown = [each for each in (outermost, inner) if each and each.shown]
    if len(shown) == 2 and _behind(*reversed(shown)):  # no edge lies behind one that is no shadow's
        shown = [each for each in shown[:1] if each.seen >= _LEAST_SEEN * whole]
    if not shown:
        raise shadowed(view.where)
    best = max(shown, key=lambda each: each.seen)
    if best.seen < _LEAST_SEEN * whole:
        what = f"only {best.seen:.0f} of {whole:.0f} mm of the edge can be seen"
        raise no_edge(view.where, f"{what}, the rest is too ragged or too faint")
    return best.trace


@dataclass(frozen=True)
class _Look:
    """trace: the thing to its right. hidden: the part of it behind which another edge lies."""

    trace: Trace
    hidden: float

    @property
    def shown(self) -> bool:
        """Whether it is no shadow's border."""
        return self.hidden <= _HIDDEN

    @property
    def length(self) -> float:
        """mm."""
        return float(along(self.trace.points)[-1])

    @property
    def seen(self) -> float:
        """mm of it that were measured."""
        return self.length * float(self.trace.measured.mean())


def _look(view: View, border: Border, wish: Wish, step: float, *, behind: bool) -> _Look | None:
    """The edge that is seen first, or behind its shadow; None where shadow hides it."""
    steps = _steps(view, border, wish, step, behind=behind)
    if steps is None:
        return None
    kept = steps.between_ends(view.area)
    if steps.good[kept].sum() < _FEWEST:
        return None
    trace = trace_of(steps, kept)
    outline = Stations(trace.points, trace.normals, along(trace.points))
    return _Look(trace, hidden_behind(view, outline[::_CHECKED]))


def _no_better(inner: _Look, outermost: _Look) -> bool:
    """Whether what looks strange behind the outermost edge is the thing's own grain.

    Then the second look runs along the same edge, or finds as much behind its own, or less of it.
    """
    points = inner.trace.points[inner.trace.measured]
    away = distance_to(points, outermost.trace.points) > _ONE_EDGE
    if np.mean(away) < _TWO_EDGES:
        return True
    worse = inner.hidden >= outermost.hidden or inner.length < _WHOLE * outermost.length
    return worse and outermost.hidden <= _GRAIN


def _behind(inner: _Look, outermost: _Look) -> bool:
    """Whether two looks show two edges at one place."""
    points, outer = inner.trace.points[inner.trace.measured], outermost.trace
    beside = [distance_to(points, one[None]) < _BESIDE for one in outer.points[outer.measured]]
    away = distance_to(points[np.any(beside, axis=0)], outer.points) > _ONE_EDGE
    return float(np.mean(away)) > 0.5 if len(away) else False


def _steps(view: View, border: Border, wish: Wish, step: float, *, behind: bool) -> Steps | None:
    """The steps along the edge and a little past its ends; None where shadow hides it."""
    begins, reach = (first_own, _REACH_BEHIND) if behind else (first_sharp, _REACH)
    way = past_shadow(view, border.way, begins, reach)
    if way is None:
        return None
    way = border.between_corners(way) if wish.silent else way
    edge = _followed(view, way, step, rounds=_PROLONGED if wish.silent else 0, behind=behind)
    if edge is None:
        return None
    if not behind:
        return steps_beside_shadow(view, sided_stations(edge, step, _FINE_REACH), step)
    if np.mean(distance_to(way, edge) > _FOLLOWED) > _ELSEWHERE:
        return None
    return steps_behind_shadow(view, sided_stations(edge, step, _FINE_REACH), step)


def _followed(view: View, way: Array, step: float, *, rounds: int, behind: bool) -> Array | None:
    """Points on the edge, found across the rough way and, in so many rounds, past its ends.

    None where hardly any are found.
    """
    margin = round(1.0 / step)
    for left in range(rounds, -1, -1):
        first = sided_stations(_prolonged(way) if left else way, step, _ROUGH_REACH)
        steps = steps_roughly(view, first, step, behind=behind)
        kept, good = steps.between_ends(view.window), steps.good
        if good[kept].sum() < _FEWEST:
            return None
        way = steps.points[kept][good[kept]]
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


def trace_of(steps: Steps, kept: slice) -> Trace:
    """What was found along the edge, corners and all."""
    fit, good, where = steps.fit, steps.good, steps.where[kept]
    u = np.maximum(fit.u, steps.spread)[kept]
    offset, u = bridged(where, fit.position[kept], u, good[kept])
    facts = {
        "edge blur": f"{float(np.median(fit.blur[good])):.3f} mm",
        "edge contrast": f"{float(np.median(np.abs(fit.high - fit.low)[good])):.2f}",
        "measured": f"{100.0 * float(good.mean()):.0f} %",
    }
    return with_corners(
        Trace(where.moved(offset), u, where.normals, good[kept], facts, np.zeros((0, 2)))
    )
