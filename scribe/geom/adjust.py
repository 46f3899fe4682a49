"""Adjustment of redundant readings by weighted least squares, and Baarda's test of each of them.

Readings l with standard uncertainties u are to equal f(x): the residuals v = l - f(x) are made
least in sum (v / u)^2 by Gauss-Newton steps. Q_xx = (A' P A)^-1; Q_vv = u^2 - A Q_xx A'; a
reading's redundancy r = Q_vv / u^2 is the part of its error that its residual shows. Its test
value w = v / sqrt(Q_vv) is standard normal when no reading is wrong (Baarda, A testing
procedure for use in geodetic networks, 1968, from memory), and what it is off by, seen from the
others alone, is v / r. Known uncertainties are used; Pope's tau would be their estimate's.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

_STEP = 1e-3  # of the differences, in the unit of x; f is nearly linear over it
_ITERATIONS = 20


@dataclass(frozen=True)
class Adjusted:
    """x (P,), its covariance (P, P), residuals v (M,), r (M,), w (M,), correlation of w (M, M).

    w is 0 where r is: no other reading checks that one.
    """

    x: Array
    covariance: Array
    residuals: Array
    redundancy: Array
    w: Array
    correlation: Array


def adjust(function: Callable[[Array], Array], values: Array, u: Array, start: Array) -> Adjusted:
    """Adjust values (M,) with standard uncertainties u (M,) to function(x), from x = start (P,).

    M must determine x; a covariance that is not finite says that it doesn't.
    """
    x = start
    for _ in range(_ITERATIONS):
        design = differences(function, x) / u[:, None]
        step = np.linalg.lstsq(design, (values - function(x)) / u, rcond=None)[0]
        x = x + step
        if float(np.abs(step).max()) < 1e-7:
            break
    design = differences(function, x) / u[:, None]
    covariance = np.linalg.inv(design.T @ design)
    residuals = values - function(x)
    shown = np.eye(len(u)) - design @ covariance @ design.T
    r = np.clip(np.diag(shown), 0.0, 1.0)
    root = np.sqrt(np.where(r > 1e-9, r, np.inf))
    return Adjusted(
        x=np.asarray(x),
        covariance=np.asarray(covariance),
        residuals=np.asarray(residuals),
        redundancy=np.asarray(r),
        w=np.asarray(residuals / u / root),
        correlation=np.asarray(shown / np.outer(root, root)),
    )


def differences(function: Callable[[Array], Array], x: Array) -> Array:
    """(M, P) derivatives by central differences."""
    columns = []
    for k in range(len(x)):
        up, down = x.copy(), x.copy()
        up[k] += _STEP
        down[k] -= _STEP
        columns.append((function(up) - function(down)) / (2.0 * _STEP))
    return np.array(columns, dtype=np.float64).T
