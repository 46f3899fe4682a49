"""The measured marks of one sheet, solved for the camera, a bend of the sheet, and its aspect."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.capture.photo import Photo
from scribe.capture.pose.aspect import STEP, factors, likelier_by
from scribe.capture.pose.camera import Camera, Resection, resect
from scribe.capture.pose.flatness import Bend, find_bend, worth_looking
from scribe.capture.pose.lens_odd import odd
from scribe.capture.pose.lens_prior import LensPrior
from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]

# A sheet that bends by more is refused: what lies on it could be anywhere. Rounds to find it.
_BENT_LIMIT_MM, _BENDS = 1.5, 3
_ASPECTS = 3
_MISFIT = 0.3  # of what a plane leaves, a smooth bend may leave: paper is no polynomial


@dataclass(frozen=True)
class SheetMarks:
    """points: (N, 2) mm; pixels: (N, 2); u: (N,) px of each coordinate."""

    photo: Photo
    points: Array
    pixels: Array
    u: Array

    def stretched(self, by: Array) -> SheetMarks:
        """As of a page that is longer by these factors along x and y."""
        return replace(self, points=self.points * by)

    def solve(self, prior: LensPrior, start: Camera) -> tuple[Resection, Bend | None]:
        """The camera over the mean plane of the sheet, and its bend; refuses too much of it."""
        return self._bent(prior, resect(self.points, self.pixels, self.u, prior, start))

    def solve_from(self, prior: LensPrior, flat: Resection) -> tuple[Resection, Bend | None]:
        """As solve, from the camera over a plane by these marks, or by more that were left out."""
        same = len(flat.residuals) == len(self.points)
        return self._bent(prior, flat) if same else self.solve(prior, flat.camera)

    def _bent(self, prior: LensPrior, solved: Resection) -> tuple[Resection, Bend | None]:
        bend: Bend | None = None
        for _ in range(_BENDS):
            if not worth_looking(solved.residuals, solved.camera, self.points):
                break
            noise = np.maximum(self.u, _MISFIT * solved.noise_px)
            more = find_bend(self.points, solved.residuals, noise, solved.camera, prior)
            if more is None:
                break
            bend = more if bend is None else bend.with_more(more)
            z = bend.z(self.points)
            if np.ptp(z) > _BENT_LIMIT_MM:
                raise ScribeError(
                    "sheet-bent",
                    what=f"the sheet isn't flat: its marks lie up to {np.ptp(z):.1f} mm above one"
                    " another",
                    where=self.photo.name,
                    do="tape it down flat on a board, all round, and take the photo again",
                )
            places = np.column_stack([self.points, z])
            solved = resect(places, self.pixels, self.u, prior, solved.camera)
        return solved, bend


def likelier_print(marks: SheetMarks, prior: LensPrior, camera: Camera, aspect_u: float) -> Array:
    """(2,) what the page is longer by along x and y, where that is likelier than an odd lens."""
    as_stated = np.ones(2)
    if not aspect_u or not odd(prior, camera, marks.points):
        return as_stated
    aspect, lens, start = 0.0, camera.lens, camera
    for _ in range(_ASPECTS):  # a focal length is no linear function of the aspect
        tried = marks.stretched(factors(aspect + STEP)).solve(prior, start)[0].camera
        aspect += likelier_by(prior, aspect_u, lens, tried.lens, aspect)
        start = marks.stretched(factors(aspect)).solve(prior, tried)[0].camera
        lens = start.lens
    by = factors(aspect)
    return as_stated if odd(prior, start, marks.points * by) else by
