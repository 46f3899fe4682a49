"""Robust least squares: certified data, priors, outliers, and the covariance as a prediction."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribe.geom.solve import System, least_squares

# NIST StRD, Norris: x, y, and the certified line.
NORRIS_X = """0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9
338.0 447.5 11.6 556.0 228.1 995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3
229.2 669.1 448.9 0.5"""
NORRIS_Y = """0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8
339.3 448.9 10.8 557.7 228.3 998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6
228.9 668.4 449.2 0.2"""
NORRIS_B = (-0.262323073774029, 1.00211681802045)
NORRIS_SD = (0.232818234301152, 0.429796848199937e-03)
NORRIS_RESIDUAL_SD = 0.884796396144373

# NIST StRD, Eckerle4: a Gaussian peak, far from linear; second starting values.
ECKERLE_X = np.concatenate(
    [np.arange(400, 436, 5.0), np.arange(436.5, 465.1, 1.5), np.arange(470, 501, 5.0)]
)
ECKERLE_Y = np.array(
    """.0001575 .0001699 .000235 .0003102 .0004917 .000871 .0017418 .00464 .0065895 .0097302
    .0149002 .023731 .0401683 .0712559 .1264458 .2073413 .2902366 .3445623 .3698049 .3668534
    .3106727 .2078154 .1164354 .0616764 .03372 .0194023 .0117831 .0074357 .0022732 .00088
    .0004579 .0002345 .0001586 .0001143 .000071""".split(),
    dtype=float,
)
ECKERLE_B = (1.5543827178, 4.0888321754, 451.54121844)
ECKERLE_SD = (0.015408051163, 0.046803020753, 0.046800518816)
ECKERLE_RESIDUAL_SD = 6.7629245447e-03


def no_prior(parameters: int) -> tuple[np.ndarray, np.ndarray]:
    return np.zeros(0), np.zeros((0, parameters))


def line_system(x: np.ndarray, y: np.ndarray, sd: float):
    design = np.stack([np.ones_like(x), x], axis=-1)

    def linearise(state: np.ndarray) -> System:
        return System(((design @ state - y) / sd)[:, None], design[:, None] / sd, *no_prior(2))

    return linearise


def add(state: np.ndarray, step: np.ndarray) -> np.ndarray:
    return state + step


def test_norris_line_is_the_certified_one() -> None:
    x, y = (np.array(text.split(), dtype=float) for text in (NORRIS_X, NORRIS_Y))
    # sd far above the residuals: every weight is 1 and the fit is plain least squares.
    found = least_squares(line_system(x, y, 100.0), add, np.zeros(2))
    assert found.state == pytest.approx(NORRIS_B, rel=1e-9)
    sd = np.sqrt(np.diag(found.covariance)) / 100.0 * NORRIS_RESIDUAL_SD
    assert sd == pytest.approx(NORRIS_SD, rel=1e-9)


def test_eckerle4_peak_is_the_certified_one() -> None:
    def linearise(state: np.ndarray) -> System:
        height, width, centre = state
        z = (ECKERLE_X - centre) / width
        peak = height / width * np.exp(-0.5 * z * z)
        by = np.stack([peak / height, peak * (z * z - 1) / width, peak * z / width], axis=-1)
        return System((peak - ECKERLE_Y)[:, None], by[:, None], *no_prior(3))

    found = least_squares(linearise, add, np.array([1.5, 5.0, 450.0]))
    assert found.converged
    assert found.state == pytest.approx(ECKERLE_B, rel=1e-6)
    sd = np.sqrt(np.diag(found.covariance)) * ECKERLE_RESIDUAL_SD
    assert sd == pytest.approx(ECKERLE_SD, rel=1e-5)


def test_an_outlier_is_doubted_and_hardly_moves_the_line() -> None:
    rng = np.random.default_rng(1)
    x = np.linspace(0.0, 100.0, 50)
    y = 1.0 + 0.5 * x + rng.normal(0.0, 0.1, x.size)
    y[10] += 50.0
    found = least_squares(line_system(x, y, 0.1), add, np.zeros(2))
    assert found.weights[10] < 0.02
    # Huber at 2.5: a single wild point shifts the mean by at most 2.5 sd / n, thrice for luck.
    assert found.state[0] + found.state[1] * 50 == pytest.approx(
        26.0, abs=3 * 0.1 / np.sqrt(50) * 2
    )


@given(st.floats(-5, 5), st.floats(0.1, 3.0), st.floats(0.1, 3.0))
def test_a_prior_and_a_reading_are_averaged_by_weight(mean: float, sd: float, u: float) -> None:
    """Two independent values of one quantity: weighted mean, 1/u^2 adds up (hand arithmetic)."""
    reading = mean + u  # within Huber's bound whatever the weights

    def linearise(state: np.ndarray) -> System:
        return System(
            ((state - reading) / u)[:, None],
            np.full((1, 1, 1), 1 / u),
            (state - mean) / sd,
            np.full((1, 1), 1 / sd),
        )

    found = least_squares(linearise, add, np.array([0.0]))
    weight = 1 / sd**2 + 1 / u**2
    assert found.state[0] == pytest.approx((mean / sd**2 + reading / u**2) / weight, abs=1e-7)
    assert found.covariance[0, 0] == pytest.approx(1 / weight)
