"""What a tone curve that isn't quite sRGB does to edges, against the part of the blur in u."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr

from scribe.capture.edges.profile import fit_step
from scribe.capture.sheet.tone import UNLIKE

T = np.arange(-7.0, 7.25, 0.5)


def encoded(light: np.ndarray) -> np.ndarray:
    """IEC 61966-2-1 (sRGB)."""
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)


def linear(value: np.ndarray) -> np.ndarray:
    """Its inverse."""
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


@pytest.mark.parametrize("blur", [0.7, 1.1])
@pytest.mark.parametrize("dark", [0.06, 0.2, 0.45])
def test_a_bent_curve_moves_an_edge_by_less_than_the_half_width(dark: float, blur: float) -> None:
    light = dark + (0.75 - dark) * ndtr(T / blur)
    value = encoded(light)
    bent = linear(value + 0.025 * np.sin(2 * np.pi * value) / 2)
    fit = fit_step(T, bent[None], pixel=1.0, near=np.zeros(1), slopes=True)
    assert 0.01 < abs(fit.position[0]) < 3**0.5 * UNLIKE * blur
    straight = fit_step(T, light[None], pixel=1.0, near=np.zeros(1), slopes=True)
    assert abs(straight.position[0]) < 1e-3
