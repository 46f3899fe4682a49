"""Orient a photo: from the marks found in it to the solved camera, or to a refusal.

Markers give a first camera; with it every crossing of the target is predicted, measured
in the full photo, and the camera solved again from crossings alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from scribe.camera_file import KnownLens
from scribe.capture.photo import Photo
from scribe.capture.pose.camera import Camera, Resection, lifted, resect
from scribe.capture.pose.flatness import Bend
from scribe.capture.pose.lens_known import check_known, known_prior
from scribe.capture.pose.lens_odd import (
    odd,
    refuse_lost,
    refuse_uneven,
    refuse_untold,
    refuse_wider,
)
from scribe.capture.pose.lens_prior import LensPrior, lens_prior
from scribe.capture.pose.mark_places import measure_marks
from scribe.capture.pose.shared import shared_by_neighbours, with_correlation
from scribe.capture.pose.sheet_marks import SheetMarks, likelier_print
from scribe.capture.sheet.crossing import Crossings
from scribe.capture.sheet.marks import BLUR_LIMIT_PX, Sighting, blurred, find_marks
from scribe.capture.sheet.sheet_number import with_number
from scribe.errors import ScribeError
from scribe.target import Target

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

FEWEST_POINTS = 12
FLOOR_PX = 0.02  # nobody knows a crossing better than this: print, ink and pixel response
_MARKER_U_PX = 0.7  # of a marker's corner as the detector gives it, at the reduced photo's pixel
_BLUR_LIMIT_MM = 0.3  # beyond this and BLUR_LIMIT_PX, edges run into each other
_SMEARED_PX, _SHARP_PART = 2.0, 1 / 3  # of blur, and of the marks in the photo that are sharp then
# rms residual beyond which the sheet is no plane: in mm, but never finer than a pixel.
_UNFLAT_LIMIT_MM, _UNFLAT_LIMIT_PX = 0.3, 1.0
_DROPPED_LIMIT = 0.4


@dataclass(frozen=True)
class Oriented:
    """A photo with its camera.

    points: (N, 2) mm true places of the marks tried; pixels: (N, 2) as measured.
    used: (N,) bool. residuals: (N, 2) px where used, else nan. scale: (x, y) of the print.
    blur_px: median blur of the crossings. noise_px: of one mark's coordinate.
    smooth_mm: rms of what neighbouring residuals have in common: paper that is not flat, lens
    terms that are missing. bend_mm: from the lowest to the highest mark of a sheet that is seen
    to be bent, 0 for one that isn't.
    """

    photo: Photo
    target: Target
    camera: Camera
    points: Array
    pixels: Array
    used: Mask
    residuals: Array
    scale: tuple[float, float]
    noise_px: float
    blur_px: float
    smooth_mm: float
    bend_mm: float = 0.0

    def without_pixels(self) -> Oriented:
        """The same with an empty picture of its size: small enough to be handed on."""
        empty = np.broadcast_to(np.zeros((), np.uint8), self.photo.grey.shape)
        return replace(self, photo=replace(self.photo, grey=empty))


def orient(
    photo: Photo,
    *,
    board: Target | None = None,
    scale: tuple[float, float] = (1.0, 1.0),
    aspect_u: float = 0.0,
    known: KnownLens | None = None,
) -> Oriented:
    """Solve the camera of a photo. scale: true size / nominal size of the print along x and y.

    aspect_u: relative standard uncertainty of one over the other: where the marks ask for an odd
    lens, the page is taken a little narrower or wider, within it. known: a lens learnt from other
    photos; one that this photo contradicts is refused.
    """
    usual = lens_prior(photo.exif, photo.size)
    prior = usual if known is None else known_prior(known, photo.exif, photo.size, photo.name)
    seen = find_marks(photo, board)
    stretch = np.array(scale)
    rough = first_camera(photo, seen, stretch, prior)
    points, found = measure_marks(photo, seen, rough, stretch)
    if found.good.sum() < FEWEST_POINTS or smeared(photo, found):
        raise _unreadable(photo, seen, rough, found)
    keep, marks, flat = _that_agree(photo, points, found, prior, rough)
    if known is None:
        solved, bend, by = _by_usual_lens(marks, prior, flat, aspect_u)
        points, stretch = points * by, stretch * by
    else:
        solved, bend = _by_known_lens(marks, prior, usual, flat)
    residuals = np.full_like(points, np.nan)
    residuals[keep] = solved.residuals
    camera, smooth_mm = with_correlation(solved, points[keep])
    mm_per_px = float(np.median(camera.mm_per_px(points[keep], 0.0)))
    rms = solved.noise_px * mm_per_px
    if rms > max(_UNFLAT_LIMIT_MM, _UNFLAT_LIMIT_PX * mm_per_px):
        raise _disagree(photo, f"the marks do not lie on one plane (they miss it by {rms:.1f} mm)")
    blur = float(np.median(found.blur[keep]))
    if _too_blurred(blur, mm_per_px):
        raise blurred(photo, blur)
    bend_mm = 0.0 if bend is None else float(np.ptp(bend.z(points[keep])))

    def seen_at(printed: Array) -> Array:
        z = 0.0 if bend is None else bend.z(printed)[..., None]
        return camera.pixels(lifted(printed, 0.0) + z * np.array([0.0, 0.0, 1.0]))

    target = with_number(photo, seen.target, seen_at, stretch)
    return Oriented(
        photo, target, camera, points, found.pixels, keep, residuals,
        (float(stretch[0]), float(stretch[1])), solved.noise_px, blur, smooth_mm, bend_mm,
    )  # fmt: skip


def _that_agree(
    photo: Photo, points: Array, found: Crossings, prior: LensPrior, rough: Camera
) -> tuple[Mask, SheetMarks, Resection]:
    """Which of the marks agree, those, and the camera over a plane by all that are good."""
    good = found.good
    u = np.hypot(found.u, FLOOR_PX)
    flat = resect(points[good], found.pixels[good], u[good], prior, rough)
    keep = good.copy()
    keep[good] = trusted(flat)
    if keep.sum() < max(FEWEST_POINTS, (1.0 - _DROPPED_LIMIT) * good.sum()):
        raise _disagree(photo, "too many of the marks contradict the others")
    return keep, SheetMarks(photo, points[keep], found.pixels[keep], u[keep]), flat


def _by_usual_lens(
    marks: SheetMarks, prior: LensPrior, flat: Resection, aspect_u: float
) -> tuple[Resection, Bend | None, Array]:
    """The camera by the lens that the file tells of or doesn't; (2,) what the page is longer by.

    Refuses a lens that none can be.
    """
    photo, by = marks.photo, np.ones(2)
    solved, bend = marks.solve_from(prior, flat)
    if photo.exif.focal_px is None:
        refuse_untold(photo, prior, solved.camera, marks.points, bent=bend is not None)
        refuse_uneven(photo, solved, marks.points)
        return solved, bend, by
    by = likelier_print(marks, prior, solved.camera, aspect_u)
    if (by != 1.0).any():
        marks = marks.stretched(by)
        solved, bend = marks.solve(prior, solved.camera)
    if odd(prior, solved.camera, marks.points):
        # Not the lens that the file tells of: cropped, or a picture of a picture.
        prior = lens_prior(replace(photo.exif, focal_px=None, same_frame=False), photo.size)
        solved, bend = marks.solve(prior, solved.camera)
        refuse_lost(photo, prior, solved.camera, marks.points)
        refuse_uneven(photo, solved, marks.points)
        refuse_wider(photo, solved.camera)
    return solved, bend, by


def _by_known_lens(
    marks: SheetMarks, prior: LensPrior, usual: LensPrior, flat: Resection
) -> tuple[Resection, Bend | None]:
    """The camera by a lens learnt from other photos; refuses one that this photo contradicts."""
    solved, bend = marks.solve_from(prior, flat)
    free, _ = marks.solve(usual, solved.camera)
    # Over a bent sheet the lens drifts with the bend: only the misfit tells.
    alike, _ = shared_by_neighbours(solved, marks.points)
    check_known(solved, free, alike, prior if bend is None else None, marks.photo.name)
    return solved, bend


def first_camera(photo: Photo, seen: Sighting, stretch: Array, prior: LensPrior) -> Camera:
    """From marker corners; of the two poses a plane allows, the one with the smaller misfit."""
    points, pixels = seen.points() * stretch, seen.pixels()
    matrix = np.array(
        [[prior.mean.f, 0.0, prior.mean.cx], [0.0, prior.mean.f, prior.mean.cy], [0.0, 0.0, 1.0]]
    )
    centre = points.mean(axis=0)
    _, turns, shifts, _ = cv2.solvePnPGeneric(
        lifted(points - centre, 0.0), pixels, matrix, None, flags=cv2.SOLVEPNP_IPPE
    )
    u = np.full(len(points), _MARKER_U_PX * max(photo.size) / 1000.0)
    best: Resection | None = None
    for turn, shift in zip(turns, shifts, strict=True):
        rotation = np.asarray(cv2.Rodrigues(turn)[0], dtype=np.float64)
        translation = shift.ravel() - rotation[:, :2] @ centre
        if rotation[2, 2] >= 0.0:
            continue  # the back of the sheet
        start = Camera(prior.mean, rotation, translation, np.zeros((14, 14)))
        solved = resect(points, pixels, u, prior, start)
        if best is None or solved.noise_px < best.noise_px:
            best = solved
    if best is None:
        raise _disagree(photo, "the marks appear mirrored")
    return best.camera


def trusted(solved: Resection) -> Mask:
    """Marks within four robust standard deviations of the solution."""
    size = np.hypot(*solved.residuals.T)
    return np.asarray(size < max(4.0 * float(np.median(size)) / 1.1774, 0.1))


def _unreadable(photo: Photo, seen: Sighting, rough: Camera, found: Crossings) -> ScribeError:
    blur = float(np.median(found.blur[found.blur > 0.0])) if (found.blur > 0.0).any() else 0.0
    mm_per_px = float(np.median(rough.mm_per_px(seen.points(), 0.0)))
    if _too_blurred(blur, mm_per_px) or smeared(photo, found):
        return blurred(photo, blur)
    return ScribeError(
        "photo-few-crossings",
        what=f"only {int(found.good.sum())} of the marks are sharp enough to measure,"
        f" {FEWEST_POINTS} at least are needed",
        where=photo.name,
        do="get closer so that the sheet fills the picture, avoid glare, and take the photo again",
    )


def smeared(photo: Photo, found: Crossings) -> bool:
    """Whether a phone that shook left so few marks that those may be taken for sharp by chance."""
    blur = found.blur[found.blur > 0.0]
    inside = ((found.pixels > 0.0) & (found.pixels < np.array(photo.size) - 1.0)).all(axis=1)
    few = found.good.sum() < _SHARP_PART * inside.sum()
    return bool(few and len(blur) and np.median(blur) > _SMEARED_PX)


def _too_blurred(blur_px: float, mm_per_px: float) -> bool:
    return blur_px > BLUR_LIMIT_PX and blur_px * mm_per_px > _BLUR_LIMIT_MM


def _disagree(photo: Photo, what: str) -> ScribeError:
    return ScribeError(
        "marks-disagree",
        what=what,
        where=photo.name,
        do="tape the sheet down flat, keep hands and tools off its marks, and take the photo again",
    )
