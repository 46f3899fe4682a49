"""A page whose two axes were printed differently, told by the lens that it asks for.

Seen nearly squarely, a page that is a little narrower than it says looks like one seen through a
lens whose centre has moved by a hundred pixels. When the marks ask for such a lens, and nobody
measured the print well enough to deny it, the page is the likelier cause.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.pose.lens import Lens
from scribe.capture.pose.lens_prior import LensPrior

Array = npt.NDArray[np.float64]

STEP = 0.002  # of the aspect: what a first try stretches the page by


def factors(aspect: float) -> Array:
    """(2,) along x and y, of a page that is wider than tall by `aspect` as a part of 1."""
    return np.array([1.0 + aspect / 2.0, 1.0 - aspect / 2.0])


def likelier_by(
    prior: LensPrior, u: float, plain: Lens, stretched: Lens, already: float = 0.0
) -> float:
    """By how much the aspect of the page must change for its lens and its print to agree best.

    plain: the lens solved for a page whose aspect is changed by `already`; stretched: for that page
    by factors(STEP). u: relative standard uncertainty of the aspect. With the lens a linear
    function of a further change a, plain + a g, the sum of squares of (lens - mean) under the prior
    and of (already + a) / u is least at the a that is returned.
    """
    weight = prior.weight()
    slope = weight @ (stretched.values() - plain.values()) / STEP
    away = weight @ (plain.values() - prior.mean.values())
    return float(-(slope @ away + already / u**2) / (slope @ slope + 1.0 / u**2))
