"""A gauge against a known wall, pictured and traced: the wall comes back, or a refusal does."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from shapely import LineString, distance, points

from scribe.capture.gauge.trace import trace_gauge
from scribe.capture.view import Trace
from scribe.errors import ScribeError
from tests.capture.comb import Array, Gauge, Scene, Wall, scene

SMALL = {"size": (62.0, 78.0), "px_per_mm": 9.0}


def uneven(seed: int) -> Wall:
    """Plaster with three waves and, sometimes, a step: slopes up to about 45 degrees."""
    rng = np.random.default_rng([seed, 7])
    swing, wave, phase = rng.uniform(0.3, 1.8, 3), rng.uniform(14, 60, 3), rng.uniform(0, 6.3, 3)
    swing *= np.minimum(1.0, wave / 30.0)
    rise, place = rng.choice([0.0, 0.0, 3.0, -4.0, 7.0]), rng.uniform(-12, 12)

    def wall(s: Array) -> Array:
        waves = (
            a * np.sin(2 * np.pi * s / w + p) for a, w, p in zip(swing, wave, phase, strict=True)
        )
        return np.asarray(24.0 + sum(waves) + np.where(s > place, rise, 0.0))

    return wall


def drawn(seed: int, **options: float) -> Scene:
    """A scene whose gauge, turn, shadow and resolution come from the seed."""
    rng = np.random.default_rng(seed)
    pitch = float(rng.choice([0.8, 1.0, 1.27, 1.6]))
    gauge = Gauge(
        pins=int(44 / pitch),
        pitch=pitch,
        width=pitch * float(rng.choice([0.92, 0.96])),
        tip=["round", "flat"][seed % 2],
        material=["black", "bright", "plastic", "coloured"][seed // 2 % 4],
    )
    options = {"px_per_mm": float(rng.choice([8.0, 10.0])), "size": SMALL["size"]} | options
    turn, shadow = rng.uniform(-8, 8), float(rng.choice([0.0, 0.4]))
    return scene(uneven(seed), gauge, seed=seed, turn_deg=turn, shadow=shadow, **options)


def misses(made: Scene, traced: Trace) -> Array:
    return np.asarray(distance(LineString(made.truth), points(traced.points)))


def tip_errors(made: Scene, traced: Trace) -> Array:
    """(K, 2) of every tip found against the nearest true one."""
    apart = np.abs(traced.tips[:, None] - made.tips).sum(axis=2)
    return np.asarray(traced.tips - made.tips[apart.argmin(axis=1)])


def refusal(call: Callable[[], object]) -> ScribeError:
    with pytest.raises(ScribeError) as caught:
        call()
    return caught.value


@pytest.fixture(scope="module", params=[(0, 12), pytest.param((100, 180), marks=pytest.mark.slow)])
def many(request: pytest.FixtureRequest) -> list[tuple[Scene, Trace]]:
    """A dozen small scenes, or many."""
    made = [drawn(seed) for seed in range(*request.param)]
    return [(each, trace_gauge(each.picture)) for each in made]


def test_the_wall_comes_back_within_its_uncertainty(many: list[tuple[Scene, Trace]]) -> None:
    """The limits asked of a gauge: 95 % of the contact surface within 0.15 mm, in each scene."""
    covered = []
    for made, traced in many:
        missed = misses(made, traced)
        assert np.quantile(missed[traced.measured], 0.95) < 0.15
        covered.append(missed < 2.0 * traced.u)
        assert np.median(traced.u) < 0.06  # and not by claiming to know little
        assert np.allclose(np.hypot(*traced.normals.T), 1.0)
    assert np.concatenate(covered).mean() > 0.95


def test_every_tip_is_found(many: list[tuple[Scene, Trace]]) -> None:
    """95 % of all tips within 0.08 mm; sideways a blade is known by its neighbours only."""
    errors = np.abs(np.concatenate([tip_errors(made, traced) for made, traced in many]))
    assert np.quantile(errors[:, 1], 0.95) < 0.08
    for made, traced in many:
        assert np.quantile(np.abs(tip_errors(made, traced)[:, 0]), 0.95) < 0.3 * made.gauge.pitch
        assert 0.85 * made.gauge.pins <= len(traced.tips) <= made.gauge.pins


def test_points_run_along_the_wall_with_the_building_above() -> None:
    traced = trace_gauge(scene(lambda s: 24.0 + 0.3 * s, Gauge(pins=30), **SMALL).picture)
    assert (np.diff(traced.points[:, 0]) > 0).all()
    uphill = np.array([-0.3, 1.0]) / np.hypot(0.3, 1.0)
    assert np.quantile(traced.normals @ uphill, 0.05) > np.cos(np.radians(3))


def test_the_far_side_of_the_pins_is_not_taken() -> None:
    made = scene(lambda s: 24.0 + 2.0 * np.sin(s / 5), Gauge(pins=30), turn_deg=-6, **SMALL)
    traced = trace_gauge(made.picture)
    far = made.tips[:, 1].mean() - made.gauge.length
    assert np.abs(traced.points[:, 1] - far).min() > 0.8 * made.gauge.length


@pytest.mark.parametrize("tip", ["round", "flat"])
def test_raw_tips_would_miss_a_slope(tip: str) -> None:
    """On a slope m the apex of a flat pin stands off the wall by up to p m / 2."""
    made = scene(lambda s: 24.0 + 0.7 * np.abs(s), Gauge(pins=30, tip=tip), **SMALL)
    traced = trace_gauge(made.picture)
    raw = distance(LineString(made.truth), points(traced.tips))
    assert np.median(raw) > 0.08
    assert np.median(misses(made, traced)) < 0.04


def test_a_step_between_pins_stays_sharp() -> None:
    made = scene(lambda s: 22.0 + np.where(s > 2.0, 6.0, 0.0), Gauge(pins=30), **SMALL)
    traced = trace_gauge(made.picture)
    height = traced.points[:, 1] - made.tips[:, 1].min()
    assert not ((height > 0.3) & (height < 5.7)).any()
    edge = ~traced.measured
    assert edge.sum() == 2
    # Where within one pitch it stands nobody knows: uniform, pitch / sqrt(12).
    assert traced.u[edge].min() >= made.gauge.pitch / np.sqrt(12)
    assert (misses(made, traced) < 2.0 * traced.u).mean() > 0.95


def test_a_short_pin_is_bridged_and_said_so() -> None:
    made = scene(lambda s: 24.0 + 0.1 * s, Gauge(pins=30, broken={12: 3.0}), **SMALL)
    traced = trace_gauge(made.picture)
    assert "pins doubted" in traced.facts
    assert misses(made, traced).max() < 0.15
    assert (misses(made, traced) < 2.0 * traced.u).mean() > 0.94


def test_facts_tell_pitch_and_tips() -> None:
    facts = trace_gauge(scene(uneven(3), Gauge(pins=30, pitch=1.3), **SMALL).picture).facts
    assert abs(float(facts["pitch"].split()[0]) - 1.3) < 0.01
    assert facts["tips"].startswith("round")
    facts = trace_gauge(scene(uneven(3), Gauge(pins=30, tip="flat"), **SMALL).picture).facts
    assert facts["tips"].startswith("flat")


def test_a_part_can_be_chosen() -> None:
    made = scene(uneven(5), Gauge(pins=30), **SMALL)
    whole = trace_gauge(made.picture)
    low, high = made.tips[8], made.tips[20]
    part = trace_gauge(made.picture, start=high, end=low)
    assert len(part.tips) in (12, 13, 14)
    assert len(whole.tips) == 30
    guided = trace_gauge(made.picture, near=made.tips[::5])
    assert np.quantile(misses(made, guided), 0.95) < 0.15


def test_a_thumb_on_the_body_does_not_matter() -> None:
    def thumb(image: Array, x: Array, y: Array) -> Array:
        return np.where(np.hypot(x - 41, (y - 14) / 3) < 8, 0.35, image)

    made = scene(uneven(4), Gauge(pins=30), paint=thumb, **SMALL)
    assert np.quantile(misses(made, trace_gauge(made.picture)), 0.95) < 0.15


@pytest.mark.parametrize(("material", "tip"), [("bright", "flat"), ("black", "round")])
@pytest.mark.parametrize("light", [0.15, 0.4])
def test_the_tip_of_a_finger_is_no_pin(material: str, tip: str, light: float) -> None:
    """A finger lies along the pins and reaches 2 mm beyond their ends, as sharp as they are."""
    gauge = Gauge(pins=44, pitch=1.0, width=0.93, material=material, tip=tip)
    end = scene(uneven(4), gauge, **SMALL).tips[22] + np.array([0.0, 2.0])

    def finger(image: Array, x: Array, y: Array) -> Array:
        below = np.hypot(x - end[0], np.maximum(y - end[1] + 4.5, 0.0)) < 3.2
        return np.where(below, light, image)

    made = scene(uneven(4), gauge, paint=finger, **SMALL)
    traced = trace_gauge(made.picture)
    seen = np.abs(traced.points[:, 0] - end[0]) > 5.0
    assert misses(made, traced)[seen & traced.measured].max() < 0.2
    assert not traced.measured[np.abs(traced.points[:, 0] - end[0]) < 2.0].any()
    assert "pins not seen" in traced.facts


def test_an_empty_window_is_refused() -> None:
    made = scene(
        uneven(0), paint=lambda image, x, y: np.full_like(image, 0.75) + 0 * x * y, **SMALL
    )
    assert refusal(lambda: trace_gauge(made.picture)).kind == "gauge-not-found"


def test_a_card_without_pins_is_refused() -> None:
    def card(image: Array, x: Array, y: Array) -> Array:
        inside = (np.abs(x - 41) < 20) & (y < 50 + 2 * np.sin(x / 4)) & (y > 25)
        return np.where(inside, 0.2, 0.75) + 0 * image

    made = scene(uneven(0), paint=card, **SMALL)
    assert refusal(lambda: trace_gauge(made.picture)).kind == "gauge-not-found"


def test_white_pins_on_white_paper_are_refused() -> None:
    made = scene(uneven(0), Gauge(pins=30, material="white"), **SMALL)
    assert refusal(lambda: trace_gauge(made.picture)).kind == "gauge-no-contrast"


@pytest.mark.parametrize("material", ["black", "bright"])
@pytest.mark.parametrize(("left", "right", "shown"), [(52, 80, (0, 51)), (34, 48, (49, 80))])
def test_the_body_behind_pins_as_light_as_paper_is_no_row_of_pins(
    left: float, right: float, shown: tuple[float, float], material: str
) -> None:
    """A lamp mirrored in pins from left to right; the body reaches up to y = 65.4."""

    def mirrored(image: Array, x: Array, y: Array) -> Array:
        return np.where((x > left) & (x < right) & (y > 65.5), 0.75, image)

    gauge = Gauge(material=material)
    made = scene(lambda s: 24.0 + 0.05 * s + 0.5 * np.sin(s / 6.0), gauge, paint=mirrored)
    error = refusal(lambda: trace_gauge(made.picture))
    assert error.kind == "gauge-pins-hidden"
    assert "lamp" in error.do
    traced = trace_gauge(made.picture, start=(shown[0], 76.0), end=(shown[1], 76.0))
    assert np.quantile(misses(made, traced), 0.95) < 0.15


@pytest.mark.parametrize(("centre", "side"), [((0.5, 0.75), "upper"), ((0.1, 0.48), "left")])
def test_tips_that_leave_the_window_are_refused(centre: tuple[float, float], side: str) -> None:
    made = scene(uneven(0), Gauge(pins=30), centre=centre, **SMALL)
    error = refusal(lambda: trace_gauge(made.picture))
    assert error.kind == "outline-outside-marks"
    assert side in error.what
