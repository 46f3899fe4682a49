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
    k = np.searchsorted(marks[1:-1], at, side="right")
    apart = marks[k + 1] - marks[k]
    b = (at - marks[k]) / apart
    a = 1.0 - b
    straight = a * offsets[k] + b * offsets[k + 1]
    return np.asarray(straight + ((a**3 - a) * bend[k] + (b**3 - b) * bend[k + 1]) * apart**2 / 6.0)


def _second_derivatives(marks: Array, offsets: Array) -> Array:
    """(N,) 1/mm at the marks: slopes agree where two pieces meet, ends are free."""
    apart = np.diff(marks)
    slope = np.diff(offsets) / apart
    bend, inner = np.zeros(len(marks)), len(marks) - 2
    if inner:
        matrix = np.zeros((inner, inner))
        matrix.flat[:: inner + 1] = 2.0 * (apart[:-1] + apart[1:])
        matrix.flat[1 :: inner + 1] = matrix.flat[inner :: inner + 1] = apart[1:-1]
        bend[1:-1] = np.linalg.solve(matrix, 6.0 * np.diff(slope))
    return bend
