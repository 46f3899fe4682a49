"""What a camera that doesn't look straight down sees of the pins' ends.

Tips are traced on the plane of the pins' upper sides. With r half the width of a pin, and a the
slope of the line of sight (mm outwards for each mm up; above 0 the camera looks back at the ends,
from the building's side), the end of a pin is seen further out than it is by

    blade    0 for a < 0; from behind d a, d mm its depth: its lower rim is what is seen
    rod      0 for a < 0; from behind 2 r a
    ball     r (a + q), q = sqrt(1 + a^2) - 1: a sphere of radius r below the plane, touching it

(a line at that slope, tangent to the sphere). Across the pin a rod's rim falls by |a| times a
half circle, and a ball's outline by 1 + q times, which tells them from blades. The height of pins
with round ends may have been measured to their axis: then r q is left of the ball's shift.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
End = Literal["blade", "rod", "ball"]

_DEEPEST_MM = 3.5  # of blades (common practice, no source)


def bow(end: End, slope: float) -> float:
    """The part of a half circle across the pin by which its edge is seen to fall besides."""
    return {"blade": 0.0, "rod": abs(slope), "ball": float(np.hypot(1.0, slope)) - 1.0}[end]


@dataclass(frozen=True)
class Aslant:
    """shift: (K,) mm that pins are seen further out than they are. sunk_u: mm, a standard
    uncertainty of the height of all ends that does what is not known of the shift.
    """

    shift: Array
    sunk_u: float


def seen_aslant(ends: Collection[End], half: float, height: float, slope: Array) -> Aslant:
    """Of pins of a half width (mm) on the plane `height` mm above the sheet, with ends that are one
    of those. slope: (K,) of the line of sight.
    """
    r, root12 = half, 12.0**0.5
    round_off = r * (np.hypot(1.0, slope) - 1.0)
    if set(ends) == {"ball"}:  # touches the plane, or has its middle there
        return Aslant(0.5 * r * slope + round_off, r / root12)
    behind = np.maximum(slope, 0.0)
    deep = max(min(_DEEPEST_MM, height), 2.0 * r)
    shallow = r if "ball" in ends else 2.0 * r
    if set(ends) == {"rod"}:
        deep = shallow
    if np.median(slope) > 0.0:
        return Aslant(0.5 * (shallow + deep) * behind, (deep - shallow) / root12)
    # From the body's side a ball may lie r lower, and nothing else does.
    return Aslant(0.5 * (shallow + deep) * behind, r / 6.0**0.5 if "ball" in ends else 0.0)
