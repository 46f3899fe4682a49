"""How far a surface may lie from a curve drawn through a few readings of it.

The surface is taken as a straight trend nobody knows, and two random waves upon it: long ones, a
board's or a wall's bow, and short ones, whose size is what sets plaster, old plaster and stone
apart. Their sizes and lengths aren't known either. Every combination on a grid is weighed by how
likely it makes the readings (restricted likelihood: only what a straight line doesn't explain),
starting from what surfaces usually do; what each leaves open between the readings follows by
kriging with that trend (Matheron 1973, doi:10.2307/1425829), and the mixture of all
says within what distance of the curve 95 % of the surface lies. So few readings widen the answer,
as few degrees of freedom do.

Waves shorter than two spacings can't be told from readings that scatter by themselves: there the
answer hangs on what the surface is said to be.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from scribe.geom.soundings import Heights, Soundings

Array = npt.NDArray[np.float64]
Surface = Literal["flat", "wavy", "rough"]


@dataclass(frozen=True)
class _Waves:
    """size: mm, usual standard deviation; spread: of its natural logarithm. shapes: whether it is
    smooth, and the length in mm over which it changes.
    """

    size: float
    spread: float
    shapes: tuple[tuple[bool, float], ...]


# Our estimates. Short waves of board and new plaster, of old plaster, and of stone with its joints.
_SHORT: dict[Surface, _Waves] = {
    "flat": _Waves(0.15, 0.8, ((True, 30.0), (True, 60.0))),
    "wavy": _Waves(2.5, 0.5, ((True, 30.0), (True, 60.0), (True, 110.0))),
    "rough": _Waves(3.5, 0.5, ((False, 40.0), (False, 80.0), (True, 20.0), (True, 40.0))),
}
# How often it is which of them, when nobody says: what gets scribed is seldom flat.
_OFTEN: dict[Surface, float] = {"flat": 1 / 6, "wavy": 5 / 12, "rough": 5 / 12}
# Long waves of all of them: 3 mm over 600 mm of length, and more over more.
_LONG = tuple(
    _Waves(3.0 * (length / 600.0) ** 0.7, 1.0, ((True, length),))
    for length in (150.0, 250.0, 400.0, 650.0, 1100.0)
)
# Places on the grid of sizes, in spreads; those far out are for steps and breasts.
_GRID_LONG = np.array([-2.2, -1.5, -0.75, 0.0, 0.75, 1.5, 2.2, 3.2, 4.2])
_GRID_SHORT = np.array([-1.8, -0.9, 0.0, 0.9, 1.8, 3.0, 4.2])
_BLOCK, _BLOCKS = 50, 6  # readings whose likelihood is worked out together; so many say enough
_TOGETHER = 4  # stretches that are looked at together
_NEAR = 8  # readings on each side of a stretch that have a say in it
_PLACES = 13  # of a stretch at which the width is worked out; in between it is interpolated
_PROBABLE = 2e-3  # of the likeliest combination: what is less likely than that is left out
_ROUNDING = 1e-12  # of a variance: what keeps a matrix of smooth waves positive
_LEVEL = 0.9545  # of a normal distribution, within two standard uncertainties


@dataclass(frozen=True)
class _Pair:
    """Long and short waves of one shape each, in all sizes; prior: (A, B) of their sizes."""

    long: tuple[bool, float]
    short: tuple[bool, float]
    sizes: tuple[Array, Array]
    prior: Array

    def covariance(self, apart: Array) -> Array:
        """(A, B, ...) mm^2 of two places these many mm apart."""
        a, b = (size**2 for size in self.sizes)
        more = (...,) + (None,) * apart.ndim
        long, short = _alike(self.long, apart), _alike(self.short, apart)
        return np.asarray(a[:, None][more] * long + b[None][more] * short)


def _alike(shape: tuple[bool, float], apart: Array) -> Array:
    """Correlation over a distance: Gaussian, or exponential for what breaks."""
    smooth, length = shape
    return np.exp(-0.5 * (apart / length) ** 2) if smooth else np.exp(-np.abs(apart) / length)


def _pairs(surface: Surface | None) -> Iterator[_Pair]:
    """All that a surface may be."""
    for kind in _SHORT if surface is None else (surface,):
        short = _SHORT[kind]
        for long in _LONG:
            one, other = _sizes(long, _GRID_LONG), _sizes(short, _GRID_SHORT)
            prior = _OFTEN[kind] / len(short.shapes) * np.multiply.outer(one[1], other[1])
            for shape in short.shapes:
                yield _Pair(long.shapes[0], shape, (one[0], other[0]), prior)


def _sizes(waves: _Waves, grid: Array) -> tuple[Array, Array]:
    """Sizes on a grid, mm, and how usual each is."""
    usual = np.exp(-0.5 * grid**2) * np.gradient(grid)
    return waves.size * np.exp(waves.spread * grid), usual / usual.sum()


@dataclass(frozen=True)
class Likely:
    """G combinations that the readings leave: weight (G,), and what gives their covariance."""

    weight: Array
    pairs: list[tuple[_Pair, npt.NDArray[np.bool_]]]

    def covariance(self, apart: Array) -> Array:
        """(G, ...) mm^2."""
        return np.concatenate([pair.covariance(apart)[kept] for pair, kept in self.pairs])


def likely(read: Soundings, values: Array, u: Array, surface: Surface | None) -> Likely:
    """What N readings say of the surface: values (N, D), of noise u (N,), in their unit."""
    pairs = list(_pairs(surface))
    logs = np.array([np.log(pair.prior) for pair in pairs])
    blocks = np.array_split(np.arange(len(u)), -(-len(u) // _BLOCK))
    for part in blocks[:: -(-len(blocks) // _BLOCKS)]:
        if len(part) > 2:
            logs += [_log_likelihood(read[part], values[part], u[part], pair) for pair in pairs]
    weight = np.exp(logs - logs.max())
    kept = weight > _PROBABLE
    chosen = [(pair, mask) for pair, mask in zip(pairs, kept, strict=True) if mask.any()]
    return Likely(weight[kept] / weight[kept].sum(), chosen)


def _log_likelihood(read: Soundings, values: Array, u: Array, pair: _Pair) -> Array:
    """(A, B) of what a straight line doesn't explain."""
    trend = read.trend(read)
    free = np.linalg.qr(trend, mode="complete")[0][:, trend.shape[1] :]
    covariance = free.T @ _noisy(read.covariance(read, pair.covariance), u) @ free
    root = np.linalg.cholesky(covariance)
    left = np.broadcast_to(free.T @ values, (*root.shape[:-1], values.shape[1]))
    turned = np.linalg.solve(root, left)
    sizes = np.log(np.diagonal(root, axis1=-2, axis2=-1)).sum(axis=-1)
    return np.asarray(-0.5 * (turned**2).sum(axis=(-2, -1)) - values.shape[1] * sizes)


def _noisy(covariance: Array, u: Array) -> Array:
    """With the readings' own errors."""
    rounding = _ROUNDING * covariance[..., :1, :1] * np.eye(len(u))
    return np.asarray(covariance + np.diag(u**2) + rounding)


def within(
    s: Array, values: Array, u: Array, at: Array, curve: Array, surface: Surface | None = None
) -> Array:
    """(M,) mm: half of the distance from the curve (M, D) within which 95 % of the surface lies.

    s (N,), values (N, D), u (N,): the readings. at: (M,), from s[0] to s[-1]. surface: what it is
    made of, where somebody says so. The largest of the D coordinates.

    >>> s, at = np.arange(9.0) * 100.0, np.array([450.0])
    >>> flat = within(s, np.zeros((9, 1)), np.full(9, 0.1), at, np.zeros((1, 1)), "flat")
    >>> open = within(s[::4], np.zeros((3, 1)), np.full(3, 0.1), at, np.zeros((1, 1)))
    >>> bool(flat[0] < 0.4 < 1.5 < open[0])
    True
    """
    known = likely(Heights(s), values, u, surface)
    found = np.zeros(len(at))
    stretch = np.clip(np.searchsorted(s, at, "right") - 1, 0, len(s) - 2)
    for first in range(0, len(s) - 1, _TOGETHER):
        last = min(first + _TOGETHER, len(s) - 1)
        near = slice(max(first - _NEAR + 1, 0), last + _NEAR)
        each = [np.flatnonzero(stretch == k) for k in range(first, last) if k in stretch]
        if not each:
            continue
        rows = np.concatenate(each)
        few = np.concatenate([part[_spread_out(len(part))] for part in each])
        mean, spread = kriged(Heights(s[near]), values[near], u[near], Heights(at[few]), known)
        away = mean - curve[few]
        width = np.max([_half_width(known.weight, away[..., d], spread)
                        for d in range(values.shape[1])], axis=0)  # fmt: skip
        found[rows] = np.interp(at[rows], at[few], width)
    return found / 2.0


def _spread_out(count: int) -> npt.NDArray[np.intp]:
    """Some of so many places, closer together at both ends, where widths change most."""
    turn = np.linspace(0.0, np.pi, min(count, _PLACES))
    return np.unique(np.rint((1.0 - np.cos(turn)) / 2.0 * (count - 1)).astype(np.intp))


def kriged(
    read: Soundings, values: Array, u: Array, at: Soundings, known: Likely
) -> tuple[Array, Array]:
    """(G, M, D) and (G, M): mean and standard deviation, for each combination, of M readings that
    nobody took, from N that were.
    """
    own, cross = (read.covariance(other, known.covariance) for other in (read, at))
    straight = read.trend(read)
    n, free = straight.shape
    count = len(own)
    left = np.zeros((count, n + free, n + free))
    left[:, :n, :n] = _noisy(own, u)
    left[:, :n, n:], left[:, n:, :n] = straight, straight.T
    trend = np.broadcast_to(read.trend(at).T, (count, free, cross.shape[-1]))
    right = np.concatenate([cross, trend], axis=1)
    share = np.linalg.solve(left, right)
    mean = np.einsum("gnm,nd->gmd", share[:, :n], values)
    variance = at.variance(known.covariance) - (share * right).sum(axis=1)
    return mean, np.sqrt(np.maximum(variance, 0.0))


def _half_width(weight: Array, away: Array, spread: Array) -> Array:
    """(M,) w with which the mixture of normals (G, M) lies in -w..w for 95 % (bisection)."""
    from scipy.special import ndtr

    spread = np.maximum(spread, 1e-9)
    low, high = np.zeros(away.shape[1]), 8.0 * np.max(np.abs(away) + spread, axis=0) + 1e-6
    for _ in range(24):
        middle = (low + high) / 2.0
        inside = ndtr((middle - away) / spread) - ndtr((-middle - away) / spread)
        enough = weight @ inside >= _LEVEL
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return np.asarray(high)
