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
    k = (marks[..., 1:-1, None] <= at).sum(axis=-2)

    def around(values: Array) -> tuple[Array, Array]:
        return np.take_along_axis(values, k, -1), np.take_along_axis(values, k + 1, -1)

    (start, end), (first, last), (here, there) = (around(v) for v in (marks, offsets, bend))
    apart = end - start
    b = (at - start) / apart
    a = 1.0 - b
    straight = a * first + b * last
    return np.asarray(straight + ((a**3 - a) * here + (b**3 - b) * there) * apart**2 / 6.0)


def _second_derivatives(marks: Array, offsets: Array) -> Array:
    """(..., N) 1/mm at the marks: slopes agree where two pieces meet, ends are free.

    Each mark's equation has its neighbours in it alone: one after the other gives what it has of
    the one before to the next, and the last one is known first.
    """
    apart = np.diff(marks)
    rise = np.moveaxis(np.diff(offsets) / apart, -1, 0)
    apart = np.moveaxis(apart, -1, 0)
    free = np.zeros_like(apart[0])
    next_has, is_known = [free], [free]
    for k in range(1, len(apart)):
        own = 2.0 * (apart[k - 1] + apart[k]) - apart[k - 1] * next_has[-1]
        next_has.append(apart[k] / own)
        is_known.append((6.0 * (rise[k] - rise[k - 1]) - apart[k - 1] * is_known[-1]) / own)
    bend = [free]
    for has, known in zip(next_has[::-1], is_known[::-1], strict=True):
        bend.append(known - has * bend[-1])
    return np.stack(bend[::-1], axis=-1)
