"""From the rough way of a drawn line to points on it, from its one end to the other.

The rough way comes from a coarse picture: it stops where the line is faint, and takes a dark
streak of grain for the line where the two run side by side. Scan lines square to it tell a
pencil line from grain much better: it is as dark and as wide as it was, and it goes straight on.
So the way is looked at once more where it bends aside, and prolonged past both ends.

What it can't do: follow round a corner past the end of the rough way.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.scan import (
    Stations,
    along,
    keep_steady,
    longest_inside,
    running_median,
    stations,
)
from scribe.capture.edges.wish import ambiguous, no_line
from scribe.capture.lines.look import (
    FINE_SMOOTH,
    Look,
    between_ends,
    depth_of,
    rough_bars,
    roughly,
)
from scribe.capture.view import View

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]
Index = npt.NDArray[np.intp]

BEYOND = 2.0  # mm looked at past the ends that were found
FEWEST = 10  # points of a line
_ROUGH_SMOOTH = 1.0  # mm: the rough way is no better than half of this
_ONE_PEN, _ONE_PEN_MM = 1.8, 5.0  # times as wide as usual over twice so many mm: another pen,
_OTHER_PEN, _AS_DARK = 0.2, 0.5  # where more than this part of the line is so, and so dark
# Looking straight on: mm ahead, mm of the line that say where that is, mm that may be hidden.
_AHEAD, _TOLD, _HIDDEN = (20.0, 8.0), 30.0, (10.0, 20.0)
_TAIL, _ROUNDS = 15.0, 6  # mm of the line that are looked at again at its end, how often
# mm by which what is seen may lie aside from there, and so much for each mm that is hidden.
_OFF, _OFF_HIDDEN = 0.3, 0.04
_ASIDE, _SPAN = 0.8, 60.0  # mm by which a way bends aside from the chord of so many mm
# A course with a line all along shows one at nearly all of its stations: every so manieth is looked
# at first, and fewer with a line than this part tell that there is none.
_EVERY, _HARDLY = 4, 0.6
# Of a line that is seen: part of its stations, of its usual darkness, times its usual width and
# raggedness, mm of raggedness that any line may have.
_SEEN, _DARK, _WIDE, _RAGGED, _RAGGED_MM = 0.85, 0.4, 1.8, 3.0, 0.02


@dataclass(frozen=True)
class _Usual:
    """How dark, wide (mm) and ragged (mm) the line is where it is seen."""

    depth: float
    own: float
    spread: float

    @staticmethod
    def of(look: Look) -> _Usual:
        good = look.good
        return _Usual(
            float(np.median(depth_of(look.fit)[good])),
            float(np.median(look.own[good])),
            float(np.median(look.spread[good])),
        )


def followed(view: View, way: Array, step: float, *, one_pen: bool) -> tuple[Array, float]:
    """(N, 2) mm on the line along a rough way and past its ends; how wide the line looks, mm.

    one_pen: nobody said that all of the way is meant. Refuses with outline-not-found and
    outline-ambiguous.
    """
    where = stations(way, step, _ROUGH_SMOOTH, BEYOND)
    look = roughly(view, where, step)
    if one_pen:
        _refuse_two_pens(view.where, look)
    if look.good.sum() < FEWEST:
        raise no_line(view.where, "the line is too faint or too ragged to be measured")
    usual = _Usual.of(look)
    drawn = between_ends(look, longest_inside(where.points, view.window))
    way = look.points[drawn][look.good[drawn]]
    if len(way) < FEWEST:
        raise no_line(view.where, "the line is too faint or too ragged to be measured")
    way = _straightened(view, way, usual, step)
    way = _prolonged(view, way, usual, step)
    way = _prolonged(view, way[::-1], usual, step)[::-1]
    return way, usual.own


def _refuse_two_pens(where: str, look: Look) -> None:
    """Refuse a way along two widths: from the line it may go on along the side of a finger."""
    fit, place = look.fit, look.where.place
    steady, _ = keep_steady(place, fit.centre, fit.u, fit.ok, FINE_SMOOTH)
    if steady.sum() < FEWEST:
        return
    usual = float(np.median(look.own[steady]))
    times = running_median(look.own, steady, place, _ONE_PEN_MM) / usual
    odd = steady & ((times > _ONE_PEN) | (times < 1.0 / _ONE_PEN))
    odd &= fit.contrast < _AS_DARK * np.median(fit.contrast[steady])  # else a streak of grain
    if odd.sum() > _OTHER_PEN * steady.sum():
        x, y = np.median(look.points[odd], axis=0)
        raise ambiguous(
            where,
            f"what was followed is {usual:.1f} mm wide, but {np.median(look.own[odd]):.1f} mm round"
            f" {x:.0f}, {y:.0f} mm: these may be two things, or a hand lies there",
        )


def _seen_along(view: View, course: Array, usual: _Usual, step: float) -> Look | None:
    """The line near a course if it is there all along, as it usually is; else None."""
    where = stations(course, step, _ROUGH_SMOOTH)
    if longest_inside(where.points, view.window) != slice(0, len(where.points)):
        return None
    look = roughly(view, where, step)
    good = _alike(look, usual)
    if good.mean() < _SEEN:
        return None
    ragged = float(np.median(look.spread[good]))
    if ragged > max(_RAGGED * usual.spread, _RAGGED_MM):
        return None
    return replace(look, good=good)


def _alike(look: Look, usual: _Usual) -> Mask:
    """Which of the good stations show a line as dark and as narrow as it usually is."""
    dark = depth_of(look.fit) > _DARK * usual.depth
    return look.good & dark & (look.own < _WIDE * usual.own)


def _prolonged(view: View, way: Array, usual: _Usual, step: float) -> Array:
    """The way with what goes straight on after its last point."""
    while (more := _more(view, way, usual, step)) is not None:
        way = np.vstack([way, more])
    return _ended(view, way, usual, step)


def _ended(view: View, way: Array, usual: _Usual, step: float) -> Array:
    """The way up to the end of the line, where it bends as it ends."""
    for _ in range(_ROUNDS):
        place = along(way)
        tail = place > place[-1] - _TAIL
        where = stations(way[tail], step, _ROUGH_SMOOTH, BEYOND)
        look = roughly(view, where, step)
        look = replace(look, good=_alike(look, usual))
        if look.good.sum() < FEWEST:
            return way
        drawn = between_ends(look, longest_inside(where.points, view.window))
        found = look.points[drawn][look.good[drawn]]
        travel = way[-1] - way[tail][0]
        gained = float(((found - way[-1]) @ travel).max(initial=0.0)) / float(np.hypot(*travel))
        if gained < step:
            return way
        way = np.vstack([way[~tail], found[(found - way[tail][0]) @ travel > 0.0]])
    return way


def _more(view: View, way: Array, usual: _Usual, step: float) -> Array | None:
    """(N, 2) mm: the next points of the line, or those after a stretch where it can't be seen."""
    place = along(way)
    last = way[place > place[-1] - _TOLD]
    middle = last.mean(axis=0)
    travel = np.linalg.svd(last - middle, full_matrices=False)[2][0]
    travel = travel if travel @ (last[-1] - last[0]) > 0.0 else -travel
    begin = middle + travel * float((last[-1] - middle) @ travel)
    tries = [(0.0, ahead) for ahead in _AHEAD] + [(hidden, _AHEAD[0]) for hidden in _HIDDEN]
    for hidden, ahead in tries:
        course = begin + travel * np.array([[hidden], [hidden + ahead]])
        look = _seen_along(view, course, usual, step)
        if look is not None and _offset(look)[0] < _OFF + _OFF_HIDDEN * hidden:
            points = look.points[look.good]
            after = points[(points - way[-1]) @ travel > 0.0]
            return after if len(after) else None
    return None


def _offset(look: Look) -> Array:
    """(2,) mm the first and the last point off the course that was looked along."""
    return np.asarray(np.abs(look.fit.centre[look.good][[0, -1]]))


def _straightened(view: View, way: Array, usual: _Usual, step: float) -> Array:
    """The way without its bends aside, where the line is seen to go straight on."""
    first = 0.0
    while True:
        for rows in _promising(view, way, first, step):
            look = _seen_along(view, way[rows[[0, -1]]], usual, step)
            if look is not None and _offset(look).max() < _OFF:
                first = along(way)[rows[0]] + _SPAN / 12.0
                way = np.vstack([way[: rows[0]], look.points[look.good], way[rows[-1] + 1 :]])
                break
        else:
            return way


def _promising(view: View, way: Array, first: float, step: float) -> list[Index]:
    """Stretches of the way, after `first` mm, that bend aside from a chord with a line along it.

    A few stations of all of the chords, looked at together, tell where no line runs along one.
    """
    place = along(way)
    starts = np.arange(0.0, place[-1] - _SPAN, _SPAN / 6.0)
    inside = (
        np.flatnonzero((place >= start) & (place <= start + _SPAN))
        for start in starts[starts >= first]
    )
    bent = [rows for rows in inside if len(rows) >= FEWEST and _aside(way[rows]) >= _ASIDE]
    if not bent:
        return []
    few = [stations(way[rows[[0, -1]]], step, _ROUGH_SMOOTH)[::_EVERY] for rows in bent]
    where = Stations(
        np.concatenate([each.points for each in few]),
        np.concatenate([each.normals for each in few]),
        np.concatenate([each.place for each in few]),
    )
    shown = rough_bars(view, where, step).ok
    ends = np.cumsum([len(each.place) for each in few])[:-1]
    parts = np.split(shown, ends)
    return [rows for rows, part in zip(bent, parts, strict=True) if part.mean() >= _HARDLY]


def _aside(part: Array) -> float:
    """mm by which a way bends aside from its chord."""
    chord = part[-1] - part[0]
    normal = np.array([-chord[1], chord[0]]) / np.hypot(*chord)
    return float(np.abs((part - part[0]) @ normal).max())
