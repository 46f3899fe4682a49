"""What is known of a lens before its photo's marks are looked at, with its covariance.

In: what the file says. Out: `LensPrior`, which also tells how odd a lens found would be.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.exif import Exif
from scribe.capture.pose.lens import Lens

Array = npt.NDArray[np.float64]

_HAIR = 1e-9
# Of LENS_PARAMETERS: k1, k2, k3, and what isn't radial.
_RADIAL, _OTHERS = [3, 4, 7], [0, 1, 2, 5, 6]


@dataclass(frozen=True)
class LensPrior:
    """What is known of the lens beforehand: mean, and its covariance (8, 8)."""

    mean: Lens
    covariance: Array

    def weight(self) -> Array:
        """(8, 8) W, so that W (lens - mean) has unit covariance."""
        # Pixels and lens terms differ by many powers of ten: in units of their sd they don't.
        sd = np.sqrt(np.diag(self.covariance))
        alike = self.covariance / np.outer(sd, sd) + _HAIR * np.eye(len(sd))
        return np.asarray(np.linalg.inv(np.linalg.cholesky(alike)) / sd)

    def distance2(self, lens: Lens) -> float:
        """Squared distance of a lens from the mean, in standard deviations (Mahalanobis)."""
        away = self.weight() @ (lens.values() - self.mean.values())
        return float(away @ away)

    def oddity2(self, lens: Lens, radius: float) -> float:
        """As distance2, with the radial terms judged by what they do together.

        k1, k2 and k3 stand in for one another: large ones with opposite signs may do next to
        nothing up to the normalised radius at which the outermost mark was seen. Of a few radii
        up to that the oddest counts.
        """
        away = lens.values() - self.mean.values()
        others = away[_OTHERS]
        spread = self.covariance[np.ix_(_OTHERS, _OTHERS)]
        r2 = (radius * np.linspace(0.25, 1.0, 8)) ** 2
        does = np.stack([r2, r2**2, r2**3], axis=1)
        variance = np.einsum("rk,kl,rl->r", does, self.covariance[np.ix_(_RADIAL, _RADIAL)], does)
        radial = (does @ away[_RADIAL]) ** 2 / variance
        return float(others @ np.linalg.solve(spread, others) + radial.max())


def lens_prior(exif: Exif, size: tuple[int, int]) -> LensPrior:
    """The prior for a photo of size (width, height) px.

    With a focal length in the file: 4 % of it, because phones round the 35 mm equivalent
    and crop for stabilisation. Without: a phone's main lens, very loosely. The principal
    point wanders with stabilisation, and anywhere when the photo was cropped. Distortion:
    phones leave up to about 0.1; other cameras more.
    """
    long_side = max(size)
    known = exif.focal_px is not None
    focal = exif.focal_px if exif.focal_px is not None else 0.78 * long_side
    centre_sd = long_side * (
        0.01 if exif.same_frame and known else 0.02 if exif.same_frame else 0.15
    )
    radial = 0.1 if known else 0.25
    sd = np.array(
        [
            focal * (0.04 if known else 0.35),
            centre_sd,
            centre_sd,
            radial,
            radial,
            2e-3,
            2e-3,
            radial / 2,
        ]
    )
    mean = Lens(focal, (size[0] - 1) / 2.0, (size[1] - 1) / 2.0)
    return LensPrior(mean, np.diag(sd**2))
