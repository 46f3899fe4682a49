from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribe.errors import ScribeError
from scribe.geom.frames import turned
from scribe.geom.polyline import nearest, resample
from scribe.outline import Outline
from scribe.shape.smooth import smooth

# A skirting seen from its end: flat, a rounded top, a small step, an upright face.
T = np.linspace(np.pi / 2, 0.0, 60)
PROFILE = np.vstack(
    [
        [[-40.0, 30.0]],
        np.column_stack([12 * np.cos(T), 18 + 12 * np.sin(T)]),
        [[12.0, 6.0], [26.0, 6.0], [26.0, -40.0]],
    ]
)
ARRISES = np.array([[12.0, 6.0], [26.0, 6.0]])


def outline(points: np.ndarray, u: float = 0.02, systematic: float = 0.05) -> Outline:
    n = np.ones(len(points))
    return Outline(
        points,
        np.hypot(u, systematic) * n,
        "left",
        budget={"localisation": u * n, "scale": systematic * n},
    )


def noisy(points: np.ndarray, u: float, seed: int = 1) -> np.ndarray:
    return points + u * np.random.default_rng(seed).normal(size=points.shape)


def test_a_straight_line_stays_and_only_the_random_part_shrinks():
    run = np.column_stack([np.arange(0.0, 100.0, 0.25), 0.3 * np.arange(0.0, 100.0, 0.25)])
    smoothed = smooth(outline(run), 8.0)
    assert np.allclose(smoothed.points, run, atol=1e-9)
    assert np.allclose(smoothed.budget["scale"], 0.05)
    # ISO 16610-21 on white noise: variance x 1.50538 dx / Lc; dx along the slope.
    step = 0.25 * np.hypot(1, 0.3)
    middle = smoothed.budget["localisation"][200]
    assert middle == pytest.approx(0.02 * np.sqrt(1.50538 * step / 8.0), rel=1e-4)
    parts = sum(part**2 for part in smoothed.budget.values())
    assert np.allclose(parts, smoothed.u**2)


def test_without_a_budget_nothing_shrinks():
    run = np.column_stack([np.arange(0.0, 50.0), np.zeros(50)])
    plain = Outline(run, np.full(50, 0.1), "left")
    assert np.allclose(smooth(plain, 5.0).u, 0.1)
    assert not smooth(plain, 5.0).budget


def test_noise_is_taken_off_as_predicted():
    x = np.arange(0.0, 150.0, 0.25)
    true = np.column_stack([x, 2.0 * np.sin(x / 25.0)])
    errors = []
    for seed in range(40):
        smoothed = smooth(outline(noisy(true, 0.05, seed), 0.05), 6.0)
        errors.append(nearest(smoothed.points, true).distance[4:-4])
    predicted = np.hypot(smoothed.budget["localisation"], smoothed.budget["smoothing"])[4:-4]
    ratio = np.std(errors, axis=0) / predicted
    # 40 worlds know a standard deviation to 11 %, some 25 independent places together to 2.3 %.
    assert 0.85 < np.median(ratio) < 1.1
    inside = np.abs(np.array(errors)) <= 2 * predicted
    assert inside.mean() > 0.93


@pytest.mark.parametrize("u", [0.0, 0.02])
def test_arrises_are_not_rounded(u: float):
    points = noisy(resample(PROFILE, 0.23), u)  # no sample on an arris
    kept = smooth(outline(points, u), 5.0)
    to_arris = np.hypot(*(kept.points[:, None] - ARRISES).T).min(axis=1)
    # Where two lines meet that are each known to u sqrt(4 / n), n = 5 * 0.47 / 0.23: some 0.6 u.
    assert to_arris.max() < 1e-6 + 3 * 1.0 * u
    rounded = smooth(outline(points, u), 5.0, keep_corners=False)
    assert np.hypot(*(rounded.points[:, None] - ARRISES).T).min(axis=1).max() > 0.3
    assert "2 corners kept" in kept.origin


def test_the_loss_on_a_round_is_what_the_filter_takes_and_is_owned_up_to():
    # 0.01756 Lc^2 / R on a radius R (series of the filter on a parabola).
    t = np.linspace(0.0, np.pi, 2000)
    arc = 40.0 * np.column_stack([-np.cos(t), np.sin(t)])
    smoothed = smooth(outline(arc, 0.0), 10.0)
    lost = 40.0 - np.hypot(*smoothed.points[1000])
    assert lost == pytest.approx(0.0175576 * 10.0**2 / 40.0, rel=0.01)
    assert smoothed.budget["smoothing"][1000] == pytest.approx(lost, rel=0.05)
    assert np.allclose(sum(part**2 for part in smoothed.budget.values()), smoothed.u**2)


def test_points_keep_their_place_along_an_uneven_outline():
    x = np.cumsum(np.random.default_rng(4).uniform(0.1, 2.0, 80))
    flat = np.column_stack([x, np.zeros(80)])
    assert np.allclose(smooth(outline(flat), 10.0).points, flat, atol=1e-9)


def test_what_nobody_measured_hardly_counts():
    x = np.arange(0.0, 60.0, 0.5)
    y = np.where(np.abs(x - 30.0) < 2.0, 8.0, 0.0)
    spoiled = outline(np.column_stack([x, y])).with_(measured=y == 0.0)
    smoothed = smooth(spoiled, 6.0, keep_corners=False)
    assert np.abs(smoothed.points[smoothed.measured, 1]).max() < 0.1
    assert not smoothed.measured[np.abs(x - 30.0) < 2.0].any()


@settings(max_examples=10)
@given(st.floats(-3, 3), st.integers(0, 1000))
def test_smoothing_moves_with_its_outline_and_minds_no_direction(angle: float, seed: int):
    points = noisy(resample(PROFILE, 0.4), 0.02, seed)
    one = smooth(outline(points), 5.0)
    place = turned(angle, (-7.0, 300.0))
    other = smooth(outline(points).in_frame(place), 5.0)
    assert np.allclose(place.apply(one.points), other.points, atol=1e-6)
    back = smooth(outline(points[::-1]), 5.0).reversed()
    assert np.abs(nearest(back.points, one.points).distance).max() < 0.05


def test_a_cutoff_is_a_length():
    run = outline(np.array([[0.0, 0.0], [1.0, 0.0]]))
    for cutoff in (0.0, -1.0, float("nan"), float("inf")):
        with pytest.raises(ScribeError) as caught:
            smooth(run, cutoff)
        assert caught.value.kind == "smooth-cutoff"
    assert np.allclose(smooth(run, 5.0).points, run.points)
