"""How far a surface may lie from a curve drawn through a few readings of it.

The surface is a random function without a scale of its own: a straight trend nobody knows plus a
field with generalised covariance (-1)^(1 + floor(alpha / 2)) c |h|^alpha (Matheron 1973,
doi:10.2307/1425829), smooth for alpha near 4, broken like stone for alpha near 1. Roughness c
and exponent alpha aren't known either: both are weighed on a grid by how likely they make the
readings (restricted likelihood: only what a straight line doesn't explain), starting from what
walls usually do. What the field does between the readings follows by kriging for each, and the
mixture of all says within what distance of the curve 95 % of it lies. So few readings widen the
answer as few degrees of freedom do.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

# Departure of a wall from the straight between two readings, in its middle, in parts of their
# distance: usual value and spread (of its natural logarithm). Our estimate: new plaster to stone.
USUAL = 2.5e-3
_SPREAD = 1.6
_ALPHAS = np.array([0.1, 0.3, 0.6, 1.0, 1.5, 2.4, 3.0, 3.6])
_SIZES = np.exp(np.linspace(-3.4, 3.4, 18))  # times the usual
_BLOCK = 40  # readings whose likelihood is worked out together
_NEAR = 5  # readings on each side of a stretch that have a say in it
_LEVEL = 0.9545  # of a normal distribution, within two standard uncertainties


@dataclass(frozen=True)
class Roughness:
    """Weights (A, C) of exponents and sizes; scale: (A, C) factor c of each field."""

    weight: Array
    scale: Array


def roughness(s: Array, values: Array, u: Array) -> Roughness:
    """What the readings say of the surface: values (N, D) at s (N,), noise u (N,) mm.

    >>> straight = np.arange(8.0) * 100.0
    >>> found = roughness(straight, np.zeros((8, 1)), np.full(8, 0.1))
    >>> bool(found.weight[:, :9].sum() > 0.9)  # sizes below the usual
    True
    """
    spacing = float(np.median(np.diff(s)))
    middle = np.array([-0.5, 0.0, 0.5]) * spacing
    contrast = np.array([-0.5, 1.0, -0.5])
    scale = np.zeros((len(_ALPHAS), len(_SIZES)))
    logs = np.tile(-0.5 * (np.log(_SIZES) / _SPREAD) ** 2, (len(_ALPHAS), 1))
    for a, alpha in enumerate(_ALPHAS):
        unit = float(contrast @ _field(middle, middle, alpha) @ contrast)
        scale[a] = (USUAL * spacing * _SIZES) ** 2 / unit
        for first in range(0, len(s), _BLOCK):
            part = slice(first, first + _BLOCK)
            if len(s[part]) > 2:
                logs[a] += _log_likelihood(s[part], values[part], u[part], alpha, scale[a])
    weight = np.exp(logs - logs.max())
    return Roughness(weight / weight.sum(), scale)


def _field(one: Array, other: Array, alpha: float) -> Array:
    """(N, M) generalised covariance of unit size."""
    sign = -1.0 if alpha < 2.0 else 1.0
    return np.asarray(sign * np.abs(one[:, None] - other[None]) ** alpha)


def _log_likelihood(s: Array, values: Array, u: Array, alpha: float, scale: Array) -> Array:
    """(C,) of what a straight line doesn't explain."""
    trend = np.column_stack([np.ones_like(s), (s - s.mean()) / np.ptp(s)])
    free = np.linalg.qr(trend, mode="complete")[0][:, 2:]
    field = free.T @ _field(s, s, alpha) @ free
    noise = free.T @ (u**2 * np.eye(len(s))) @ free
    left = free.T @ values
    logs = []
    for c in scale:
        values_, vectors = np.linalg.eigh(c * field + noise)
        size = np.maximum(values_, 1e-12 * float(values_.max()) + 1e-18)
        turned = vectors.T @ left
        logs.append(
            -0.5 * float((turned**2 / size[:, None]).sum())
            - 0.5 * left.shape[1] * float(np.log(size).sum())
        )
    return np.array(logs)


def within(s: Array, values: Array, u: Array, at: Array, curve: Array) -> Array:
    """(M,) mm: half of the distance from the curve (M, D) within which 95 % of the surface lies.

    s (N,), values (N, D), u (N,): the readings. at: (M,), from s[0] to s[-1]. The largest of the
    D coordinates.
    """
    known = roughness(s, values, u)
    found = np.zeros(len(at))
    stretch = np.clip(np.searchsorted(s, at, "right") - 1, 0, len(s) - 2)
    for k in np.unique(stretch):
        near = slice(max(k - _NEAR + 1, 0), k + _NEAR + 1)
        rows = stretch == k
        mean, spread = _kriged(s[near], values[near], u[near], at[rows], known)
        away = mean - curve[rows]
        found[rows] = np.max([_half_width(known.weight.ravel(), away[..., d], spread)
                              for d in range(values.shape[1])], axis=0)  # fmt: skip
    return found / 2.0


def _kriged(s: Array, values: Array, u: Array, at: Array, known: Roughness) -> tuple[Array, Array]:
    """(G, M, D) and (G, M) mm: the field's mean and standard deviation for each of the grid."""
    n, size = len(s), float(np.ptp(s))
    trend = np.column_stack([np.ones(n), (s - s.mean()) / size])
    there = np.column_stack([np.ones(len(at)), (at - s.mean()) / size])
    means, spreads = [], []
    for a, alpha in enumerate(_ALPHAS):
        own, cross = _field(s, s, alpha), _field(s, at, alpha)
        for c in known.scale[a]:
            # In units of c, which keeps the system well scaled.
            left = np.zeros((n + 2, n + 2))
            left[:n, :n] = own + np.diag(u**2) / c + 1e-12 * size**alpha * np.eye(n)
            left[:n, n:], left[n:, :n] = trend, trend.T
            right = np.vstack([cross, there.T])
            share = np.linalg.solve(left, right)
            means.append(share[:n].T @ values)
            variance = -(share * right).sum(axis=0) * c
            spreads.append(np.sqrt(np.maximum(variance, 0.0)))
    return np.array(means), np.array(spreads)


def _half_width(weight: Array, away: Array, spread: Array) -> Array:
    """(M,) w with which the mixture of normals (G, M) lies in -w..w for 95 % (bisection)."""
    from scipy.special import ndtr

    few = weight > 1e-4 * weight.max()
    weight, away = weight[few] / weight[few].sum(), away[few]
    spread = np.maximum(spread[few], 1e-9)
    low, high = np.zeros(away.shape[1]), 8.0 * np.max(np.abs(away) + spread, axis=0) + 1e-6
    for _ in range(40):
        middle = (low + high) / 2.0
        inside = ndtr((middle - away) / spread) - ndtr((-middle - away) / spread)
        enough = weight @ inside >= _LEVEL
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return np.asarray(high)
