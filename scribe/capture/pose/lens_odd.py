"""Is this a lens that a camera has, or the work of a bent sheet, a photo of a photo, a crop?

In: the lens as solved from one photo, and what is known of lenses beforehand. Out: a refusal, or
nothing. The radial terms are judged by what they do together (`LensPrior.oddity2`).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.photo import Photo
from scribe.capture.pose.camera import Camera, Resection, lifted
from scribe.capture.pose.lens_prior import LensPrior
from scribe.capture.pose.shared import shared_by_neighbours
from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]

# Of what is known of lenses beforehand, a photo's own lies this far in 1 of 1000 (chi-square, 6
# parameters: 22.5).
_FAR2 = 22.5
_LOST_CENTRE = 0.05  # of the long side: five times what stabilisation moves it
# With no focal length told, a bend and a lens this odd stand in for each other (chi-square, 6
# parameters: reached by a true lens in 2 of 5).
_ODD2 = 6.0
# No lens for flat pictures sees wider: 10 mm as 35 mm film has it, in parts of the long side.
_WIDEST = 0.29
# Twice the standard uncertainty of a focal length that the file tells.
_WIDER = 0.92
# rms of what neighbouring marks miss together: in mm, but never finer than lenses leave (up to 0.17
# px in the real photographs of docs/measuring.md).
_LEFT_MM, _LEFT_PX = 0.02, 0.2


def odd(prior: LensPrior, camera: Camera, points: Array) -> bool:
    """Whether the camera, solved over points (N, 2) mm, has none of the lenses the prior knows."""
    return _oddity2(prior, camera, points) > _FAR2


def refuse_lost(photo: Photo, prior: LensPrior, camera: Camera, points: Array) -> None:
    """Refuse a lens that isn't the file's when no other zoom explains it.

    prior: without the file's focal length. Another zoom keeps its centre; what lost it is no
    whole photo of one lens.
    """
    centre = (camera.lens.values() - prior.mean.values())[1:3]
    lost = float(np.abs(centre).max()) > _LOST_CENTRE * max(photo.size)
    if lost or odd(prior, camera, points):
        raise _no_lens(photo)


def refuse_wider(photo: Photo, camera: Camera) -> None:
    """Refuse a lens wider than the file tells: a crop or a zoom makes it longer, nothing wider."""
    told = photo.exif.focal_px
    if told is not None and camera.lens.f < _WIDER * told:
        raise ScribeError(
            "lens-not-credible",
            what="only a wider lens than the one that the file tells of would explain where the"
            " marks lie: the sheet isn't flat, the page was printed narrower than tall, or this is"
            " a photo of a photo",
            where=photo.name,
            do="tape the sheet down flat on a board, all round, measure both its check bars, and"
            " hold the phone still over the sheet itself",
        )


def refuse_uneven(photo: Photo, solved: Resection, points: Array) -> None:
    """Refuse marks that miss the sheet together where nobody tells the focal length.

    Then the lens has taken on most of what a bend or a swung phone did, and this is the rest.
    """
    left = shared_by_neighbours(solved, points)[1]
    mm_per_px = float(np.median(solved.camera.mm_per_px(points, 0.0)))
    if left > max(_LEFT_MM / mm_per_px, _LEFT_PX) ** 2:
        raise _untold(photo, "the sheet isn't flat, or the phone was swung")


def refuse_untold(
    photo: Photo, prior: LensPrior, camera: Camera, points: Array, *, bent: bool
) -> None:
    """Refuse a lens that the file doesn't tell when it is none, or half of it a bent sheet's."""
    if bent and _oddity2(prior, camera, points) > _ODD2:
        raise _untold(photo, "the sheet isn't flat")
    if odd(prior, camera, points) or camera.lens.f < _WIDEST * max(photo.size):
        raise _no_lens(photo)


def _untold(photo: Photo, what: str) -> ScribeError:
    tells = "doesn't tell its" if photo.exif.focal_px is None else "tells another"
    return ScribeError(
        "sheet-bent",
        what=f"{what}, and as the photo's file {tells} focal length that can't be told from the"
        " lens",
        where=photo.name,
        do="tape it down flat on a board, all round, or send the phone's own file",
    )


def _oddity2(prior: LensPrior, camera: Camera, points: Array) -> float:
    """Of the camera's lens, judged up to the point that is seen furthest from the axis."""
    seen = camera.in_camera(lifted(points, 0.0))
    outermost = float(np.hypot(*(seen[:, :2] / seen[:, 2:]).T).max())
    return prior.oddity2(camera.lens, outermost)


def _no_lens(photo: Photo) -> ScribeError:
    return ScribeError(
        "lens-not-credible",
        what="only a lens that no camera has would explain where the marks lie: this may be a"
        " photo of a photo, a cropped one, a page that was printed narrower than tall, or the"
        " phone was swung while it was taken",
        where=photo.name,
        do="hold the phone still over the sheet itself, measure both its check bars, and send the"
        " phone's own file",
    )
