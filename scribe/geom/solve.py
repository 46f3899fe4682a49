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
Linear = TypeVar("Linear")

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
    found = descend(
        linearise, moved, _cost, _step, state, iterations=iterations, tolerance=tolerance
    )
    normal, _ = _normal(found.system, found.weights)
    covariance = np.asarray(np.linalg.inv(normal), dtype=np.float64)
    return Solution(found.state, covariance, found.system.residuals, found.weights, found.converged)


@dataclass(frozen=True)
class Descent(Generic[State, Linear]):
    """Where a descent ended: the state, the problem linearised there, weights (M,) in 0..1."""

    state: State
    system: Linear
    weights: Array
    converged: bool


def descend(
    linearise: Callable[[State], Linear],
    moved: Callable[[State, Array], State],
    cost_of: Callable[[Linear], tuple[float, Array]],
    step_of: Callable[[Linear, Array, float], Array],
    state: State,
    *,
    iterations: int,
    tolerance: float,
) -> Descent[State, Linear]:
    """Levenberg-Marquardt, however the problem is stored.

    cost_of(system) gives the cost and the weights; step_of(system, weights, damping) the step
    of the normal equations, their diagonal enlarged by a part `damping` of itself.
    """
    damping, converged = 1e-4, False
    system = linearise(state)
    cost, weights = cost_of(system)
    for _ in range(iterations):
        trial = moved(state, step_of(system, weights, damping))
        trial_system = linearise(trial)
        trial_cost, trial_weights = cost_of(trial_system)
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
    return Descent(state, system, weights, converged)


def huber(residuals: Array) -> tuple[float, Array]:
    """Huber's loss of residuals (M, D), summed, and the weights (M,) that go with it."""
    size = np.sqrt((residuals**2).sum(axis=1))
    with np.errstate(divide="ignore", invalid="ignore"):
        weights = np.asarray(np.where(size > HUBER, HUBER / size, 1.0), dtype=np.float64)
    loss = np.where(size > HUBER, 2.0 * HUBER * size - HUBER**2, size**2)
    return float(loss.sum()), weights


def _cost(system: System) -> tuple[float, Array]:
    loss, weights = huber(system.residuals)
    return loss + float((system.prior**2).sum()), weights


def _step(system: System, weights: Array, damping: float) -> Array:
    normal, gradient = _normal(system, weights)
    damped = normal + np.diag(damping * np.diag(normal))
    return np.asarray(np.linalg.solve(damped, -gradient), dtype=np.float64)


def _normal(system: System, weights: Array) -> tuple[Array, Array]:
    parameters = system.jacobian.shape[2]
    jacobian = system.jacobian.reshape(-1, parameters)
    row_weights = np.repeat(weights, system.residuals.shape[1])
    weighted = jacobian * row_weights[:, None]
    normal = weighted.T @ jacobian + system.prior_jacobian.T @ system.prior_jacobian
    gradient = weighted.T @ system.residuals.ravel() + system.prior_jacobian.T @ system.prior
    return normal, gradient
