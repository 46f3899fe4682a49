"""One photo through the whole recipe, and what is refused at its door."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from scribe.errors import ScribeError
from scribe.outline_file import read_json
from scribe.print_scale import stated
from scribe.recipes.trace import Traced, trace, write_trace
from scribe.source import PhotoSource
from scribe.tape import Cross, TapeReading
from tests.honesty.scenes import distance
from tests.scenes.scene import Scene, make_scene


@pytest.fixture(scope="module", params=["line", "edge", "gauge"])
def scene(request: pytest.FixtureRequest) -> Scene:
    return make_scene(request.param, 41, megapixels=3, shape="smooth", tilt_deg=12.0)


@pytest.fixture(scope="module")
def photo(scene: Scene, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return scene.write(tmp_path_factory.mktemp("trace"))


@pytest.fixture(scope="module")
def traced(scene: Scene, photo: Path) -> Traced:
    return trace(PhotoSource((photo,), scene.kind, height=scene.height))


def test_the_truth_is_found_within_u(scene: Scene, traced: Traced) -> None:
    """95 % of the points within 0.15 mm (0.25 for what pins felt), and within U nine in ten."""
    outline = traced.outline
    points = outline.points
    near = (points[:, 0] > scene.truth[0, 0] - 1) & (points[:, 0] < scene.truth[-1, 0] + 1)
    judged = near & outline.measured
    error = distance(points[judged], scene.truth)
    assert np.quantile(error, 0.95) < (0.25 if scene.kind == "gauge" else 0.15)
    assert (error <= outline.U[judged]).mean() > 0.9
    assert np.ptp(points[near, 0]) > 0.9 * np.ptp(scene.truth[:, 0])
    assert outline.solid == "left"
    assert (np.diff(points[[0, -1], 0]) > 0).all()


def test_the_parts_of_u_add_up(traced: Traced) -> None:
    total = np.sqrt(sum(part**2 for part in traced.outline.budget.values()))
    assert total == pytest.approx(traced.outline.u)
    own = {"gauge": {"pins"}, "line": {"line width", "grain"}, "edge": set()}[
        traced.facts["traced"]
    ]
    assert own | {
        "localisation", "pose", "lens", "paper", "bend", "tone", "print scale", "height"
    } == set(traced.outline.budget)  # fmt: skip


def test_the_summary_says_what_u_is_made_of(traced: Traced) -> None:
    """Shares are of the square at one point: 100 % together, but for a tenth of rounding each."""
    summary = traced.summary()
    for name in ("budget", "shape_budget"):
        rows = summary[name]
        assert {row["kind"] for row in rows} <= {"A", "B"}
        for part in ("share_median_percent", "share_worst_percent"):
            assert sum(row[part] for row in rows) == pytest.approx(100.0, abs=0.05 * len(rows))
    worst = np.hypot.reduce([row["u_worst_mm"] for row in summary["budget"]])
    assert 2 * worst == pytest.approx(summary["u95_mm"]["worst"], abs=1e-3)
    for name in ("chord_mm", "bow_mm"):
        assert 0.0 < summary[name]["u95"] < 0.05 * summary[name]["value"] + 0.5
    assert any("is made of" in line for line in traced.result_lines())


def test_files_are_those_of_the_contract(traced: Traced, tmp_path: Path) -> None:
    written = write_trace(traced, tmp_path / "out", force=False)
    assert [path.name for path in written] == ["outline.csv", "outline.json", "overlay.png"]
    rows = list(csv.reader(written[0].read_text().splitlines()))
    assert rows[0] == ["x_mm", "y_mm", "u95_mm"]
    assert len(rows) == len(traced.outline) + 1
    assert np.array(rows[1:], float)[:, 2] == pytest.approx(traced.outline.U, abs=1e-4)
    assert read_json(written[1]).points == pytest.approx(traced.outline.points)
    assert written[2].read_bytes().startswith(b"\x89PNG")
    with pytest.raises(ScribeError) as caught:
        write_trace(traced, tmp_path / "out", force=False)
    assert caught.value.kind == "output-exists"


def test_a_height_that_was_not_stated_widens_u(scene: Scene, photo: Path, traced: Traced) -> None:
    untold = trace(PhotoSource((photo,), scene.kind))
    assert (untold.outline.budget["height"] ** 2).mean() > (
        traced.outline.budget["height"] ** 2
    ).mean()
    assert untold.facts["height"].startswith("not stated, taken for ")


def test_a_measured_bar_narrows_u(scene: Scene, photo: Path, traced: Traced) -> None:
    kind = scene.kind
    told = trace(PhotoSource((photo,), kind, height=scene.height, print_scale=stated(1.0, 1.0)))
    assert told.outline.budget["print scale"].max() < (
        0.5 * traced.outline.budget["print scale"].max()
    )


def test_a_photo_and_its_copy_are_one(photo: Path, scene: Scene, tmp_path: Path) -> None:
    """Counted as two, its noise would look smaller by sqrt(2)."""
    copy = tmp_path / "copy.jpg"
    copy.write_bytes(photo.read_bytes())
    with pytest.raises(ScribeError) as caught:
        trace(PhotoSource((photo, copy), scene.kind))
    assert caught.value.kind == "photo-given-twice"


def test_without_a_photo_there_is_nothing_to_trace() -> None:
    with pytest.raises(ScribeError) as caught:
        trace(PhotoSource((), "line"))
    assert caught.value.kind == "no-photo"


@pytest.mark.parametrize("height", [0.0, 60.0])
def test_pins_do_not_lie_so_low_or_high(height: float, photo: Path) -> None:
    with pytest.raises(ScribeError) as caught:
        trace(PhotoSource((photo,), "gauge", height=height))
    assert caught.value.kind == "height-not-credible"


def test_the_wrong_thing_is_asked_for(scene: Scene, photo: Path) -> None:
    """Pins where there are none, or the edge of what has pins."""
    other = {"line": "gauge", "edge": "gauge", "gauge": "edge"}[scene.kind]
    with pytest.raises(ScribeError) as caught:
        trace(PhotoSource((photo,), other, height=scene.height or 5.0))
    no_pins = ("gauge-not-found", "gauge-no-contrast")
    assert caught.value.kind in (no_pins if other == "gauge" else ("another-kind", "edge-shadow"))


def test_a_height_above_the_camera(scene: Scene, photo: Path) -> None:
    with pytest.raises(ScribeError) as caught:
        trace(PhotoSource((photo,), scene.kind, height=6000.0))
    assert caught.value.kind == "height-not-credible"


def test_a_tape_reading_wants_strips(scene: Scene, photo: Path) -> None:
    """It would be left out without a word: a sheet has no crosses to measure between."""
    reading = TapeReading(Cross(1, "A"), Cross(2, "B"), 200.0)
    with pytest.raises(ScribeError) as refusal:
        trace(PhotoSource((photo,), scene.kind, height=scene.height, tapes=(reading,)))
    assert refusal.value.kind == "tape-without-strips"
