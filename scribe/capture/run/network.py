"""Many photos of many sheets as solved together: one lens, a pose per photo, a place per sheet.

    network = solve_network(photos, scale=ScalePrior(...), tapes=(...))
    network.camera(0)                 # Camera of the first photo, with its covariance (14, 14)
    network.place(3, [[13.0, 11.0]])  # a printed point of sheet 3 in the frame of the run
    network.roots()                   # what the cameras' errors have in common

Frame of the run: that of the first sheet (the one with the lowest number), x and y in the
plane the sheets have in common. Cameras are given in the plane of the sheets that their
photo shows: there z = 0 is the board where the photo looks at it, and x, y are those of the
run. A board that bows is so measured along its face.

Method: bundle adjustment (Gauss-Newton on all unknowns, robust, with priors; the sparse
normal matrix factorised). Residuals set the scale of the marks' u, and residuals that
neighbours share widen the covariance, as for one photo. Not covered: sheets that are bent in
themselves, lenses that change from photo to photo (refocusing moves the focal length by some
thousandths; what it leaves is in the residuals).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.capture.pose.camera import Camera, rotation_by
from scribe.capture.run.network_known import Knowledge, tape_length, to_each_other
from scribe.capture.run.network_model import (
    LENS,
    PHOTO,
    POSE,
    SCALE,
    Observations,
    Rig,
    crossed,
    placed,
)
from scribe.geom.sparse_solve import Factor
from scribe.tape import TapeReading

Array = npt.NDArray[np.float64]

_CAMERA = LENS + POSE


@dataclass(frozen=True)
class Network:
    """The solution.

    residuals: (M, 2) px, seen minus predicted, in the order of seen; weights: (M,) 0..1.
    noise_px: standard deviation of one coordinate. smooth_px: rms of what neighbouring
    residuals have in common. widening: how much more than independent marks the covariance
    holds for that.
    """

    seen: Observations
    known: Knowledge
    rig: Rig
    factor: Factor
    residuals: Array
    weights: Array
    noise_px: float
    smooth_px: float
    widening: float

    @property
    def photos(self) -> tuple[str, ...]:
        """Names of the photos, in the order of their numbers here."""
        return tuple(photo.name for photo in self.seen.photos)

    @property
    def sheets(self) -> tuple[int, ...]:
        """Numbers of the sheets, the first one (whose frame it is) first."""
        return self.seen.numbers

    @property
    def scale(self) -> tuple[float, float]:
        """Printed over stated length along x and y, as solved."""
        return float(self.rig.scale[0]), float(self.rig.scale[1])

    def place(self, sheet: int, points: Array) -> Array:
        """(N, 3) mm printed points (N, 2) of a sheet in the frame of the run."""
        index = self.sheets.index(sheet)
        return np.array(
            [placed(self.seen, self.rig, index, np.asarray(point))[0] for point in points]
        )

    def length(self, tape: TapeReading) -> tuple[float, float]:
        """mm from mark to mark of a reading, and its standard uncertainty here."""
        value, by, unknowns = tape_length(self.seen, self.rig, tape)
        row = np.zeros((1, self.seen.size))
        _spread(row, unknowns, by[None])
        return value, float(self.factor.covariance_of(row)[0, 0]) ** 0.5

    def length_by_scale(self, tape: TapeReading) -> float:
        """mm standard uncertainty of that length which the doubt about the print scale makes."""
        _, by, unknowns = tape_length(self.seen, self.rig, tape)
        rows = np.zeros((1 + SCALE, self.seen.size))
        _spread(rows[:1], unknowns, by[None])
        rows[1:, LENS : LENS + SCALE] = np.eye(SCALE)
        joint = self.factor.covariance_of(rows)
        part = joint[0, 1:] @ np.linalg.solve(joint[1:, 1:], joint[1:, 0])
        return float(np.sqrt(max(float(part), 0.0)))

    def camera(self, photo: int) -> Camera:
        """The camera of a photo over the board where it looks at it, with its covariance."""
        camera, by = self._local(photo)
        covariance = self.factor.covariance_of(by)
        return replace(camera, covariance=0.5 * (covariance + covariance.T))

    def roots(self) -> Mapping[str, Array]:
        """What the cameras' errors come from: name -> (P, 14, K).

        For one standard uncertainty of each of K independent causes the 14 parameters of
        photo p move by roots[name][p]; the sum over names of root @ root.T, taken over all
        photos at once, is their joint covariance. "print scale" is what the doubt about the
        print moves, "lens" what the lens moves beyond that, "pose" the rest.
        """
        by = np.concatenate([self._local(photo)[1] for photo in range(len(self.photos))])
        causes = np.zeros((LENS + SCALE, self.seen.size))
        causes[:SCALE, LENS : LENS + SCALE] = np.eye(SCALE)
        causes[SCALE:, :LENS] = np.eye(LENS)
        rows = np.concatenate([causes, by])
        joint = self.factor.covariance_of(rows)
        own = LENS + SCALE
        lower = np.linalg.cholesky(_scaled(joint[:own, :own]))
        spread = np.sqrt(np.diag(joint)[:own])
        # Rows of the cameras by causes that are independent of each other, the scale first.
        shared = np.linalg.solve(lower, joint[:own, own:] / spread[:, None]).T
        rest = joint[own:, own:] - shared @ shared.T
        unit = np.sqrt(np.maximum(np.diag(joint)[own:], 1e-300))
        value, vector = np.linalg.eigh(rest / np.outer(unit, unit))
        kept = value > 1e-10 * max(float(value[-1]), 0.0)
        pose = unit[:, None] * vector[:, kept] * np.sqrt(value[kept])
        shape = (len(self.photos), _CAMERA, -1)
        return {
            "print scale": shared[:, :SCALE].reshape(shape),
            "lens": shared[:, SCALE:].reshape(shape),
            "pose": pose.reshape(shape),
        }

    def group_rms(self) -> Array:
        """(G,) rms of each group's residuals, in units of the u of its marks; see seen.photo."""
        size2 = ((self.residuals / self.seen.u[:, None]) ** 2).sum(axis=1)
        counts = np.diff(np.append(self.seen.starts, len(size2)))
        return np.asarray(np.sqrt(np.add.reduceat(size2, self.seen.starts) / (2.0 * counts)))

    def neighbour_misfit(self) -> Array:
        """(K,) how far each pair of neighbours stands out of one surface, standard deviations."""
        pairs = self.known.neighbours
        rows = [to_each_other(self.seen, self.rig, *pair) for pair in pairs]
        return np.array([np.abs(row.residuals).max() for row in rows])

    def _local(self, photo: int) -> tuple[Camera, Array]:
        """The camera over the plane of the sheets it sees, and (14, unknowns) its derivatives.

        The plane is fitted to the heights of those sheets' marks. With its height a and
        slopes b, d at the middle m of the marks, the frame's z = 0 becomes that plane by a turn
        about m.
        """
        seen, rig = self.seen, self.rig
        place, arm = seen.in_run(rig)
        here = seen.photo[seen.group] == photo
        sheet = seen.sheet[seen.group][here]
        place, arm = place[here], arm[here]
        middle = np.array([*place[:, :2].mean(axis=0), 0.0])
        design = np.column_stack([np.ones(len(place)), place[:, :2] - middle[:2]])
        fit = np.linalg.pinv(design)
        height, along, across = fit @ place[:, 2]
        by_plane = np.zeros((3, seen.size))
        for s in np.unique(sheet):
            one = sheet == s
            by = np.zeros((3, POSE))
            by[:, 2] = fit[:, one].sum(axis=1)
            by[:, 3:] = fit[:, one] @ -crossed(arm[one])[:, 2]
            _spread(by_plane, seen.of_sheet(int(s)), by)
        tilt = _rotation_between(np.array([-along, -across, 1.0]))
        shift = np.array([middle[0], middle[1], height]) - tilt @ middle
        turn = rig.turns[photo]
        translation = turn @ shift + rig.shifts[photo]
        lens = seen.lens_of(rig, photo)
        camera = Camera(lens, turn @ tilt, translation, np.zeros((_CAMERA, _CAMERA)))
        by_tilt = np.stack([by_plane[2], -by_plane[1], np.zeros(seen.size)])
        by_shift = crossed((tilt @ middle)[None])[0] @ by_tilt
        by_shift[2] += by_plane[0]
        own = np.zeros((PHOTO, seen.size))
        own[:, seen.of_photo(photo)] = np.eye(PHOTO)
        by_camera = np.zeros((_CAMERA, seen.size))
        by_camera[:LENS, :LENS] = seen.photos[photo].lens_from_shared()[0]
        by_camera[1:3] += own[POSE:]
        by_camera[LENS : LENS + 3] = own[:3] + turn @ by_tilt
        by_camera[LENS + 3 :] = (
            own[3:POSE] - crossed(translation[None])[0] @ own[:3] + turn @ by_shift
        )
        return camera, by_camera


def _spread(rows: Array, unknowns: npt.NDArray[np.int64], values: Array) -> None:
    """Add values (R, K) into the columns of rows (R, P) that are not held."""
    free = unknowns >= 0
    for column, value in zip(unknowns[free], values[:, free].T, strict=True):
        rows[:, column] += value


def _scaled(covariance: Array) -> Array:
    spread = np.sqrt(np.diag(covariance))
    return np.asarray(covariance / np.outer(spread, spread))


def _rotation_between(normal: Array) -> Array:
    """(3, 3) the smallest rotation that takes the z axis to a normal that is near it."""
    unit = normal / np.linalg.norm(normal)
    return rotation_by(np.array([-unit[1], unit[0], 0.0]))
