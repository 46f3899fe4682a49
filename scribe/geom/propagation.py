"""The law of propagation of uncertainty, JCGM 100, 5.2.2, for many quantities at once."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def standard_u(by: Array, covariance: Array) -> Array:
    """(...) standard uncertainty of quantities whose derivatives are by (..., P).

    covariance: (P, P) of what they are computed from, in the units squared of the
    derivatives' denominators. Exact for linear quantities, else to first order. A variance
    that rounding makes negative counts as nothing.

    >>> standard_u(np.array([1.0, -1.0]), np.array([[4.0, 3.0], [3.0, 4.0]])).round(6).item()
    1.414214
    """
    variance = np.einsum("...p,pq,...q->...", by, covariance, by)
    return np.asarray(np.sqrt(np.maximum(variance, 0.0)))
