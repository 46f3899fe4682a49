"""Several photos of one thing: its height, one outline, and what must not be put together."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from scribe.errors import ScribeError
from scribe.recipes.trace import trace, write_trace
from scribe.source import PhotoSource
from tests.honesty.scenes import distance
from tests.scenes.scene import Scene, make_scene

HEIGHT = 7.4


def scene(azimuth: float, *, seed: int = 71, **more) -> Scene:
    """The same gauge from another side: only what is asked for differs."""
    options = {"tilt_deg": 24.0, "height": HEIGHT, "shape": "smooth", "material": "bright"}
    options |= {"megapixels": 2, "azimuth_deg": azimuth} | more
    return make_scene("gauge", seed, **options)


@pytest.fixture(scope="module")
def pair(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    return [
        scene(azimuth).write(tmp_path_factory.mktemp(f"from{k}"))
        for k, azimuth in enumerate((-100.0, 80.0))
    ]


def test_two_sides_tell_the_height(pair: list[Path]) -> None:
    """Nothing stated: the pins are taken as 5 +- 5 mm up, and found 7.4 up."""
    found = trace(PhotoSource(tuple(pair), "gauge"))
    words = found.facts["height"]
    value, U = (float(each) for each in words.split(" mm")[0].split(" +/- "))
    assert abs(value - HEIGHT) <= 1.5 * U
    assert U < 1.0
    alone = trace(PhotoSource(tuple(pair[:1]), "gauge"))
    assert np.median(found.outline.u) < np.median(alone.outline.u)
    assert np.median(found.outline.budget["height"]) < 0.2 * np.median(
        alone.outline.budget["height"]
    )
    truth = scene(80.0).truth
    inside = (found.outline.points[:, 0] > truth[0, 0]) & (
        found.outline.points[:, 0] < truth[-1, 0]
    )
    judged = inside & found.outline.measured
    error = distance(found.outline.points[judged], truth)
    assert np.quantile(error, 0.95) < 0.15


def test_every_photo_has_its_overlay(pair: list[Path], tmp_path: Path) -> None:
    found = trace(PhotoSource(tuple(pair), "gauge", height=HEIGHT))
    names = [path.name for path in write_trace(found, tmp_path / "out", force=False)]
    assert names == ["outline.csv", "outline.json", "overlay-1.png", "overlay-2.png"]
    assert "stated 7.4 mm" in found.facts["height"]


def test_a_wrong_height_is_contradicted(pair: list[Path]) -> None:
    with pytest.raises(ScribeError) as caught:
        trace(PhotoSource(tuple(pair), "gauge", height=2.0))
    assert caught.value.kind == "height-contradicts"


@pytest.mark.slow
def test_a_gauge_that_was_turned_is_noticed(pair: list[Path], tmp_path: Path) -> None:
    """Between the photos the wall itself became another: no height explains it."""
    other = scene(80.0, seed=72, megapixels=2).write(tmp_path)
    with pytest.raises(ScribeError) as caught:
        trace(PhotoSource((pair[0], other), "gauge", height=HEIGHT))
    assert caught.value.kind in {"photos-disagree", "photos-of-two-things", "height-contradicts"}


def test_photos_of_two_sheets_are_not_mixed(pair: list[Path], tmp_path: Path) -> None:
    other = scene(80.0, number=2, megapixels=1).write(tmp_path)
    with pytest.raises(ScribeError) as caught:
        trace(PhotoSource((pair[0], other), "gauge", height=HEIGHT))
    assert caught.value.kind == "photos-of-two-sheets"
