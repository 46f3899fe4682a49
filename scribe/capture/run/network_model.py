"""What many photos of many sheets say, as residuals and derivatives.

Frame of the run: the frame of the first sheet, x and y in the plane that the sheets have in
common, z out of it. A photo has a place for each of 6 freedoms, a sheet as well, all share
one lens (8) and one print scale (x, y). Of the first sheet x, y and the turn in the plane
stay as they are: that is the frame.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from scribe.capture.pose.camera import rotation_by
from scribe.capture.pose.lens import Lens
from scribe.capture.run.photo_marks import PhotoMarks
from scribe.target import Target

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.int64]

LENS, SCALE, POSE = 8, 2, 6
PHOTO = POSE + 2  # stabilisation shifts the sensor from photo to photo


@dataclass(frozen=True)
class Rig:
    """One state of all unknowns, for P photos and S sheets.

    lens: as it stands in the sensor; shifted: (P, 2) px by how much each photo's principal
    point differs. turns (P, 3, 3), shifts (P, 3): X_camera = turn X + shift. sheet_turns
    (S, 3, 3), centres (S, 3): where a pivot lies; X = centre + turn (scale * (point - pivot)).
    """

    lens: Lens
    shifted: Array
    scale: Array
    turns: Array
    shifts: Array
    sheet_turns: Array
    centres: Array


@dataclass(frozen=True)
class Observations:
    """All photos' marks in rows, sorted by photo and sheet.

    photo, sheet: (G,) of each group; starts: (G,) its first row. points: (M, 2) mm from the
    pivot of their sheet, at 100 %; pixels (M, 2); u (M,) px. pivots: (S, 2). targets: the
    sheets, the first one first.
    """

    photos: tuple[PhotoMarks, ...]
    targets: tuple[Target, ...]
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
        targets = {marks.sheet: marks.target for photo in photos for marks in photo.seen}
        numbers = (first, *sorted(targets.keys() - {first}))
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
            targets=tuple(targets[number] for number in numbers),
            pivots=pivots,
            photo=np.array([p for p, _ in groups], dtype=np.int64),
            sheet=sheet,
            starts=np.concatenate([[0], np.cumsum(sizes)[:-1]]).astype(np.int64),
            points=np.vstack([marks.points for _, marks in groups])
            - np.repeat(pivots[sheet], sizes, axis=0),
            pixels=np.vstack([marks.pixels for _, marks in groups]),
            u=np.concatenate([marks.u for _, marks in groups]),
        )

    @property
    def numbers(self) -> tuple[int, ...]:
        """Numbers of the sheets."""
        return tuple(target.number for target in self.targets)

    @cached_property
    def group(self) -> Index:
        """(M,) the group of each row."""
        sizes = np.diff(np.append(self.starts, len(self.points)))
        return np.repeat(np.arange(len(self.starts)), sizes)

    @property
    def size(self) -> int:
        """Number of unknowns."""
        return LENS + SCALE + PHOTO * len(self.photos) + POSE * len(self.numbers) - 3

    def of_photo(self, photo: int) -> Index:
        """(8,) the unknowns of a photo: turn in the camera frame, shift, and the sensor's, px."""
        return LENS + SCALE + PHOTO * photo + np.arange(PHOTO)

    def of_sheet(self, sheet: int) -> Index:
        """(6,) the unknowns of a sheet: its pivot x, y, z, then the turn; negative: held."""
        start = LENS + SCALE + PHOTO * len(self.photos)
        if sheet == 0:
            return np.array([-1, -1, start, start + 1, start + 2, -1], dtype=np.int64)
        return start + POSE * sheet - 3 + np.arange(POSE)

    def in_run(self, rig: Rig) -> tuple[Array, Array]:
        """(M, 3) mm every mark in the frame of the run, and (M, 3) the same from its pivot."""
        sheet = self.sheet[self.group]
        flat = np.column_stack([self.points * rig.scale, np.zeros(len(self.points))])
        arm = np.einsum("nij,nj->ni", rig.sheet_turns[sheet], flat)
        return rig.centres[sheet] + arm, arm

    @cached_property
    def unknowns(self) -> Index:
        """(G, 24) the unknowns of each group: lens, scale, photo, sheet."""
        common = np.arange(LENS + SCALE)
        return np.array(
            [
                np.concatenate([common, self.of_photo(p), self.of_sheet(s)])
                for p, s in zip(self.photo, self.sheet, strict=True)
            ]
        )

    def predicted(self, rig: Rig) -> tuple[Array, Array]:
        """(M, 2) px of every mark and (M, 2, 24) its derivatives, in the order of `unknowns`."""
        place, arm = self.in_run(rig)
        photo, sheet = self.photo[self.group], self.sheet[self.group]
        turn = rig.turns[photo]
        seen = np.einsum("nij,nj->ni", turn, place) + rig.shifts[photo]
        z = seen[:, 2]
        directions = seen[:, :2] / z[:, None]
        pixels, by_direction, by_lens = self._through_lens(rig, directions)
        by_seen = np.empty((len(z), 2, 3))
        by_seen[:, :, :2] = by_direction / z[:, None, None]
        by_seen[:, :, 2] = -np.einsum("nij,nj->ni", by_seen[:, :, :2], directions)
        by_place = by_seen @ turn
        along = rig.sheet_turns[sheet][:, :, :2] * self.points[:, None, :]
        parts = [by_lens, by_place @ along]
        sensor = np.broadcast_to(np.eye(2), (len(z), 2, 2))
        parts += [by_seen @ -crossed(seen), by_seen, sensor, by_place, by_place @ -crossed(arm)]
        return pixels, np.concatenate(parts, axis=2)

    def lens_of(self, rig: Rig, photo: int) -> Lens:
        """The lens as it appears in a photo."""
        matrix, shift = self.photos[photo].lens_from_shared()
        values = matrix @ rig.lens.values() + shift
        values[1:3] += rig.shifted[photo]
        return Lens.of(values)

    def _through_lens(self, rig: Rig, directions: Array) -> tuple[Array, Array, Array]:
        """Pixels of directions, one for each row, and derivatives by them and by the lens."""
        held = np.array([photo.orientation for photo in self.photos])[self.photo[self.group]]
        pixels = np.empty_like(directions)
        by_direction, by_lens = np.empty((len(held), 2, 2)), np.empty((len(held), 2, LENS))
        for orientation in np.unique(held):
            here = held == orientation
            one = next(p for p in self.photos if p.orientation == orientation)
            matrix, shift = one.lens_from_shared()
            lens = Lens.of(matrix @ rig.lens.values() + shift)
            pixels[here] = lens.pixels(directions[here])
            by_direction[here], by_upright = lens.derivatives(directions[here])
            by_lens[here] = by_upright @ matrix
        return pixels + rig.shifted[self.photo[self.group]], by_direction, by_lens

    def moved(self, rig: Rig, step: Array) -> Rig:
        """The state after a step of all unknowns."""
        turns, shifts, shifted = rig.turns.copy(), rig.shifts.copy(), rig.shifted.copy()
        for p in range(len(self.photos)):
            own = step[self.of_photo(p)]
            turn = rotation_by(own[:3])
            turns[p], shifts[p] = turn @ turns[p], turn @ shifts[p] + own[3:POSE]
            shifted[p] += own[POSE:]
        sheet_turns, centres = rig.sheet_turns.copy(), rig.centres.copy()
        for s in range(len(self.numbers)):
            index = self.of_sheet(s)
            own = np.where(index >= 0, step[index], 0.0)
            centres[s] += own[:3]
            sheet_turns[s] = rotation_by(own[3:]) @ sheet_turns[s]
        lens = Lens.of(rig.lens.values() + step[:LENS])
        scale = rig.scale + step[LENS : LENS + SCALE]
        return Rig(lens, shifted, scale, turns, shifts, sheet_turns, centres)


def crossed(vectors: Array) -> Array:
    """(N, 3, 3) matrices that multiply as the cross product with vectors (N, 3)."""
    matrix = np.zeros((len(vectors), 3, 3))
    x, y, z = vectors.T
    matrix[:, 0, 1], matrix[:, 0, 2] = -z, y
    matrix[:, 1, 0], matrix[:, 1, 2] = z, -x
    matrix[:, 2, 0], matrix[:, 2, 1] = -y, x
    return matrix


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
