"""The morphological closing of a profile after ISO 16610-41, with a disc as the probe.

A profile is its samples: x (N,) growing, z (N,), mm. The disc comes from above. Dilation is the
path of its centre, erosion undoes it, and closing, one after the other, is the surface as far as
the disc could feel it: what lies in hollows too narrow is bridged. Between two samples a distance
h apart a disc of radius R sinks by h^2 / (8 R) more than it would on the line that joins them.
Closing is extensive, increasing and idempotent.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]


class Felt(NamedTuple):
    """height: (N,) mm at the samples. touched: (N,) False where the probe bridged a hollow."""

    height: Array
    touched: Mask


def disk_closing(x: Array, z: Array, radius: float) -> Felt:
    """The profile as a disc of this radius feels it from above; exact for the samples.

    The discs over all samples are copies of one strictly concave arc, so that two of them
    cross once: their upper envelope is found in one pass with a stack, as a convex hull is.
    Where the envelope passes from one sample to a later one, that disc touches both and
    bridges what lies between. Neighbours further apart than 2 R are not bridged.
    """
    touching: list[int] = []
    turn: list[float] = []  # turn[k]: centre of the disc that touches touching[k] and the next
    xs, zs = x.tolist(), z.tolist()
    for j in range(len(xs)):
        while touching:
            i = touching[-1]
            centre = _handover(xs[i], zs[i], xs[j], zs[j], radius)
            if len(touching) > 1 and turn[-1] >= centre:
                touching.pop()
                turn.pop()
                continue
            turn.append(centre)
            break
        touching.append(j)
    height = z.astype(np.float64)
    touched = np.zeros(len(x), bool)
    touched[touching] = True
    for i, j, centre in zip(touching[:-1], touching[1:], turn, strict=True):
        if j == i + 1:
            continue
        between = slice(i + 1, j)
        # At a step higher than R the disc leans on the upper sample without resting on it.
        rests = [zs[k] + np.sqrt(max(radius**2 - (centre - xs[k]) ** 2, 0.0)) for k in (i, j)]
        below = np.sqrt(np.maximum(radius**2 - (x[between] - centre) ** 2, 0.0))
        height[between] = np.maximum(z[between], min(rests) - below)
    return Felt(height, touched)


def _handover(xa: float, za: float, xb: float, zb: float, radius: float) -> float:
    """Where the centre path passes from the disc on a to the disc on b (xa < xb)."""
    low, high = xb - radius, xa + radius
    if low >= high:
        return (low + high) / 2
    half = math.hypot(xb - xa, zb - za) / 2
    if half < radius:
        rise = math.sqrt(radius**2 - half**2)
        centre = (xa + xb) / 2 - rise * (zb - za) / (2 * half)
        if (za + zb) / 2 + rise * (xb - xa) / (2 * half) >= max(za, zb):
            return centre
    return low if zb > za else high
