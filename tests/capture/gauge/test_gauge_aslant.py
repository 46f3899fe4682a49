"""Pins seen aslant: formulas held against points of solids, and a gauge seen from the building."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribe.capture.gauge.aslant import bow, seen_aslant
from scribe.capture.gauge.spectrum import spectra_of
from scribe.capture.gauge.tip import usual_shape
from scribe.capture.gauge.trace import trace_gauge
from scribe.print_scale import PrintScale
from scribe.recipes.trace import trace
from scribe.source import PhotoSource
from tests.capture.comb import Array, Gauge, scene
from tests.honesty.scenes import distance
from tests.scenes.scene import make_scene

R, HEIGHT = 0.6, 6.0
slopes = st.floats(-0.9, 0.9)


def seen(t: np.ndarray, z: np.ndarray, a: float) -> float:
    """How far out points at t, z are seen on the plane z = 0, the outermost of them."""
    return float((t - a * z).max())


def ball(across: float) -> tuple[np.ndarray, np.ndarray]:
    """Of a sphere that touches z = 0 and ends at t = 0 the section so far from its middle."""
    angle = np.linspace(0.0, 2.0 * np.pi, 100_001)
    r = np.sqrt(R**2 - across**2)
    return -R + r * np.cos(angle), -R + r * np.sin(angle)


@given(slopes)
def test_a_ball_is_seen_where_a_line_touches_it(a: float) -> None:
    """The mean for heights to the upper side and to the axis, and what they differ by in u."""
    upper, axis = seen(*ball(0.0), a), seen(*ball(0.0), a) - a * R
    found = seen_aslant({"ball"}, R, HEIGHT, np.array([a]))
    assert found.shift[0] == pytest.approx(0.5 * (upper + axis), abs=1e-8)
    assert found.sunk_u == pytest.approx(R / np.sqrt(12.0))


@given(slopes, st.floats(0.05, 0.95))
def test_across_a_pin_its_edge_falls_by_the_bow(a: float, part: float) -> None:
    across = part * R
    circle = R - np.sqrt(R**2 - across**2)
    fall = seen(*ball(0.0), a) - seen(*ball(across), a)
    assert fall == pytest.approx((1.0 + bow("ball", a)) * circle, abs=1e-8)
    # A rod that ends square: the rim of its end, upper half and lower half.
    angle = np.linspace(0.0, 2.0 * np.pi, 100_001)
    rim = R * np.cos(angle), -R + R * np.sin(angle)  # across, z
    near = np.abs(rim[0] - across) < 1e-4
    flat = np.zeros(near.sum())
    fall = seen(np.zeros(1), np.array([0.0 if a <= 0.0 else -2.0 * R]), a) - seen(
        flat, rim[1][near], a
    )
    assert fall == pytest.approx(bow("rod", a) * circle, abs=1e-3)


@given(st.floats(0.0, 0.9), st.floats(1.2, 3.5))
def test_from_behind_the_lower_rim_is_within_twice_u(a: float, depth: float) -> None:
    found = seen_aslant({"blade"}, R, HEIGHT, np.array([a, a]))
    rim = seen(np.zeros(2), np.array([0.0, -depth]), a)
    assert abs(found.shift[0] - rim) <= 2.0 * found.sunk_u * a + 1e-12


def test_from_the_body_blades_end_where_they_end() -> None:
    found = seen_aslant({"blade", "rod"}, R, HEIGHT, np.array([-0.4, -0.2]))
    assert found.shift == pytest.approx([0.0, 0.0])
    assert found.sunk_u == 0.0


def test_what_the_photo_leaves_open_of_the_ends_is_in_u() -> None:
    """The edge of rods whose rims are broken by 0.06 mm, read in an 8 MP picture of a physically
    based renderer, looks as blades of most radii do; what is taken may lie at one end of them.
    """
    edge = [117, 83, 48, 28, 8, 0, -8, -5, -7, 0, 14, 25, 49, 81, 108]  # 0.001 mm below the apex
    s = np.tile(0.06 * np.arange(-7, 8), (3, 1))
    found, _, _ = usual_shape(s, np.tile(-0.001 * np.array(edge), (3, 1)), 1.2, -0.53, False)
    assert found.ends == {"blade", "rod"}
    assert abs(found.round - 0.06) <= 2.0 * found.u


@pytest.mark.parametrize("material", ["black", "plastic"])
def test_ends_that_turn_from_the_light_may_be_balls(material: str) -> None:
    """Shadow fills the notches between balls, and their edge looks like that of square ends."""
    gauge, wall = Gauge(tip="flat", material=material), lambda s: 24.0 + 0.05 * s
    square = scene(wall, gauge)

    def turned(image: Array, x: Array, y: Array) -> Array:
        end = np.interp(x, *square.tips.T) - y
        return np.where((end > 0.0) & (end < 0.6), image + 0.03, image)

    for made, may_be in ((square, False), (scene(wall, gauge, paint=turned), True)):
        view = replace(made.picture, slope=(0.0, -0.5))
        assert (trace_gauge(view).sunk_u > 0.0) == may_be


def test_a_row_of_pins_is_not_taken_for_its_overtone() -> None:
    """Narrow gaps that let light through have a strong overtone; the notches haven't."""
    s = np.arange(0.0, 120.0, 0.09)
    f = 1.0 / 1.43
    rng = np.random.default_rng(5)
    once, twice = (np.cos(2.0 * np.pi * many * f * s) for many in (1, 2))
    signals = np.stack([once, 0.5 * once, 0.3 * once + 3.0 * twice, once + 0.7 * twice])
    signals += 0.1 * rng.standard_normal(signals.shape)
    spectra = spectra_of(signals, np.ones(len(s), bool), 8 * len(s))
    best = int(np.argmax(spectra.beside_all().sum(axis=0)))
    assert spectra.tried[best] == pytest.approx(2.0 * f, rel=0.01)
    assert spectra.tried[spectra.fundamental(best)] == pytest.approx(f, rel=0.01)
    # With pins twice as close there is nothing at half of it.
    signals = np.stack([twice, 0.5 * twice, 3.0 * twice, twice])
    signals += 0.1 * rng.standard_normal(signals.shape)
    spectra = spectra_of(signals, np.ones(len(s), bool), 8 * len(s))
    best = int(np.argmax(spectra.beside_all().sum(axis=0)))
    assert spectra.fundamental(best) == best


@pytest.mark.parametrize("tip", ["round", pytest.param("flat", marks=pytest.mark.slow)])
def test_a_gauge_seen_from_the_building(tip: str, tmp_path: Path) -> None:
    """The ends' lower rims are what such a photo shows, 2 mm below the pins' upper sides."""
    made = make_scene(
        "gauge", 43, megapixels=3, azimuth_deg=85.0, tilt_deg=25.0, shape="smooth", tip=tip,
        material="plastic", height=6.0,
    )  # fmt: skip
    exact = PrintScale(1.0, 1.0, 1e-5, 1e-5, "true")
    source = PhotoSource((made.write(tmp_path),), "gauge", height=6.0, print_scale=exact)
    outline = trace(source).outline
    x = outline.points[:, 0]
    judged = (x > made.truth[0, 0]) & (x < made.truth[-1, 0]) & outline.measured
    error = distance(outline.points[judged], made.truth)
    assert np.mean(error <= outline.U[judged]) > 0.9
    assert np.quantile(error, 0.95) < 0.35
