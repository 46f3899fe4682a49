"""What many photos of many sheets say, as residuals and derivatives.

Frame of the run: the frame of the first sheet, x and y in the plane that the sheets have in
common, z out of it. A photo has a place for each of 6 freedoms, a sheet as well, all share
one lens (8) and one print scale (x, y). Of the first sheet x, y and the turn in the plane
stay as they are: that is the frame.

Sheets on one board lie nearly, but not quite, in one plane: paper lifts, boards bow. Their
height and tilt are unknowns, held by two priors: each sheet to the common plane, as loosely
as a long board bows, and each to its neighbours, as closely as tape holds paper down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from scribe.capture.camera import Camera, LensPrior, rotation_by
from scribe.capture.lens import Lens
from scribe.geom.sparse_solve import Rows, SparseSystem

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.int64]

LENS, SCALE, POSE = 8, 2, 6
# To the common plane: a board of some metres that nobody levelled bows by some millimetres.
_BOARD_MM, _BOARD_TILT = 5.0, 0.01
# To the neighbour: tape and paper stand off by some tenths; over the width of a strip that tilts
# it by some thousandths (our own estimate, no source).
_PAPER_MM, _PAPER_TILT = 0.15, 0.002


@dataclass(frozen=True)
class SheetMarks:
    """The crossings of one sheet in one photo.

    sheet: its number. points: (N, 2) mm as printed at 100 %. pixels: (N, 2) as measured,
    u: (N,) px their standard uncertainty before the fit.
    """

    sheet: int
    points: Array
    pixels: Array
    u: Array


@dataclass(frozen=True)
class PhotoMarks:
    """All sheets seen in one photo. size: (width, height) px."""

    name: str
    size: tuple[int, int]
    prior: LensPrior
    seen: tuple[SheetMarks, ...]

    @property
    def sheets(self) -> tuple[int, ...]:
        """Numbers of the sheets seen."""
        return tuple(marks.sheet for marks in self.seen)


@dataclass(frozen=True)
class Mark:
    """A place that a person finds on a sheet: its number, name ("A") and place on it, mm."""

    sheet: int
    name: str
    point: tuple[float, float]

    def __str__(self) -> str:
        return f"sheet {self.sheet} cross {self.name}"


@dataclass(frozen=True)
class Tape:
    """A distance measured by hand from mark to mark, mm, with its standard uncertainty u."""

    start: Mark
    end: Mark
    length: float
    u: float

    def __str__(self) -> str:
        return f"{self.start} to {self.end}"


@dataclass(frozen=True)
class ScalePrior:
    """Printed over stated length along x and y, (2,), with standard uncertainties (2,)."""

    mean: Array
    sd: Array


@dataclass(frozen=True)
class Rig:
    """One state of all unknowns, for P photos and S sheets.

    turns (P, 3, 3), shifts (P, 3): X_camera = turn X + shift. sheet_turns (S, 3, 3), centres
    (S, 3): where a sheet's pivot lies; X = centre + turn (scale * (point - pivot)).
    """

    lens: Lens
    scale: Array
    turns: Array
    shifts: Array
    sheet_turns: Array
    centres: Array

    def camera(self, photo: int) -> Camera:
        """The camera of a photo in the frame of the run, without its covariance."""
        return Camera(self.lens, self.turns[photo], self.shifts[photo], np.zeros((14, 14)))


@dataclass(frozen=True)
class Observations:
    """All photos' marks in rows, sorted by photo and sheet.

    photo, sheet: (G,) of each group; starts: (G,) its first row. points: (M, 2) mm from the
    pivot of their sheet, at 100 %; pixels (M, 2); u (M,) px. pivots: (S, 2). numbers: (S,)
    of the sheets, the first one first.
    """

    photos: tuple[PhotoMarks, ...]
    numbers: tuple[int, ...]
    pivots: Array
    photo: Index
    sheet: Index
    starts: Index
    points: Array
    pixels: Array
    u: Array

    @staticmethod
    def of(photos: Sequence[PhotoMarks], first: int) -> Observations:
        """Gather; `first` is the sheet whose frame is used, its pivot is its own origin."""
        seen = {number for photo in photos for number in photo.sheets}
        numbers = (first, *sorted(seen - {first}))
        order = {number: k for k, number in enumerate(numbers)}
        extent: dict[int, list[Array]] = {number: [] for number in numbers}
        for photo in photos:
            for marks in photo.seen:
                extent[marks.sheet].append(marks.points)
        pivots = np.array([np.vstack(extent[number]).mean(axis=0) for number in numbers])
        pivots[0] = 0.0
        groups = [(p, marks) for p, photo in enumerate(photos) for marks in photo.seen]
        sheet = np.array([order[marks.sheet] for _, marks in groups], dtype=np.int64)
        sizes = [len(marks.points) for _, marks in groups]
        return Observations(
            photos=tuple(photos),
            numbers=numbers,
            pivots=pivots,
            photo=np.array([p for p, _ in groups], dtype=np.int64),
            sheet=sheet,
            starts=np.concatenate([[0], np.cumsum(sizes)[:-1]]).astype(np.int64),
            points=np.vstack([marks.points for _, marks in groups])
            - np.repeat(pivots[sheet], sizes, axis=0),
            pixels=np.vstack([marks.pixels for _, marks in groups]),
            u=np.concatenate([marks.u for _, marks in groups]),
        )

    @cached_property
    def group(self) -> Index:
        """(M,) the group of each row."""
        sizes = np.diff(np.append(self.starts, len(self.points)))
        return np.repeat(np.arange(len(self.starts)), sizes)

    @property
    def size(self) -> int:
        """Number of unknowns."""
        return LENS + SCALE + POSE * (len(self.photos) + len(self.numbers)) - 3

    def of_photo(self, photo: int) -> Index:
        """(6,) the unknowns of a photo: turn in the camera frame, then shift."""
        return LENS + SCALE + POSE * photo + np.arange(POSE)

    def of_sheet(self, sheet: int) -> Index:
        """(6,) the unknowns of a sheet: its pivot x, y, z, then the turn; negative: held."""
        if sheet == 0:
            start = LENS + SCALE + POSE * len(self.photos)
            return np.array([-1, -1, start, start + 1, start + 2, -1], dtype=np.int64)
        return LENS + SCALE + POSE * (len(self.photos) + sheet) - 3 + np.arange(POSE)

    def in_run(self, rig: Rig) -> tuple[Array, Array]:
        """(M, 3) mm every mark in the frame of the run, and (M, 3) the same from its pivot."""
        sheet = self.sheet[self.group]
        flat = np.column_stack([self.points * rig.scale, np.zeros(len(self.points))])
        arm = np.einsum("nij,nj->ni", rig.sheet_turns[sheet], flat)
        return rig.centres[sheet] + arm, arm

    @cached_property
    def unknowns(self) -> Index:
        """(G, 22) the unknowns of each group: lens, scale, photo, sheet."""
        common = np.arange(LENS + SCALE)
        return np.array(
            [
                np.concatenate([common, self.of_photo(p), self.of_sheet(s)])
                for p, s in zip(self.photo, self.sheet, strict=True)
            ]
        )

    def predicted(self, rig: Rig) -> tuple[Array, Array]:
        """(M, 2) px of every mark and (M, 2, 22) its derivatives, in the order of `unknowns`."""
        place, arm = self.in_run(rig)
        photo, sheet = self.photo[self.group], self.sheet[self.group]
        turn = rig.turns[photo]
        seen = np.einsum("nij,nj->ni", turn, place) + rig.shifts[photo]
        z = seen[:, 2]
        directions = seen[:, :2] / z[:, None]
        by_direction, by_lens = rig.lens.derivatives(directions)
        by_seen = np.empty((len(z), 2, 3))
        by_seen[:, :, :2] = by_direction / z[:, None, None]
        by_seen[:, :, 2] = -np.einsum("nij,nj->ni", by_seen[:, :, :2], directions)
        by_place = by_seen @ turn
        along = rig.sheet_turns[sheet][:, :, :2] * self.points[:, None, :]
        parts = [by_lens, by_place @ along]
        parts += [by_seen @ -crossed(seen), by_seen, by_place, by_place @ -crossed(arm)]
        return rig.lens.pixels(directions), np.concatenate(parts, axis=2)

    def moved(self, rig: Rig, step: Array) -> Rig:
        """The state after a step of all unknowns."""
        turns, shifts = rig.turns.copy(), rig.shifts.copy()
        for p in range(len(self.photos)):
            own = step[self.of_photo(p)]
            turn = rotation_by(own[:3])
            turns[p], shifts[p] = turn @ turns[p], turn @ shifts[p] + own[3:]
        sheet_turns, centres = rig.sheet_turns.copy(), rig.centres.copy()
        for s in range(len(self.numbers)):
            index = self.of_sheet(s)
            own = np.where(index >= 0, step[index], 0.0)
            centres[s] += own[:3]
            sheet_turns[s] = rotation_by(own[3:]) @ sheet_turns[s]
        lens = Lens.of(rig.lens.values() + step[:LENS])
        scale = rig.scale + step[LENS : LENS + SCALE]
        return Rig(lens, scale, turns, shifts, sheet_turns, centres)


def crossed(vectors: Array) -> Array:
    """(N, 3, 3) matrices that multiply as the cross product with vectors (N, 3)."""
    matrix = np.zeros((len(vectors), 3, 3))
    x, y, z = vectors.T
    matrix[:, 0, 1], matrix[:, 0, 2] = -z, y
    matrix[:, 1, 0], matrix[:, 1, 2] = z, -x
    matrix[:, 2, 0], matrix[:, 2, 1] = -y, x
    return matrix


@dataclass(frozen=True)
class Knowledge:
    """What is known apart from the photos. neighbours: pairs of sheets that lie side by side."""

    lens: LensPrior
    scale: ScalePrior
    tapes: tuple[Tape, ...]
    neighbours: tuple[tuple[int, int], ...]

    def without(self, tape: Tape) -> Knowledge:
        """The same without one reading."""
        return replace(self, tapes=tuple(other for other in self.tapes if other is not tape))

    def rows(self, seen: Observations, rig: Rig) -> list[Rows]:
        """Everything as prior rows at one state."""
        sd = self.lens.sd
        rows = [
            Rows(
                (rig.lens.values() - self.lens.mean.values()) / sd,
                np.diag(1.0 / sd),
                np.arange(LENS),
            ),
            Rows(
                (rig.scale - self.scale.mean) / self.scale.sd,
                np.diag(1.0 / self.scale.sd),
                LENS + np.arange(SCALE),
            ),
        ]
        rows += [_to_the_plane(seen, rig, s) for s in range(len(seen.numbers))]
        rows += [_to_each_other(seen, rig, *pair) for pair in self.neighbours]
        rows += [tape_row(seen, rig, tape) for tape in self.tapes]
        return rows


def _heights(rig: Rig, sheet: int) -> tuple[Array, Array]:
    """(3,) height and the x, y of the normal of a sheet, and (3, 6) by its unknowns."""
    normal = rig.sheet_turns[sheet][:, 2]
    by = np.zeros((3, POSE))
    by[0, 2] = 1.0
    by[1:, 3:] = -crossed(normal[None])[0][:2]
    return np.array([rig.centres[sheet, 2], normal[0], normal[1]]), by


def _to_the_plane(seen: Observations, rig: Rig, sheet: int) -> Rows:
    value, by = _heights(rig, sheet)
    sd = np.array([_BOARD_MM, _BOARD_TILT, _BOARD_TILT])
    return Rows(value / sd, by / sd[:, None], seen.of_sheet(sheet))


def _to_each_other(seen: Observations, rig: Rig, one: int, other: int) -> Rows:
    """The second sheet goes on where the first one's surface leads, and the other way round.

    From sheet to sheet height changes by the mean slope times the way; slope = -normal.
    """
    (a, by_a), (b, by_b) = _heights(rig, one), _heights(rig, other)
    way = rig.centres[other, :2] - rig.centres[one, :2]
    mean = np.concatenate([[1.0], 0.5 * way])
    step = float(b[0] - a[0] + 0.5 * way @ (a[1:] + b[1:]))
    value = np.array([step, *(b[1:] - a[1:])])
    by = np.zeros((3, 2 * POSE))
    by[0, :POSE] = mean * [-1.0, 1.0, 1.0] @ by_a
    by[0, POSE:] = mean @ by_b
    by[1:, :POSE], by[1:, POSE:] = -by_a[1:], by_b[1:]
    sd = np.array([_PAPER_MM, _PAPER_TILT, _PAPER_TILT])
    unknowns = np.concatenate([seen.of_sheet(one), seen.of_sheet(other)])
    return Rows(value / sd, by / sd[:, None], unknowns)


def tape_length(seen: Observations, rig: Rig, tape: Tape) -> tuple[float, Array, Index]:
    """mm from mark to mark, its derivatives (14,) and the unknowns (14,): scale, both sheets."""
    ends, by, unknowns = [], [], []
    by_scale = np.zeros((3, SCALE))
    for mark, sign in ((tape.start, -1.0), (tape.end, 1.0)):
        sheet = seen.numbers.index(mark.sheet)
        place, matrix = placed(seen, rig, sheet, np.array(mark.point))
        ends.append(place)
        by_scale += sign * matrix[:, :SCALE]
        by.append(sign * matrix[:, SCALE:])
        unknowns.append(seen.of_sheet(sheet))
    apart = ends[1] - ends[0]
    length = float(np.linalg.norm(apart))
    by_all = apart / length @ np.concatenate([by_scale, *by], axis=1)
    return length, by_all, np.concatenate([LENS + np.arange(SCALE), *unknowns])


def placed(seen: Observations, rig: Rig, sheet: int, point: Array) -> tuple[Array, Array]:
    """(3,) a printed point (2,) in the frame of the run, and (3, 8) by scale and sheet."""
    free = point - seen.pivots[sheet]
    turn = rig.sheet_turns[sheet]
    arm = turn[:, :2] @ (free * rig.scale)
    by = np.zeros((3, SCALE + POSE))
    by[:, :SCALE] = turn[:, :2] * free
    by[:, SCALE : SCALE + 3] = np.eye(3)
    by[:, SCALE + 3 :] = -crossed(arm[None])[0]
    return rig.centres[sheet] + arm, by


def tape_row(seen: Observations, rig: Rig, tape: Tape) -> Rows:
    """The reading as a prior row."""
    length, by, unknowns = tape_length(seen, rig, tape)
    return Rows(np.array([(length - tape.length) / tape.u]), by[None] / tape.u, unknowns)


def system_of(seen: Observations, known: Knowledge, sd: Array, rig: Rig) -> SparseSystem:
    """Everything linearised at one state; sd: (M,) px of each mark's coordinates."""
    pixels, by = seen.predicted(rig)
    residuals = (pixels - seen.pixels) / sd[:, None]
    return SparseSystem(
        seen.size,
        np.nan_to_num(residuals, nan=1e6, posinf=1e6, neginf=-1e6),
        np.nan_to_num(by / sd[:, None, None]),
        seen.starts,
        seen.unknowns,
        known.rows(seen, rig),
    )
