"""Steps and bars against the Cramer-Rao bound, Steger's bias and certified NIST data."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtr

from scribe.capture.edges.profile import BarFit, fit_bar, fit_step, phi

Array = npt.NDArray[np.float64]

PIXELS = np.arange(-15.0, 16.0)


def step_rows(at: Array, low: float, high: float, blur: float, t: Array = PIXELS) -> Array:
    return low + (high - low) * ndtr((t - at[:, None]) / blur)


def bar_rows(
    at: Array, half: float, blur: float, levels: tuple[float, float, float], t: Array = PIXELS
) -> Array:
    left, line, right = levels
    rise0, rise1 = (ndtr((t - at[:, None] + side) / blur) for side in (half, -half))
    return left + (line - left) * rise0 + (right - line) * rise1


def interpolated(rows: Array, spacing: float) -> tuple[Array, Array]:
    """The rows read between their pixels, as a photo is read."""
    t = np.arange(-14.0, 14.0, spacing) + 0.37 * spacing
    return t, np.stack([np.interp(t, PIXELS, row) for row in rows])


def test_phi_is_the_normal_integral() -> None:
    x = np.linspace(-8.0, 8.0, 10_001)  # outside: scipy.special.ndtr
    assert np.abs(phi(x) - ndtr(x)).max() < 1e-6


# Cramer-Rao bound of one row across an edge of contrast A, blur b pixels, noise s, samples
# a pixel apart: (s / A) sqrt(2 sqrt(pi) b); derived from Fisher's information
# sum (dI/dx)^2 / s^2 = (A^2 / s^2) / (2 sqrt(pi) b), as in Gatherer (1993).
@pytest.mark.parametrize(
    ("contrast", "noise", "blur", "bound"),
    [(100, 2, 1.0, 0.03766), (50, 3, 1.5, 0.13836), (200, 1, 0.7, 0.00788)],
)
def test_step_scatter_is_near_the_bound_and_never_below(
    contrast: float, noise: float, blur: float, bound: float
) -> None:
    rng = np.random.default_rng(1)
    count = 4000
    at = rng.uniform(-2, 2, count)
    rows = step_rows(at, 20 / 255, (20 + contrast) / 255, blur)
    fit = fit_step(PIXELS, rows + rng.normal(0, noise / 255, rows.shape), pixel=1.0)
    scatter = float(np.std(fit.position - at))
    # The scatter of 4000 values is known to 1 / sqrt(8000) = 1.1 %: three of those below 1.
    assert 1.0 - 0.034 < scatter / bound < 1.5
    assert fit.ok.all()
    assert np.std((fit.position - at) / fit.u) == pytest.approx(1.0, abs=0.06)
    assert abs(np.mean(fit.position - at)) < 4 * bound / np.sqrt(count)
    assert np.median(fit.noise) == pytest.approx(noise / 255, rel=0.05)


# The same bound for the place alone. A bar with equal sides and half width h has the slope
# A (g(x + h) - g(x - h)), g the Gaussian density of its blur b; the integral of its square is
# A^2 / (sqrt(pi) b) (1 - exp(-h^2 / b^2)), because g * g at a distance 2 h is
# exp(-h^2 / b^2) / (2 sqrt(pi) b). Scatter must not lie below the bound (the test would leak
# the answer), nor above 1.5 of it although five other values are free.
@pytest.mark.parametrize("noise", [0.004, 0.016])
@pytest.mark.parametrize("blur", [0.6, 1.0, 1.6, 2.4])
@pytest.mark.parametrize("half", [0.0, 1.2, 2.0, 3.0])
def test_scatter_at_the_bound_for_steps_and_bars(half: float, blur: float, noise: float) -> None:
    rng = np.random.default_rng(11)
    count, contrast = 1500, 0.5
    at = rng.uniform(-1.0, 1.0, count)
    half *= blur
    if half:
        rows = bar_rows(at, half, blur, (0.6, 0.6 - contrast, 0.6))
        rows += rng.normal(0, noise, rows.shape)
        bar = fit_bar(PIXELS, rows, pixel=1.0, dark=True)
        place, u, ok = bar.centre, bar.u, bar.ok
        shape = np.sqrt(np.pi) * blur / (1.0 - np.exp(-((half / blur) ** 2)))
    else:
        rows = step_rows(at, 0.6, 0.6 - contrast, blur)
        rows += rng.normal(0, noise, rows.shape)
        step = fit_step(PIXELS, rows, pixel=1.0)
        place, u, ok = step.position, step.u, step.ok
        shape = 2.0 * np.sqrt(np.pi) * blur
    bound = noise / contrast * np.sqrt(shape)
    miss = (place - at)[ok]
    assert ok.mean() > 0.99
    # Sums stand for integrals from a blur of half a pixel on; 3 / sqrt(3000) is the test's own.
    assert 1.0 - 0.055 < np.std(miss) / bound < 1.5
    assert np.std(miss / u[ok]) == pytest.approx(1.0, abs=0.1)


@pytest.mark.parametrize("spacing", [0.2, 0.5])
def test_samples_between_pixels_bring_no_news(spacing: float) -> None:
    rng = np.random.default_rng(2)
    at = rng.uniform(-2, 2, 2000)
    rows = step_rows(at, 0.1, 0.5, 1.2)
    t, dense = interpolated(rows + rng.normal(0, 0.01, rows.shape), spacing)
    fit = fit_step(t, dense, pixel=1.0)
    # Counting samples instead of pixels would give 1 / sqrt(1.5 / 0.5) = 0.6 at best.
    assert 0.8 < np.std(fit.position - at) / np.median(fit.u) < 1.1


def test_falling_steps_and_unequal_flats_are_steps() -> None:
    at = np.array([-3.3, 0.0, 2.71])
    fit = fit_step(PIXELS, step_rows(at, 0.9, 0.2, 1.1), pixel=1.0)
    assert fit.position == pytest.approx(at, abs=1e-5)
    assert fit.low == pytest.approx(0.9, abs=1e-5)
    assert fit.high == pytest.approx(0.2, abs=1e-5)
    assert fit.blur == pytest.approx(1.1, abs=1e-4)
    assert fit.ok.all()


def test_a_step_of_clipped_highlights_is_placed_by_its_dark_part() -> None:
    rng = np.random.default_rng(3)
    at = rng.uniform(-1, 1, 500)
    rows = step_rows(at, 0.1, 1.1, 1.5) + rng.normal(0, 0.005, (500, len(PIXELS)))
    clipped = fit_step(PIXELS, np.minimum(rows, 1.0), pixel=1.0)
    naive = at + 1.5 * 0.113  # where the middle of 0.1 and 1.0 lies: Phi^-1(0.45 / 1.0) * 1.5
    assert clipped.ok.all()
    miss = np.abs(clipped.position - at)
    assert np.quantile(miss / clipped.u, 0.95) < 2.2
    assert np.median(miss) < 0.5 * np.median(np.abs(naive - at))


@pytest.mark.parametrize("slope", [0.004, -0.006])
def test_a_penumbra_beside_the_step_does_not_move_it(slope: float) -> None:
    at = np.linspace(-1.0, 1.0, 11)
    beyond = np.clip(PIXELS - at[:, None], 0.0, None)
    rows = step_rows(at, 0.2, 0.32, 1.0) + slope * beyond
    sloped = fit_step(PIXELS, rows, pixel=1.0, slopes=True)
    level = fit_step(PIXELS, rows, pixel=1.0)
    # A flat that isn't one pulls the step of level flats over; the kink, rounded by the blur
    # in the model and not in these rows, leaves at most slope * blur / contrast * blur.
    assert np.abs(sloped.position - at).max() < abs(slope) / 0.12
    assert np.abs(level.position - at).min() > 3 * abs(slope) / 0.12


def test_no_step_is_not_ok() -> None:
    rng = np.random.default_rng(4)
    rows = 0.5 + rng.normal(0, 0.01, (300, len(PIXELS)))
    # A false step must stand out of noise by itself: rare.
    assert fit_step(PIXELS, rows, pixel=1.0).ok.mean() < 0.1
    assert not fit_step(PIXELS, np.full((3, len(PIXELS)), np.nan), pixel=1.0).ok.any()


def steger_bias(s: float, w: float, a: float) -> float:
    """Shift of the ridge of a smoothed bar with sides 0 and a: Steger (1998), see above."""
    return -(s**2 / (2 * w)) * float(np.log(1 - a))


# Printed values of that formula in units of s, for w = s, sqrt(3) s and 2 s.
@pytest.mark.parametrize(
    ("half", "a", "shift"),
    [(1.0, 0.1, 0.05268), (1.0, 0.3, 0.17834), (1.732, 0.2, 0.06442), (2.0, 0.5, 0.17329)],
)
def test_unequal_sides_do_not_pull_the_centre(half: float, a: float, shift: float) -> None:
    assert steger_bias(1.0, half, a) == pytest.approx(shift, abs=1e-4)
    at = np.linspace(-0.5, 0.5, 21)
    rows = bar_rows(at, half, 1.0, (0.8, 0.1, 0.8 - 0.7 * a))
    # A ridge (the darkest place) shows the bias; two steps with their own levels don't.
    fine = np.linspace(-3, 3, 6001)
    darkest = fine[np.argmin(bar_rows(at, half, 1.0, (0.8, 0.1, 0.8 - 0.7 * a), fine), axis=1)]
    assert np.mean(darkest - at) == pytest.approx(shift, abs=2e-3)
    fit = fit_bar(PIXELS, rows, pixel=1.0)
    assert np.abs(fit.centre - at).max() < 0.01 * shift
    unequal = np.abs(fit.right - fit.left) / np.abs(fit.contrast)
    assert unequal == pytest.approx(a / (1 - a / 2), rel=0.02)


@pytest.mark.parametrize(("half", "a"), [(1.0, 0.1), (1.732, 0.3), (2.5, 0.2), (4.0, 0.0)])
def test_bar_uncertainty_is_its_scatter(half: float, a: float) -> None:
    rng = np.random.default_rng(5)
    at = rng.uniform(-2, 2, 1500)
    rows = bar_rows(at, half, 1.0, (0.6, 0.2, 0.6 - 0.4 * a))
    fit = fit_bar(PIXELS, rows + rng.normal(0, 0.02, rows.shape), pixel=1.0, dark=True)
    z = (fit.centre - at)[fit.ok] / fit.u[fit.ok]
    assert fit.ok.mean() > 0.99
    assert np.std(z) == pytest.approx(1.0, abs=0.12)
    assert abs(np.mean(z)) < 0.3
    # Two edges, each with the bound of a step, known half as well apart: s / sqrt(2).
    bound = (0.02 / 0.4) * np.sqrt(2 * np.sqrt(np.pi)) / np.sqrt(2)
    if a == 0.0:
        assert 0.95 < np.std(fit.centre - at) / bound < 1.5


def test_width_of_a_thin_bar_is_not_taken_from_its_steepest_places() -> None:
    # Steepest places of a blurred bar lie too far apart; half widths in units of s (ibid.).
    for half, steepest in ((0.5, 1.04363), (1.0, 1.19968), (2.0, 2.00134)):
        fine = np.linspace(0, 6, 60_001)
        slope = np.gradient(bar_rows(np.zeros(1), half, 1.0, (1.0, 0.0, 1.0), fine)[0], fine)
        assert fine[np.argmax(slope)] == pytest.approx(steepest, abs=2e-3)
    at = np.zeros(1)
    for half in (1.0, 2.0):
        fit = fit_bar(PIXELS, bar_rows(at, half, 1.0, (0.9, 0.1, 0.9)), pixel=1.0)
        assert fit.width[0] == pytest.approx(2 * half, rel=0.01)


# NIST StRD, nonlinear regression, Eckerle4 (circular interference transmittance):
# y = (b1 / b2) exp(-0.5 ((x - b3) / b2)^2), certified b3 = 451.54121844 (sd 0.0468).
ECKERLE4_X = np.r_[400.0:436.0:5, 436.5:465.5:1.5, 470.0:501.0:5]
ECKERLE4_Y = np.array(
    """.0001575 .0001699 .000235 .0003102 .0004917 .000871 .0017418 .00464 .0065895 .0097302
    .0149002 .023731 .0401683 .0712559 .1264458 .2073413 .2902366 .3445623 .3698049 .3668534
    .3106727 .2078154 .1164354 .0616764 .03372 .0194023 .0117831 .0074357 .0022732 .00088
    .0004579 .0002345 .0001586 .0001143 .000071""".split(),
    dtype=float,
)


def test_a_bright_bar_reaches_the_certified_gaussian_peak() -> None:
    """A thin bar is a Gaussian peak; the bar's own sides and width are free here as well."""
    fit = fit_bar(ECKERLE4_X, ECKERLE4_Y[None, :], pixel=1.5, dark=False)
    assert fit.ok.all()
    # Within the certified standard deviation although three parameters more were let free.
    assert fit.centre[0] == pytest.approx(451.54121844, abs=2 * 0.046800518816)
    # Second moment: s^2 + w^2 / 3 stands for b2^2 (4.0888; the peak's flanks aren't Gaussian).
    assert np.sqrt(fit.blur[0] ** 2 + fit.width[0] ** 2 / 12) == pytest.approx(4.0888, rel=0.03)
    assert fit.line[0] > 0.3


def test_the_wanted_one_of_two_lines_is_fitted() -> None:
    rows = bar_rows(np.array([-8.0]), 1.5, 1.0, (0.7, 0.2, 0.7)) - 0.7
    rows = rows + bar_rows(np.array([3.0]), 1.0, 1.0, (0.7, 0.3, 0.7))
    near = fit_bar(PIXELS, rows, pixel=1.0, near=np.array([3.0]))
    # The other line darkens one side's flat: half a pixel of it may pull, 11 pixels may not.
    assert near.centre[0] == pytest.approx(3.0, abs=0.5)


def fitted(half: float, blur: float, at: float) -> BarFit:
    return fit_bar(
        PIXELS, bar_rows(np.array([at]), half, blur, (0.7, 0.2, 0.6)), pixel=1.0, dark=True
    )


@settings(max_examples=40)
@given(half=st.floats(1.0, 2.0), blur=st.floats(0.6, 2.0), at=st.floats(-3.0, 3.0))
def test_bars_without_noise_are_found_and_mirror(half: float, blur: float, at: float) -> None:
    half *= blur  # a line thinner than its blur hides how its sides differ
    # Below 0.7 px of blur pixels are too coarse for the narrowest: 0.016 px off at 0.6 and 1.0.
    near = 5e-3 if blur >= 0.7 else 0.02
    fit = fitted(half, blur, at)
    assert fit.ok[0]
    assert fit.centre[0] == pytest.approx(at, abs=near)
    rows = bar_rows(np.array([at]), half, blur, (0.7, 0.2, 0.6))[:, ::-1]
    assert fit_bar(PIXELS, rows, pixel=1.0, dark=True).centre[0] == pytest.approx(-at, abs=near)
