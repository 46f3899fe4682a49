"""What grain does to a drawn line, and whether the board beside it foretells how much."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from scipy.ndimage import gaussian_filter, gaussian_filter1d

from scribe.capture.edges.scan import scan_axis, stations
from scribe.capture.lines.grain import grain_u
from scribe.capture.lines.look import measured
from tests.capture.fake_view import HEIGHT, PX_PER_MM, WIDTH, FakeView

Array = npt.NDArray[np.float64]

LINES_Y = np.arange(12.0, 60.0, 9.0)  # mm
STEP = 0.5  # mm
PIXEL = 1.0 / PX_PER_MM


def _board(strength: float, seed: int) -> FakeView:
    """Lines 0.5 mm wide along streaks some 2 mm wide, which change over 50 mm."""
    rng = np.random.default_rng(seed)
    x = (np.arange(WIDTH * PX_PER_MM) + 0.5) / PX_PER_MM
    y = (np.arange(HEIGHT * PX_PER_MM) + 0.5) / PX_PER_MM
    two = gaussian_filter1d(rng.standard_normal((2, len(y))), 0.8 * PX_PER_MM, axis=1)
    two /= two.std()
    turn = 0.5 * np.pi * x / 50.0
    light = 0.55 * (
        1.0 + strength * (np.outer(two[0], np.cos(turn)) + np.outer(two[1], np.sin(turn)))
    )
    away = np.abs(y[:, None] - LINES_Y).min(axis=1)
    light[away < 0.25] *= 0.5
    return FakeView(gaussian_filter(light, 0.8) + rng.normal(0, 0.004, light.shape))


def _measured(strength: float, seed: int) -> tuple[Array, Array, Array]:
    """Errors of the centres, (K, N) mm, the fits' own u, and u by grain."""
    view, found = _board(strength, seed), []
    t = scan_axis(1.25, PIXEL)
    for y in LINES_Y:
        where = stations(np.array([[6.0, y], [104.0, y]]), STEP, 0.7)
        look = measured(view, where, t, STEP)
        grain = grain_u(view, where, t, look.fit, look.good, STEP)
        # A row of pixels is in or out: the line's true middle is that of its rows.
        rows = (
            np.floor((y - 0.25) * PX_PER_MM - 0.5) + 1,
            np.ceil((y + 0.25) * PX_PER_MM - 0.5) - 1,
        )
        true = (sum(rows) / 2.0 + 0.5) / PX_PER_MM
        found.append([where.points[:, 1] + look.fit.centre - true, look.fit.u, grain])
    error, u, grain = np.array(found).transpose(1, 0, 2)
    return error, u, grain


@pytest.mark.parametrize("strength", [0.03, 0.08])
def test_the_board_beside_a_line_tells_what_grain_does_to_it(strength: float) -> None:
    """18 lines of two independent errors each: their rms is known to 1 / sqrt(72) = 12 %, what is
    foretold from six places for each to less; within 36 % (k = 3) of each other.
    """
    error, _, grain = (
        np.concatenate(part)
        for part in zip(*(_measured(strength, seed) for seed in range(3)), strict=True)
    )
    rms, foretold = np.sqrt((error**2).mean()), np.sqrt((grain**2).mean())
    assert foretold == pytest.approx(rms, rel=0.36)
    assert 0.9 < np.mean(np.abs(error) < 2.0 * grain) <= 1.0


def test_an_even_board_does_nothing() -> None:
    _, u, grain = _measured(0.0, 9)
    assert np.median(grain) < np.median(u)
