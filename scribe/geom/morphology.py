"""Morphological profile filters after ISO 16610-41: a disc or a flat segment as the probe.

A profile is its samples: x (N,) growing, z (N,), mm. The probe comes from above. Dilation is
the path of the probe's centre (disc) or face (segment), erosion undoes it, and closing is the
surface as far as the probe could feel it: what lies in hollows too narrow is bridged.
Opening is the same from below. Between two samples a distance h apart a disc of radius R
sinks by h^2 / (8 R) more than it would on the line that joins them; a segment misjudges a
level by at most the slope times h. Closing is extensive, increasing and idempotent.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]


class Felt(NamedTuple):
    """height: (N,) mm at the samples. touched: (N,) False where the probe bridged a hollow."""

    height: Array
    touched: Mask


def disk_dilation(x: Array, z: Array, radius: float, at: Array | None = None) -> Array:
    """(M,) height of the centre of a disc resting on the samples, above places `at` (or x).

    Every place must have a sample within the radius; where none is, -inf.
    """
    places = x if at is None else at
    out = np.full(len(places), -np.inf)
    first = np.searchsorted(x, places - radius, "left")
    last = np.searchsorted(x, places + radius, "right")
    for shift in range(int((last - first).max(initial=0))):
        j = first + shift
        rows = j < last
        away = places[rows] - x[j[rows]]
        rise = np.sqrt(np.maximum(radius**2 - away**2, 0.0))
        out[rows] = np.maximum(out[rows], z[j[rows]] + rise)
    return out


def disk_erosion(x: Array, z: Array, radius: float, at: Array | None = None) -> Array:
    """(M,) surface under a disc whose centre runs along the samples: the mirror of dilation."""
    return -disk_dilation(x, -z, radius, at)


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
        between = slice(i + 1, j)
        # At a step higher than R the disc leans on the upper sample without resting on it.
        rests = [zs[k] + np.sqrt(max(radius**2 - (centre - xs[k]) ** 2, 0.0)) for k in (i, j)]
        below = np.sqrt(np.maximum(radius**2 - (x[between] - centre) ** 2, 0.0))
        height[between] = np.maximum(z[between], min(rests) - below)
    return Felt(height, touched)


def disk_opening(x: Array, z: Array, radius: float) -> Felt:
    """The profile as a disc feels it from below (peaks too narrow are cut): -closing(-z)."""
    felt = disk_closing(x, -z, radius)
    return Felt(-felt.height, felt.touched)


def segment_dilation(x: Array, z: Array, width: float, at: Array | None = None) -> Array:
    """(M,) height at which a level segment centred `at` (or at x) rests on the samples.

    -inf where no sample lies under it.
    """
    places = x if at is None else at
    return _window_max(z, x, places - width / 2, places + width / 2, "left", "right")


def segment_erosion(x: Array, z: Array, width: float, at: Array | None = None) -> Array:
    """(M,) least sample under a level segment: the mirror of dilation."""
    return -segment_dilation(x, -z, width, at)


def segment_closing(x: Array, z: Array, width: float) -> Felt:
    """The profile as a level segment (the tip of a flat pin) feels it from above.

    Level at a sample = the least height at which a segment that covers it can rest. Lowest
    is one that just misses some sample on one side, or one that just reaches this sample.
    """
    start = np.concatenate([x, x - width])
    stop = np.concatenate([x + width, x])
    misses_start = np.arange(len(start)) < len(x)
    rest = np.concatenate(
        [
            _window_max(z, x, x, x + width, "right", "right"),
            _window_max(z, x, x - width, x, "left", "left"),
        ]
    )
    height = np.minimum(
        _window_max(z, x, x, x + width, "left", "right"),
        _window_max(z, x, x - width, x, "left", "right"),
    )
    for place, at in enumerate(x):
        after = np.where(misses_start, start < at, start <= at)
        before = np.where(misses_start, at <= stop, at < stop)
        height[place] = rest[after & before].min(initial=height[place])
    return Felt(np.maximum(height, z), height <= z)


def segment_opening(x: Array, z: Array, width: float) -> Felt:
    """The profile as a level segment feels it from below: -closing(-z)."""
    felt = segment_closing(x, -z, width)
    return Felt(-felt.height, felt.touched)


def _handover(xa: float, za: float, xb: float, zb: float, radius: float) -> float:
    """Where the centre path passes from the disc on a to the disc on b (xa < xb)."""
    low, high = xb - radius, xa + radius
    if low >= high:
        return (low + high) / 2
    half = float(np.hypot(xb - xa, zb - za)) / 2
    if half < radius:
        rise = float(np.sqrt(radius**2 - half**2))
        centre = (xa + xb) / 2 - rise * (zb - za) / (2 * half)
        if (za + zb) / 2 + rise * (xb - xa) / (2 * half) >= max(za, zb):
            return centre
    return low if zb > za else high


def _window_max(z: Array, x: Array, start: Array, stop: Array, left: str, right: str) -> Array:
    """(M,) largest z with start < x < stop; the sides say whether the ends count as inside."""
    first = np.searchsorted(x, start, left)  # type: ignore[call-overload]
    last = np.searchsorted(x, stop, right)  # type: ignore[call-overload]
    out = np.full(len(start), -np.inf)
    for shift in range(int((last - first).max(initial=0))):
        rows = first + shift < last
        out[rows] = np.maximum(out[rows], z[first[rows] + shift])
    return out
