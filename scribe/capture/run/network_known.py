"""What is known of a run apart from its photos: lens, print, tape, and that sheets lie flat.

Sheets on one board lie nearly, but not quite, in one plane: paper lifts, boards bow. Their
height and tilt are unknowns, held by two priors: each sheet to the common plane, as loosely
as a long board bows, and each to its neighbours, as closely as tape holds paper down.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.capture.pose.lens import Lens
from scribe.capture.pose.lens_known import SHIFT
from scribe.capture.pose.lens_prior import LensPrior
from scribe.capture.run.network_model import LENS, POSE, SCALE, Observations, Rig, crossed, placed
from scribe.capture.run.photo_marks import PhotoMarks
from scribe.geom.sparse_solve import Rows, SparseSystem
from scribe.tape import TapeReading

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.int64]

# To the common plane: a board of some metres that nobody levelled bows by some millimetres.
_BOARD_MM, _BOARD_TILT = 5.0, 0.01
# To the neighbour: tape and paper stand off by some tenths; over the width of a strip that tilts
# it by some thousandths (our own estimate, no source).
_PAPER_MM, _PAPER_TILT = 0.15, 0.002


@dataclass(frozen=True)
class ScalePrior:
    """Printed over stated length along x and y, (2,), with standard uncertainties (2,)."""

    mean: Array
    sd: Array


@dataclass(frozen=True)
class Knowledge:
    """What is known apart from the photos. neighbours: pairs of sheets that lie side by side."""

    lens: LensPrior
    scale: ScalePrior
    tapes: tuple[TapeReading, ...]
    neighbours: tuple[tuple[int, int], ...]

    def without(self, tape: TapeReading) -> Knowledge:
        """The same without one reading."""
        return replace(self, tapes=tuple(other for other in self.tapes if other is not tape))

    def rows(self, seen: Observations, rig: Rig) -> list[Rows]:
        """Everything as prior rows at one state."""
        weight = self.lens.weight()
        away = rig.lens.values() - self.lens.mean.values()
        rows = [
            Rows(weight @ away, weight, np.arange(LENS)),
            Rows(
                (rig.scale - self.scale.mean) / self.scale.sd,
                np.diag(1.0 / self.scale.sd),
                LENS + np.arange(SCALE),
            ),
        ]
        rows += [_sensor(seen, rig, p) for p in range(len(seen.photos))]
        rows += [_to_the_plane(seen, rig, s) for s in range(len(seen.numbers))]
        rows += [to_each_other(seen, rig, *pair) for pair in self.neighbours]
        rows += [tape_row(seen, rig, tape) for tape in self.tapes]
        return rows


def shared_prior(photo: PhotoMarks) -> LensPrior:
    """What a photo's prior says of the lens as it stands in the sensor."""
    matrix, shift = photo.lens_from_shared()
    back = np.linalg.inv(matrix)
    mean = back @ (photo.prior.mean.values() - shift)
    return LensPrior(Lens.of(mean), back @ photo.prior.covariance @ back.T)


def _sensor(seen: Observations, rig: Rig, photo: int) -> Rows:
    sd = SHIFT * max(seen.photos[photo].size)
    return Rows(rig.shifted[photo] / sd, np.eye(2) / sd, seen.of_photo(photo)[POSE:])


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


def to_each_other(seen: Observations, rig: Rig, one: int, other: int) -> Rows:
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


def tape_length(seen: Observations, rig: Rig, tape: TapeReading) -> tuple[float, Array, Index]:
    """mm from cross to cross, its derivatives (14,) and the unknowns (14,): scale, both sheets."""
    ends, by, unknowns = [], [], []
    by_scale = np.zeros((3, SCALE))
    for cross, sign in ((tape.start, -1.0), (tape.end, 1.0)):
        sheet = seen.numbers.index(cross.sheet)
        point = seen.targets[sheet].crosses[cross.letter]
        place, matrix = placed(seen, rig, sheet, np.array(point))
        ends.append(place)
        by_scale += sign * matrix[:, :SCALE]
        by.append(sign * matrix[:, SCALE:])
        unknowns.append(seen.of_sheet(sheet))
    apart = ends[1] - ends[0]
    length = float(np.linalg.norm(apart))
    by_all = apart / length @ np.concatenate([by_scale, *by], axis=1)
    return length, by_all, np.concatenate([LENS + np.arange(SCALE), *unknowns])


def tape_row(seen: Observations, rig: Rig, tape: TapeReading) -> Rows:
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
