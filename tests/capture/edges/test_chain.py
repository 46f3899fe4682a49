"""Loose points become one path, whatever their order."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.capture.edges.chain import clusters, longest_path, path_between, thinned, without_specks


def wave(count: int = 80) -> np.ndarray:
    x = np.linspace(0.0, 79.0, count)
    return np.stack([x, 6.0 * np.sin(x / 9.0)], axis=1)


def test_a_shuffled_wave_is_put_in_order() -> None:
    points = wave()
    shuffled = np.random.default_rng(1).permutation(len(points))
    path = longest_path(points[shuffled], np.ones(80), 6.0)
    order = shuffled[path]
    assert len(order) == 80
    assert (np.diff(order) == 1).all() or (np.diff(order) == -1).all()


def test_a_gap_is_bridged_and_a_faint_spur_is_not_followed() -> None:
    points = np.delete(wave(), slice(30, 33), axis=0)
    spur = np.stack([np.full(8, 60.0), 8.0 + np.arange(8.0)], axis=1)
    weight = np.r_[np.ones(len(points)), np.full(8, 0.1)]
    path = longest_path(np.vstack([points, spur]), weight, 6.0)
    assert set(path) == set(range(len(points)))


def test_specks_are_dropped_and_groups_told_apart() -> None:
    specks = np.array([[20.0, 30.0], [20.5, 30.0], [70.0, -30.0]])
    points = np.vstack([wave(), specks, wave() + np.array([0.0, 60.0])])
    kept, _ = without_specks(points, np.ones(len(points)))
    assert len(kept) == 160
    assert [len(group) for group in clusters(kept, np.ones(160), 6.0)] == [80, 80]


def test_path_between_goes_where_it_is_told_or_nowhere() -> None:
    points = np.vstack([wave(), [[40.0, 90.0]]])
    assert list(path_between(points, np.ones(81), 6.0, 70, 10)) == list(range(70, 9, -1))
    assert len(path_between(points, np.ones(81), 6.0, 0, 80)) == 0


def test_thinning_keeps_weight_and_centre() -> None:
    rng = np.random.default_rng(2)
    points, weight = rng.uniform(0, 10, (500, 2)), rng.uniform(0.1, 1, 500)
    few, total = thinned(points, weight, 2.0)
    assert len(few) == 25
    assert total.sum() == pytest.approx(weight.sum())
    assert total @ few / total.sum() == pytest.approx(weight @ points / weight.sum())
