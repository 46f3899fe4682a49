"""Weighted, robust least squares with priors, for states that are not plain vectors.

Levenberg-Marquardt on  sum_i rho(|r_i|^2) + sum_j q_j^2 , where r_i are small vectors
(the two coordinates of a mark) in units of their standard deviation and q_j are priors in
units of theirs. rho is Huber's function; the weights come out, so that what was doubted
can be named. The covariance is the inverse of the normal matrix at the solution (GUM
notation: JCGM 102, 6.3), for unit standard deviation of the residuals.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
State = TypeVar("State")

HUBER = 2.5  # residuals beyond this many standard deviations count linearly


@dataclass(frozen=True)
class System:
    """The problem linearised at one state.

    residuals: (M, D); jacobian: (M, D, P); prior: (Q,); prior_jacobian: (Q, P).
    """

    residuals: Array
    jacobian: Array
    prior: Array
    prior_jacobian: Array


@dataclass(frozen=True)
class Solution(Generic[State]):
    """state, covariance (P, P), residuals (M, D) in standard deviations, weights (M,) in 0..1."""

    state: State
    covariance: Array
    residuals: Array
    weights: Array
    converged: bool


def least_squares(
    linearise: Callable[[State], System],
    moved: Callable[[State, Array], State],
    state: State,
    *,
    iterations: int = 60,
    tolerance: float = 1e-8,
) -> Solution[State]:
    """Find the state of least cost, starting at `state`.

    linearise(state) gives residuals and derivatives; moved(state, step) applies a step of
    P parameters. Stops when the cost falls by less than `tolerance` of itself.
    """
    damping = 1e-4
    system = linearise(state)
    cost, weights = _cost(system)
    converged = False
    for _ in range(iterations):
        normal, gradient = _normal(system, weights)
        scale = np.diag(normal).copy()
        step = np.linalg.solve(normal + np.diag(damping * scale), -gradient)
        trial = moved(state, np.asarray(step, dtype=np.float64))
        trial_system = linearise(trial)
        trial_cost, trial_weights = _cost(trial_system)
        if np.isfinite(trial_cost) and trial_cost <= cost:
            converged = cost - trial_cost <= tolerance * cost + 1e-12
            state, system, cost, weights = trial, trial_system, trial_cost, trial_weights
            damping = max(damping / 10.0, 1e-12)
            if converged:
                break
        else:
            damping *= 10.0
            if damping > 1e12:
                break
    normal, _ = _normal(system, weights)
    covariance = np.asarray(np.linalg.inv(normal), dtype=np.float64)
    return Solution(state, covariance, system.residuals, weights, converged)


def _cost(system: System) -> tuple[float, Array]:
    size = np.sqrt((system.residuals**2).sum(axis=1))
    with np.errstate(divide="ignore", invalid="ignore"):
        weights = np.asarray(np.where(size > HUBER, HUBER / size, 1.0), dtype=np.float64)
    loss = np.where(size > HUBER, 2.0 * HUBER * size - HUBER**2, size**2)
    return float(loss.sum() + (system.prior**2).sum()), weights


def _normal(system: System, weights: Array) -> tuple[Array, Array]:
    parameters = system.jacobian.shape[2]
    jacobian = system.jacobian.reshape(-1, parameters)
    row_weights = np.repeat(weights, system.residuals.shape[1])
    weighted = jacobian * row_weights[:, None]
    normal = weighted.T @ jacobian + system.prior_jacobian.T @ system.prior_jacobian
    gradient = weighted.T @ system.residuals.ravel() + system.prior_jacobian.T @ system.prior
    return normal, gradient
