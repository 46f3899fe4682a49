"""Light along rays: steps between slopes, penumbras, noise, and rays that leave the photo."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from scribe.capture.edges.scan import Stations
from scribe.capture.edges.walk import LEAST_CHANGE, SAMPLE, Walk, walked
from tests.capture.fake_view import FakeView

Array = npt.NDArray[np.float64]


def walk(light: Array) -> Walk:
    return Walk(np.arange(light.shape[1]) * SAMPLE, light, np.ones((len(light), 1)))


def test_a_step_keeps_its_height_whatever_slopes_lie_beside_it() -> None:
    s = np.arange(-40.0, 41.0)
    for before, after in ((0.0, 0.0), (0.01, 0.0), (-0.02, 0.03)):
        light = np.where(s < 0.5, 0.5 + before * s, 0.8 + after * s)[None, :]
        step = walk(light).steps()[0]
        assert step[np.abs(s) < 2.0].max() == pytest.approx(0.3, abs=2.5 * 0.03)
    ramp = np.clip(0.02 * s, 0.0, 0.4)[None, :]
    assert np.abs(walk(ramp).steps()[0, 47:53]).max() < 1e-12


def test_only_what_is_surely_sharp_is_sharp() -> None:
    """A penumbra that takes half of the light over 2 mm, with a kink at both of its ends."""
    s = np.arange(-40.0, 41.0)
    penumbra = 1.0 - np.clip(0.025 * s, 0.0, 0.5)[None, :]
    # Four samples of it change by 0.1; a kink leaves half of that of a step, and nothing sharp.
    assert np.abs(walk(penumbra).steps()).max() == pytest.approx(0.05)
    assert not walk(penumbra).sharp(1).any()
    edge = np.where(s < 0.5, penumbra, 0.2)
    found = walk(edge)
    assert found.first(found.sharp(4)) == pytest.approx(40 * SAMPLE, abs=2.1 * SAMPLE)
    faint = np.where(s < 0.5, 1.0, 1.0 - 0.9 * LEAST_CHANGE)[None, :]
    assert np.isnan(walk(faint).first(walk(faint).sharp(4))).all()


def test_steps_are_one_to_an_edge_and_none_in_noise() -> None:
    rng = np.random.default_rng(3)
    flat = rng.normal(0.5, 0.01, (50, 200))
    assert walk(flat).stepped(3).mean() < 1e-3
    flat[:, 120:] += 0.3
    found = walk(flat)
    step = found.stepped(6)
    assert (step.sum(axis=1) == 1).mean() > 0.9
    assert np.abs(found.first(step) - 120 * SAMPLE).max() <= 2.1 * SAMPLE


def test_what_the_photo_does_not_show_counts_as_paper() -> None:
    class Torn(FakeView):
        def light(self, points: Array) -> Array:
            return np.where(points[..., 0] > 20.0, np.nan, super().light(points))

    view = Torn(np.full((80, 240), 0.6))
    border = Stations(np.array([[15.0, 4.0]]), np.array([[0.0, 1.0]]), np.zeros(1))
    across = walked(view, border, np.array([[1.0, 0.0]]), np.arange(-3.0, 12.0, SAMPLE))
    assert across.paper == pytest.approx(0.6)
    assert across.light == pytest.approx(1.0)
