"""What lies on which sheet of paper, and how the sheets are joined; how they're found is
said in `scribe.output.sheets.grid` and `scribe.output.sheets.along`.

A sheet shows a rectangle of the drawing, which may be turned on the paper. Where two sheets
meet, one is trimmed along a line and laid on the other; match marks cross that line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from scribe.geom.frames import Rigid, outer_from_axis, turned
from scribe.output.piece.drawing import Box
from scribe.output.sheets.match_marks import MatchMark
from scribe.quantity import format_mm, round_up_mm
from scribe.standards import COVERAGE_FACTOR

Array = npt.NDArray[np.float64]

FOOT_MM = 11.0  # above the lower margin, for the check bar and the sheet's name


@dataclass(frozen=True)
class Joint:
    """Two sheets by number: the upper one is trimmed along `trim`, (2, 2) mm in the drawing,
    what stays of it to the left, and laid on the lower one.
    """

    upper: int
    lower: int
    trim: Array
    marks: tuple[MatchMark, ...] = ()

    @property
    def along(self) -> Array:
        """(2,) unit vector along the trim line."""
        way = self.trim[1] - self.trim[0]
        return np.asarray(way / np.hypot(*way))

    @property
    def frame(self) -> Rigid:
        """drawing_from_trim: x along the trim line from its start, y towards the upper sheet."""
        return outer_from_axis(self.trim[0], self.along)

    def seen(self, frame: Rigid) -> Joint:
        """The same in another frame."""
        marks = tuple(mark.seen(frame) for mark in self.marks)
        return replace(self, trim=frame.apply(self.trim), marks=marks)

    def left(self, points: Array) -> Array:
        """(N,) mm that points (N, 2) lie to the left of the trim line."""
        x, y = self.along
        return np.asarray((points - self.trim[0]) @ np.array([-y, x]))


@dataclass(frozen=True)
class Sheet:
    """One page. size: of the paper as it lies, mm. turn: radians by which the drawing is turned
    on it; box: what it shows, in the turned drawing. group: sheets of one are joined.
    """

    number: int
    size: tuple[float, float]
    turn: float
    box: Box
    group: int = 1

    @property
    def corners(self) -> Array:
        """(4, 2) of what it shows, in the drawing, counter-clockwise."""
        x0, y0, x1, y1 = self.box
        box = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
        return turned(-self.turn).apply(box)

    def shows(self, points: Array, within: float = 0.0) -> npt.NDArray[np.bool_]:
        """(N,) whether points (N, 2) of the drawing lie on it, at least `within` mm inside."""
        at = turned(self.turn).apply(points)
        low, high = np.array(self.box[:2]) + within, np.array(self.box[2:]) - within
        return np.asarray(((at >= low - 1e-6) & (at <= high + 1e-6)).all(axis=1))


@dataclass(frozen=True)
class Cross:
    """A check cross. sheet: its number. at: (2,) mm in the drawing. distance: mm from cross 1."""

    number: int
    sheet: int
    at: Array
    distance: float

    def seen(self, frame: Rigid) -> Cross:
        """The same in another frame."""
        return replace(self, at=frame.apply(self.at))


@dataclass(frozen=True)
class Assembly:
    """How surely the cut line lies on the blank; mm, standard uncertainties at its worst place.

    across, along: the line, joined by the marks, checked by the tape, laid on the blank. sheet:
    where across is worst. alone: across by the marks alone, told from the sheet where stations
    begin; 0 where nothing is joined. by_crosses: numbers of the crosses to lay by, where the
    blank's edges don't do.
    """

    across: float
    along: float
    sheet: int
    alone: float
    by_crosses: tuple[int, ...]

    @property
    def words(self) -> str:
        """For people, U (k = 2) rounded up to a tenth."""
        across, along, alone = (
            format_mm(round_up_mm(COVERAGE_FACTOR * u, 0.1), 1)
            for u in (self.across, self.along, self.alone)
        )
        told = (
            f"On paper, laid as the cover says: U {across} mm across the line at worst (sheet"
            f" {self.sheet}), {along} mm along it"
        )
        return f"{told}; by match marks alone {alone} mm at the far end" if self.alone else told


@dataclass(frozen=True)
class SheetPlan:
    """sheets in order of number. grid: how many a plain grid takes. layout: how they lie."""

    layout: Literal["grid", "along the edge"]
    margin: float
    overlap: float
    sheets: tuple[Sheet, ...]
    joints: tuple[Joint, ...]
    grid: int
    crosses: tuple[Cross, ...] = ()
    assembly: Assembly | None = None

    @property
    def saved(self) -> int:
        """Sheets that the plain grid would take beyond these."""
        return self.grid - len(self.sheets)

    @property
    def words(self) -> str:
        """How many sheets, and what was saved by laying them along the edge."""
        count = len(self.sheets)
        words = f"{count} sheet{'s' * (count > 1)}"
        return f"{words}, {self.saved} fewer than a plain grid" if self.saved else words

    @property
    def groups(self) -> int:
        """How many parts stay apart, not joined by a sheet."""
        return len({sheet.group for sheet in self.sheets})

    def mirrored(self) -> SheetPlan:
        """The same sheets for the drawing with x turned round: a number means the same part."""
        flip = np.array([-1.0, 1.0])
        sheets = [
            replace(
                each, turn=-each.turn, box=(-each.box[2], each.box[1], -each.box[0], each.box[3])
            )
            for each in self.sheets
        ]
        joints = []
        for joint in self.joints:
            marks = [replace(m, at=m.at * flip, along=-m.along * flip) for m in joint.marks]
            joints.append(replace(joint, trim=(joint.trim * flip)[::-1], marks=tuple(marks)))
        crosses = tuple(replace(cross, at=cross.at * flip) for cross in self.crosses)
        return replace(self, sheets=tuple(sheets), joints=tuple(joints), crosses=crosses)

    def own(self, sheet: Sheet) -> Array:
        """(N, 2) the part of a sheet that no neighbour shows, in the drawing."""
        area = sheet.corners
        for joint in self.joints:
            if sheet.number == joint.upper:
                area = clipped(area, joint.left(area) - self.overlap)
            elif sheet.number == joint.lower:
                area = clipped(area, -joint.left(area))
        return area

    def of(self, sheet: Sheet) -> list[Joint]:
        """The joints that a sheet takes part in."""
        return [each for each in self.joints if sheet.number in (each.upper, each.lower)]

    def with_marks(self, marks: Sequence[tuple[MatchMark, ...]]) -> SheetPlan:
        """The same with match marks, those of each joint."""
        joints = [replace(one, marks=its) for one, its in zip(self.joints, marks, strict=True)]
        return replace(self, joints=tuple(joints))


def clipped(area: Array, side: Array) -> Array:
    """What is left of a convex area (N, 2) where side (N,), linear in the plane, isn't negative."""
    kept: list[Array] = []
    for k in range(len(area)):
        a, b, at, to = side[k - 1], side[k], area[k - 1], area[k]
        if (a < 0.0) != (b < 0.0):
            kept.append(at + a / (a - b) * (to - at))
        if b >= 0.0:
            kept.append(to)
    return np.array(kept).reshape(-1, 2)
