"""A lens from a file as the prior of a photo, and the doubt whether it is that photo's lens."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.camera_file import KnownLens
from scribe.capture.exif import Exif
from scribe.capture.pose.camera import Resection
from scribe.capture.pose.lens import Lens
from scribe.capture.pose.lens_prior import LensPrior
from scribe.capture.pose.lens_turn import resized, stored_size, upright_from_stored
from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]

# Focusing nearer or further changes the focal length by some tenths of a percent, and
# stabilisation shifts the sensor by a few hundredths of a millimetre of its six or so
# (common experience, no source): what a learnt lens can't know of the next photo.
BREATHING, SHIFT = 0.003, 0.004
_OTHER_FRAME = 0.01  # photos of one lens have one shape
_OTHER_FOCAL = 0.08  # phones round the equivalent focal length, and its lenses lie further apart
# Of a learnt lens a photo's own lies this far in 1 of 10 000 (chi-square, 8 parameters: 31.8).
_FAR2 = 32.0
# What its own lens leaves of a photo's marks: so many times that, and so many px more, is another
# lens; a little more is one too when it lies that far off as well.
_WORSE, _DIFFERENT_PX = 1.5, 0.08
_A_LITTLE = 1.15


def known_prior(known: KnownLens, exif: Exif, size: tuple[int, int], where: str) -> LensPrior:
    """The prior for an upright photo of `size` (width, height) px; refuses another camera's."""
    if known.camera and exif.camera and known.camera != exif.camera:
        raise _differs(where, f"the photo is from {exif.camera}, the lens from {known.camera}")
    stored = stored_size(size, exif.orientation)
    factors = stored[0] / known.size[0], stored[1] / known.size[1]
    if abs(factors[0] / factors[1] - 1.0) > _OTHER_FRAME or not exif.same_frame:
        raise _differs(
            where,
            f"the photo of {stored[0]} x {stored[1]} px has another shape than those of "
            f"{known.size[0]} x {known.size[1]} from which the lens was learnt",
        )
    factor = float(np.sqrt(factors[0] * factors[1]))
    focal = float(known.values[0]) * factor
    if exif.focal_px is not None and abs(exif.focal_px / focal - 1.0) > _OTHER_FOCAL:
        raise _differs(
            where,
            f"its focal length is {exif.focal_px:.0f} px by its file, and {focal:.0f} px for the "
            "lens: another lens or zoom",
        )
    grown, moved = resized(factor)
    turned, shifted = upright_from_stored(exif.orientation, stored)
    matrix = turned @ grown
    values = turned @ (grown @ known.values + moved) + shifted
    covariance = matrix @ known.covariance @ matrix.T
    doubt = np.zeros(8)
    doubt[0] = BREATHING * focal
    doubt[1:3] = SHIFT * max(size)
    return LensPrior(Lens.of(values), covariance + np.diag(doubt**2))


def check_known(
    solved: Resection, free: Resection, alike: float, prior: LensPrior | None, where: str
) -> None:
    """Refuse a learnt lens that the photo's own marks contradict.

    solved: with the learnt lens as prior; free: with what is known of any phone's. alike:
    correlation of the residuals of neighbouring marks: of N only N (1 - r) / (1 + r) pull at the
    lens. prior: the learnt lens, None where the solved one can't be held against it.
    """
    far2 = 0.0 if prior is None else prior.distance2(solved.camera.lens)
    far2 *= (1.0 - alike) / (1.0 + alike)
    far = far2 > _FAR2 and solved.noise_px > _A_LITTLE * free.noise_px
    if far or solved.noise_px > _WORSE * free.noise_px + _DIFFERENT_PX:
        raise _differs(
            where,
            f"with the lens of the file the marks are off by {solved.noise_px:.2f} px, with their "
            f"own by {free.noise_px:.2f}",
        )


def _differs(where: str, what: str) -> ScribeError:
    return ScribeError(
        "camera-differs",
        what=f"this isn't the lens that was learnt: {what}",
        where=where,
        do="use the same lens at the same zoom, or learn this one {learn}{or no lens}",
    )
