"""The shape of a thin batten pressed against marks: the natural cubic spline.

A straight, even batten that touches marks and is free at both ends takes the course of least
bending, which for small slopes is the cubic spline whose second derivative is 0 at its ends
(J. C. Holladay, 1957, Math. Tables Aids Comput. 11, 233-243).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def batten(marks: Array, offsets: Array, at: Array) -> Array:
    """(M,) mm offsets of the batten at places (M,) between the first and the last mark.

    marks: (N,) mm, N >= 2, rising. offsets: (N,) mm. Two marks give the straight line.

    >>> batten(np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 0.0]), np.array([0.5]))
    array([0.6875])
    """
    bend = _second_derivatives(marks, offsets)
    k = marks[1:-1].searchsorted(at, "right")
    apart = marks[k + 1] - marks[k]
    b = (at - marks[k]) / apart
    a = 1.0 - b
    straight = a * offsets[k] + b * offsets[k + 1]
    return np.asarray(straight + ((a**3 - a) * bend[k] + (b**3 - b) * bend[k + 1]) * apart**2 / 6.0)


def _second_derivatives(marks: Array, offsets: Array) -> Array:
    """(N,) 1/mm at the marks: slopes agree where two pieces meet, ends are free.

    Each mark's equation has its neighbours in it alone: one after the other gives what it has of
    the one before to the next, and the last one is known first.
    """
    between = np.diff(marks)
    apart, rise = between.tolist(), (np.diff(offsets) / between).tolist()
    next_has, is_known = [0.0], [0.0]
    for k in range(1, len(apart)):
        own = 2.0 * (apart[k - 1] + apart[k]) - apart[k - 1] * next_has[-1]
        next_has.append(apart[k] / own)
        is_known.append((6.0 * (rise[k] - rise[k - 1]) - apart[k - 1] * is_known[-1]) / own)
    bend = [0.0]
    for has, known in zip(next_has[::-1], is_known[::-1], strict=True):
        bend.append(known - has * bend[-1])
    return np.array(bend[::-1])
