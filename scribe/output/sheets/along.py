"""Sheets laid along the cut lines, each turned and placed so that the fewest cover them.

One sheet after the other follows a line. Where two meet, the earlier one is trimmed square to the
line, there where it is straight and no station stands, and laid on the next. Lines that hang
together by nothing but the piece get sheets of their own, not joined to the others.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import ceil

import numpy as np
import numpy.typing as npt

from scribe.geom.cover import Line, Rectangle, cover
from scribe.geom.frames import turned
from scribe.geom.polyline import nearest, point_at, stations
from scribe.output.piece.drawing import Drawing
from scribe.output.sheets.match_marks import HALF_MM, REACH_MM
from scribe.output.sheets.sheets import FOOT_MM, Joint, Sheet, SheetPlan
from scribe.output.sheets.vital import WORDS_MM, WORKING_MM, dense, directions, lines, words_of

Array = npt.NDArray[np.float64]
Size = tuple[float, float]

_BIN_MM, _BINS = 4.0, 100  # a bin's length at least; and how many a sheet's longer side has at most
_ASIDE_MM = 2.0 * HALF_MM + 21.0  # on either side of the line that a joint needs for its marks
_BEYOND_MM = REACH_MM + 1.5  # beyond the trim line that the lower sheet's marks need
_STRAIGHT_MM = 1.5  # that the line may stray from its chord across a joint
_CLEAR_MM = 3.0  # between a trim line and a station's words
_TURNS = np.radians(np.concatenate([[0.0], np.setdiff1d(np.arange(-45.0, 45.0), [0.0])]))


@dataclass(frozen=True)
class _Gates:
    """Where a line may be parted. at, along: (B + 1, 2) places on it and its directions there."""

    at: Array
    along: Array
    line: Line


def along_plan(
    drawing: Drawing, sizes: list[Size], margin: float, overlap: float, grid: int
) -> SheetPlan | None:
    """The sheets, None where the lines can't be followed so. grid: how many a plain grid takes."""
    inner = np.array(sizes) - 2 * margin - np.array([0.0, FOOT_MM])
    every = lines(drawing)
    small = _beside(every, float(inner.min()))
    found = []
    for beside in ({}, small) if small else ({},):  # what is small and near goes along, or doesn't
        followed = [(line, beside.get(k, [])) for k, line in enumerate(every)]
        chains = _chains(drawing, followed, sizes, inner, overlap)
        if chains is not None:
            found.append(SheetPlan("along the edge", margin, overlap, *chains, grid))
    return min(found, key=lambda plan: len(plan.sheets), default=None)


def _beside(every: list[Array], reach: float) -> dict[int, list[Array]]:
    """Line by its place in the list -> those that one sheet can show together with it: all within
    `reach` mm of it, and no longer than that.
    """
    found: dict[int, list[Array]] = {}
    long = [k for k, line in enumerate(every) if k == 0 or _span(line) > reach]
    for k, line in enumerate(every):
        if k not in long:
            off = [float(np.abs(nearest(line, every[other]).distance).max()) for other in long]
            if min(off) < reach:
                found.setdefault(long[int(np.argmin(off))], []).append(line)
    return found


def _span(line: Array) -> float:
    return float(np.hypot(*(line.max(axis=0) - line.min(axis=0))))


def _chains(
    drawing: Drawing,
    followed: list[tuple[Array, list[Array]]],
    sizes: list[Size],
    inner: Array,
    overlap: float,
) -> tuple[tuple[Sheet, ...], tuple[Joint, ...]] | None:
    """Sheets and joints for each line and what goes with it; what a sheet shows is done."""
    step = max(_BIN_MM, float(inner.max()) / _BINS)
    sheets: list[Sheet] = []
    joints: list[Joint] = []
    for line, beside in followed:
        if _shown(sheets, joints, line):
            continue
        gates = _gates(drawing, line, beside, step, overlap)
        chain = cover(gates.line, inner, _TURNS)
        if chain is None:
            return None
        group = sheets[-1].group + 1 if sheets else 1
        own = [
            _sheet(len(sheets) + k, sizes[each.size], inner[each.size], each, group)
            for k, each in enumerate(chain, start=1)
        ]
        found = [
            _joint(*pair, gates.at[each.last], gates.along[each.last], overlap)
            for pair, each in zip(pairwise(own), chain, strict=False)
        ]
        its = [joint for joint in found if joint is not None]
        if len(its) < len(found) or _hidden(own, its, gates, chain):
            return None
        sheets, joints = [*sheets, *own], [*joints, *its]
    return tuple(sheets), tuple(joints)


def _shown(sheets: list[Sheet], joints: list[Joint], line: Array) -> bool:
    """Whether one sheet shows a whole line already, neither cut away nor below another sheet."""
    for sheet in sheets:
        sides = [
            joint.left(line) * (1.0 if joint.upper == sheet.number else -1.0)
            for joint in joints
            if sheet.number in (joint.upper, joint.lower)
        ]
        if sheet.shows(line, WORKING_MM).all() and all(side.min() >= 0.0 for side in sides):
            return True
    return False


def _gates(
    drawing: Drawing, line: Array, beside: list[Array], step: float, overlap: float
) -> _Gates:
    """The line, with its stations' words and what goes with it, in bins of `step` mm or less."""
    total = float(stations(line)[-1])
    count = max(ceil(total / step - 1e-9), 1)
    places = np.linspace(0.0, total, count + 1)
    inner = dense(line, total / count)
    words, stand = words_of(drawing, line)
    held = [(inner, WORKING_MM, stations(inner)), (words, WORDS_MM, stand)]
    for other in beside:
        foot = float(nearest(other.mean(axis=0)[None], line).station[0])
        held.append((other, WORKING_MM, np.full(len(other), foot)))
    points = np.vstack([each for each, _, _ in held])
    pad = np.concatenate([np.full(len(each), wide) for each, wide, _ in held])
    bins = (np.concatenate([place for _, _, place in held]) / total * count).astype(np.int64)
    bins = np.clip(bins, 0, count - 1)
    order = np.argsort(bins, kind="stable")

    at = point_at(line, places)
    along, strays = directions(line, places, max(overlap, _BEYOND_MM))
    aside = np.column_stack([-along[:, 1], along[:, 0]])
    sides = np.array([-_ASIDE_MM, _ASIDE_MM])[:, None]
    leave = at[:, None] + sides * aside[:, None]
    enter = np.concatenate(
        [leave - overlap * along[:, None], leave + _BEYOND_MM * along[:, None]], axis=1
    )
    clear = _clear(np.vstack([words, *(_box(other) for other in beside)]), at, along)
    gate = (strays < _STRAIGHT_MM) & clear
    parted = Line(points[order], pad[order], bins[order], leave, enter, gate)
    return _Gates(at, along, parted)


def _box(line: Array) -> Array:
    """(4, 2) corners of the box around it."""
    (x0, y0), (x1, y1) = line.min(axis=0), line.max(axis=0)
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])


def _clear(boxes: Array, at: Array, along: Array) -> npt.NDArray[np.bool_]:
    """(G,) where the trim line runs through none of the boxes. boxes: (4 n, 2) their corners."""
    if not len(boxes):
        return np.ones(len(at), bool)
    off = boxes - at[:, None]
    ahead = (off * along[:, None]).sum(axis=2).reshape(len(at), -1, 4)
    beside = np.hypot(*np.moveaxis(off, -1, 0)).reshape(len(at), -1, 4).min(axis=2)
    straddled = (ahead.min(axis=2) < _CLEAR_MM) & (ahead.max(axis=2) > -_CLEAR_MM)
    return np.asarray(~(straddled & (beside < 3.0 * _ASIDE_MM)).any(axis=1))


def _sheet(number: int, size: Size, inner: Array, found: Rectangle, group: int) -> Sheet:
    """What it must hold lies amid it."""
    low = (found.low + found.high - inner) / 2.0
    x, y = low.tolist()
    width, height = inner.tolist()
    return Sheet(number, size, found.turn, (x, y, x + width, y + height), group)


def _joint(upper: Sheet, lower: Sheet, at: Array, along: Array, overlap: float) -> Joint | None:
    """The trim line through a gate, as far as the upper sheet reaches and the lower one lies under
    it as deep as the strip they share.
    """
    aside = np.array([-along[1], along[0]])
    spans = [
        _reach(sheet, at + depth * along, aside)
        for sheet, depth in ((upper, 0.0), (lower, -overlap), (lower, _BEYOND_MM))
    ]
    first, last = max(span[0] for span in spans), min(span[1] for span in spans)
    if last - first < 2.0 * _ASIDE_MM - 1e-6:
        return None
    return Joint(upper.number, lower.number, at + np.array([[first], [last]]) * aside)


def _reach(sheet: Sheet, at: Array, way: Array) -> tuple[float, float]:
    """From where to where a straight line lies on a sheet, mm from `at` along `way`."""
    frame = turned(sheet.turn)
    start, step = frame.apply(at), frame.turn(way)
    first, last = -np.inf, np.inf
    for k in (0, 1):
        if abs(step[k]) > 1e-12:
            a, b = (sheet.box[k] - start[k]) / step[k], (sheet.box[k + 2] - start[k]) / step[k]
            first, last = max(first, min(a, b)), min(last, max(a, b))
    return float(first), float(last)


def _hidden(
    sheets: list[Sheet], joints: list[Joint], gates: _Gates, chain: list[Rectangle]
) -> bool:
    """Whether a stretch of the line is cut off at a joint of its sheet, or lies below another."""
    line = gates.line
    plan = SheetPlan("along the edge", 0.0, 0.0, tuple(sheets), tuple(joints), 0)
    for sheet, each in zip(sheets, chain, strict=True):
        its = line.points[
            (line.bin >= each.first) & (line.bin < each.last) & (line.pad == WORKING_MM)
        ]
        for joint in plan.of(sheet):
            side = joint.left(its) * (1.0 if joint.upper == sheet.number else -1.0)
            if side.min() < -0.01:
                return True
        for other in sheets:
            if abs(other.number - sheet.number) > 1 and other.shows(its).any():
                return True
    return False
