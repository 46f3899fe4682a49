"""How many marks a batten needs at least: a proof that fewer won't do.

A batten bent through m marks, its ends free, is a natural cubic spline: its bending is straight
from mark to mark and nothing at both ends, so that it changes sign m - 3 times at most. A line that
bends K - 1 times from hollow to round, or back, is K stretches that are hollow or round each; so

    m >= K + 2,   and m >= 2 where one straight line will do

K is the least number of such stretches for any line in the band at all. A stretch can be hollow
where the greatest convex line below the upper border nowhere lies below the lower one, and round
where the same holds upside down; what holds for a stretch holds for every part of it, so that it
is enough to make each as long as it can be, one after the other (greedy stabbing).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.fit.marks.band import HAIR, Band

Array = npt.NDArray[np.float64]


def fewest_marks(band: Band) -> int:
    """No batten through fewer marks stays within the band."""
    low, high = band.r - band.tolerance - HAIR, band.r + HAIR
    if _one_line(band.s, low, high):
        return 2
    stretches, first = 0, 0
    while first < len(band.s) - 1:
        first = max(
            _reaches(band.s, low, high, first),
            _reaches(band.s, -high, -low, first),
        )
        stretches += 1
    return stretches + 2


def _one_line(s: Array, low: Array, high: Array) -> bool:
    """Whether one straight line lies between: above the round hull of what it must not fall below,
    and below the hollow one of what it must not rise above, at every place.
    """
    upper, lower = _hollow(s, high), -_hollow(s, -low)
    # Two convex sets part along a line where they don't overlap (separating hyperplane).
    return bool((upper - lower >= 0.0).all())


def _reaches(s: Array, low: Array, high: Array, first: int) -> int:
    """The last place to which one hollow stretch leads from the first."""
    last, step = first + 1, 1
    end = len(s) - 1
    while last < end and _can_be_hollow(s, low, high, first, min(last + step, end)):
        last, step = min(last + step, end), 2 * step
    while step >= 1:
        if last + step <= end and _can_be_hollow(s, low, high, first, last + step):
            last += step
        step //= 2
    return last


def _can_be_hollow(s: Array, low: Array, high: Array, first: int, last: int) -> bool:
    part = slice(first, last + 1)
    return bool((_hollow(s[part], high[part]) >= low[part]).all())


def _hollow(s: Array, y: Array) -> Array:
    """(N,) the greatest convex line through or below points (Andrew's monotone chain)."""
    chain = [0]
    x, z = s.tolist(), y.tolist()  # one number of an array at a time is slow
    for k in range(1, len(x)):
        while len(chain) > 1:
            a, b = chain[-2], chain[-1]
            if (z[b] - z[a]) * (x[k] - x[a]) < (z[k] - z[a]) * (x[b] - x[a]):
                break
            chain.pop()
        chain.append(k)
    return np.asarray(np.interp(s, s[chain], y[chain]))
