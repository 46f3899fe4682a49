"""Pins whose shadow lies beyond their ends: as sharp as they are or soft, nearly as dark."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from shapely import LineString, distance, points

from scribe.capture.gauge.trace import trace_gauge
from scribe.errors import ScribeError
from tests.capture.comb import Gauge, scene

Array = npt.NDArray[np.float64]


def wall(s: Array) -> Array:
    """Lower than the comb's ends by up to 2 mm."""
    return np.asarray(20.0 + 2.0 * np.cos(s / 9.0))


@pytest.mark.parametrize("soft", [0.05, 0.4])
@pytest.mark.parametrize(("material", "dark"), [("bright", 0.55), ("plastic", 0.7)])
def test_the_pins_are_found_behind_their_shadow(material: str, dark: float, soft: float) -> None:
    gauge = Gauge(material=material, tip="flat", pins=48)
    made = scene(wall, gauge, shadow=dark, cast=(1.0, 2.5, soft))
    trace = trace_gauge(made.picture)
    found = trace.points[trace.measured]
    miss = np.abs(found[:, 1] - np.interp(found[:, 0], *made.truth.T))
    assert np.quantile(miss, 0.9) < 0.1
    assert (miss < 2.0 * trace.u[trace.measured]).mean() > 0.9
    assert np.ptp(found[:, 0]) > 0.9 * np.ptp(made.truth[:, 0])


@pytest.mark.parametrize(
    ("wave", "cast", "dark"),
    [
        (30.0, (1.0, 1.5, 0.05), 0.55),  # streaks of some pins are as light as the shadow
        (25.0, (-3.6, 0.2, 0.06), 0.6),  # the shadow comes out beside slopes only
    ],
)
def test_a_hard_shadow_beyond_a_part_of_the_pins(
    wave: float, cast: tuple[float, float, float], dark: float
) -> None:
    def sloping(s: Array) -> Array:
        return np.asarray(24.0 + wave / 12.0 * np.sin(2.0 * np.pi * s / wave))

    gauge = Gauge(material="bright", tip="flat", pins=47, width=1.1938)
    made = scene(sloping, gauge, shadow=dark, cast=cast)
    trace = trace_gauge(made.picture)
    miss = np.asarray(distance(LineString(made.truth), points(trace.points)))[trace.measured]
    assert np.mean(miss > 2.0 * trace.u[trace.measured] + 0.1) < 0.04  # but for a pin or two


def test_pins_as_dark_as_a_soft_shadow_are_refused() -> None:
    def as_dark(image: Array, _: Array, y: Array) -> Array:
        return np.where((image < 0.45) & (y > 60.0), 0.3, image)

    gauge = Gauge(material="coloured", tip="flat")
    made = scene(wall, gauge, shadow=0.6, cast=(0.0, 2.5, 0.5), paint=as_dark)
    with pytest.raises(ScribeError) as refusal:
        trace_gauge(made.picture)
    assert refusal.value.kind in ("gauge-shadow", "gauge-not-found")
