"""Robust least squares for many unknowns of which every observation touches few.

The descent is that of `scribe.geom.solve`. The normal matrix is put together from one small
dense block for each group of observations that share their unknowns, and factorised sparse
(SuperLU, minimum degree ordering): the work grows with the number of blocks, not with the
square of the unknowns.
The covariance is never formed; `Factor.times` gives the parts of it that are asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

import numpy as np
import numpy.typing as npt

from scribe.geom.solve import descend, huber

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.int64]
State = TypeVar("State")


@dataclass(frozen=True)
class Rows:
    """A few prior rows: residuals (Q,) in standard deviations, jacobian (Q, K), unknowns (K,)."""

    residuals: Array
    jacobian: Array
    unknowns: Index


@dataclass(frozen=True)
class SparseSystem:
    """The problem linearised at one state, for P unknowns.

    residuals: (M, D); jacobian: (M, D, K) by the K unknowns that each observation touches.
    starts: (G,) index of the first observation of each group; unknowns: (G, K) which they
    are, negative where one is held fixed. rows: the priors.
    """

    size: int
    residuals: Array
    jacobian: Array
    starts: Index
    unknowns: Index
    rows: Sequence[Rows]


@dataclass(frozen=True)
class Factor:
    """The factorised normal matrix at the solution."""

    solve: Callable[[Array], Array]
    size: int

    def times(self, functionals: Array) -> Array:
        """(P, M): the covariance times functionals (M, P) transposed."""
        return np.asarray(self.solve(np.ascontiguousarray(functionals.T)))

    def covariance_of(self, functionals: Array) -> Array:
        """(M, M) covariance of M linear functions (M, P) of the unknowns."""
        return np.asarray(functionals @ self.times(functionals))


@dataclass(frozen=True)
class SparseSolution(Generic[State]):
    """residuals: (M, D) in standard deviations; weights: (M,) 0..1, low where doubted."""

    state: State
    factor: Factor
    residuals: Array
    weights: Array
    converged: bool


def sparse_least_squares(
    linearise: Callable[[State], SparseSystem],
    moved: Callable[[State, Array], State],
    state: State,
    *,
    iterations: int = 40,
    tolerance: float = 1e-7,
) -> SparseSolution[State]:
    """Find the state of least cost, starting at `state`.

    linearise(state) gives residuals and derivatives; moved(state, step) applies a step of
    P unknowns. Stops when the cost falls by less than `tolerance` of itself.
    """
    found = descend(
        linearise, moved, _cost, _step, state, iterations=iterations, tolerance=tolerance
    )
    system, weights = found.system, found.weights
    normal, _ = _normal(system, weights)
    factor = Factor(_factorised(normal, 0.0), system.size)
    return SparseSolution(found.state, factor, system.residuals, weights, found.converged)


def _cost(system: SparseSystem) -> tuple[float, Array]:
    loss, weights = huber(system.residuals)
    return loss + sum(float((rows.residuals**2).sum()) for rows in system.rows), weights


def _step(system: SparseSystem, weights: Array, damping: float) -> Array:
    normal, gradient = _normal(system, weights)
    return _factorised(normal, damping)(-gradient)


def _normal(system: SparseSystem, weights: Array) -> tuple[Any, Array]:
    """The normal matrix (sparse, P x P) and the gradient (P,)."""
    from scipy.sparse import coo_array

    gradient = np.zeros(system.size)
    parts: list[tuple[Index, Array]] = []
    ends = np.append(system.starts[1:], len(system.residuals))
    root = np.sqrt(weights)
    count = system.jacobian.shape[2]
    for first, last, unknowns in zip(system.starts, ends, system.unknowns, strict=True):
        part = slice(first, last)
        scaled = (system.jacobian[part] * root[part, None, None]).reshape(-1, count)
        residuals = (system.residuals[part] * root[part, None]).ravel()
        free = unknowns >= 0
        scaled = scaled[:, free]
        np.add.at(gradient, unknowns[free], scaled.T @ residuals)
        parts.append((unknowns[free], scaled.T @ scaled))
    for rows in system.rows:
        free = rows.unknowns >= 0
        jacobian = rows.jacobian[:, free]
        np.add.at(gradient, rows.unknowns[free], jacobian.T @ rows.residuals)
        parts.append((rows.unknowns[free], jacobian.T @ jacobian))
    every = np.arange(system.size)  # so that the whole diagonal is there to be damped
    row = np.concatenate([np.repeat(unknowns, len(unknowns)) for unknowns, _ in parts] + [every])
    column = np.concatenate([np.tile(unknowns, len(unknowns)) for unknowns, _ in parts] + [every])
    value = np.concatenate([block.ravel() for _, block in parts] + [np.zeros(system.size)])
    return coo_array((value, (row, column)), shape=(system.size,) * 2).tocsc(), gradient


def _factorised(normal: Any, damping: float) -> Callable[[Array], Array]:
    """A solver for the symmetric matrix, its diagonal enlarged by a part of itself.

    Rows and columns are scaled to a unit diagonal first.
    """
    from scipy.sparse import csc_array
    from scipy.sparse.linalg import splu

    scale = 1.0 / np.sqrt(normal.diagonal())
    column = np.repeat(np.arange(len(scale)), np.diff(normal.indptr))
    values = normal.data * scale[normal.indices] * scale[column]
    values[normal.indices == column] += damping
    lu = splu(
        csc_array((values, normal.indices, normal.indptr), shape=normal.shape),
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )

    def solve(right: Array) -> Array:
        spread = scale if right.ndim == 1 else scale[:, None]
        return np.asarray(spread * lu.solve(spread * right), dtype=np.float64)

    return solve
