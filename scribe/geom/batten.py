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
    """(..., M) mm offsets of battens at places (M,) between the first and the last mark.

    marks, offsets: (..., N) mm, N >= 2, marks rising: for each batten its own. Two marks give the
    straight line.

    >>> batten(np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 0.0]), np.array([0.5]))
    array([0.6875])
    """
    bend = _second_derivatives(marks, offsets)
    of_each = np.arange(0, marks.size, marks.shape[-1]).reshape(*marks.shape[:-1], 1)
    k = of_each + (marks[..., 1:-1, None] <= at).sum(axis=-2)
    (start, end), (first, last), (here, there) = (
        (values.ravel()[k], values.ravel()[k + 1]) for values in (marks, offsets, bend)
    )
    apart = end - start
    b = (at - start) / apart
    a = 1.0 - b
    straight = a * first + b * last
    return np.asarray(straight + ((a**3 - a) * here + (b**3 - b) * there) * apart**2 / 6.0)


def _second_derivatives(marks: Array, offsets: Array) -> Array:
    """(..., N) 1/mm at the marks: slopes agree where two pieces meet, ends are free."""
    apart = np.diff(marks)
    inner = np.arange(marks.shape[-1] - 2)
    equations = np.zeros((*marks.shape[:-1], len(inner), len(inner)))
    equations[..., inner, inner] = 2.0 * (apart[..., :-1] + apart[..., 1:])
    equations[..., inner[:-1], inner[1:]] = apart[..., 1:-1]
    equations[..., inner[1:], inner[:-1]] = apart[..., 1:-1]
    bend = np.zeros(marks.shape)
    turns = 6.0 * np.diff(np.diff(offsets) / apart)
    bend[..., 1:-1] = np.linalg.solve(equations, turns[..., None])[..., 0]
    return bend
