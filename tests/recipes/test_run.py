"""A run of strips as a whole: what is refused, and what is found in photos of one."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from scribe.errors import ScribeError
from scribe.recipes.run import trace_strips
from scribe.recipes.trace import Traced, trace
from scribe.source import PhotoSource
from scribe.tape import Cross, TapeReading
from tests.scenes.run import Run, make_run

FIXTURES = Path(__file__).parents[2] / "fixtures/page"


def test_a_gauge_on_strips_is_refused() -> None:
    source = PhotoSource((Path("a.jpg"), Path("b.jpg")), "gauge")
    with pytest.raises(ScribeError, match="gauge") as refused:
        trace_strips(source, lambda _: None)
    assert refused.value.kind == "run-of-gauge"


def test_of_two_lines_neither_is_taken_unasked() -> None:
    """The ends of a run wouldn't tell them apart: a rough course does."""
    photos = [FIXTURES / f"run-{k}.jpg" for k in (1, 2, 3)]
    with pytest.raises(ScribeError, match="two lines") as refused:
        trace_strips(PhotoSource(tuple(photos), "line", height=0.0), lambda _: None)
    assert refused.value.kind == "outline-ambiguous"
    assert refused.value.do == "say which one with {near}"


@pytest.mark.slow
def test_a_photographed_run_lies_within_its_u(tmp_path: Path) -> None:
    run = make_run(720.0, 3, 4, megapixels=8.0)
    paths = run.write(tmp_path)
    reading = TapeReading(Cross(1, "A"), Cross(2, "B"), run.tape(1, 2), 0.2)
    progress: list[str] = []
    traced = trace(
        PhotoSource(tuple(paths[::-1]), "line", height=0.0, tapes=(reading,)), progress.append
    )
    outline = traced.outline
    assert "tracing: photo 3 of 3" in progress
    assert len(traced.overlays) == 3
    truth = run.truth
    assert outline.points[0, 0] < truth[0, 0] + 6.0
    assert outline.points[-1, 0] > truth[-1, 0] - 6.0
    off = outline.points[:, 1] - np.interp(outline.points[:, 0], truth[:, 0], truth[:, 1])
    # A pencil's own raggedness is in u; 95 % of the points, which in part move together.
    assert np.mean(np.abs(off) < outline.U) > 0.9
    assert np.median(outline.shape_alone().U) < 0.15
    alone = trace(PhotoSource((paths[1],), "line", height=0.0))
    assert "sheets" in alone.facts
    off = alone.outline.points[:, 1] - np.interp(
        alone.outline.points[:, 0], *_seen_from(run, alone)
    )
    assert np.mean(np.abs(off) < alone.outline.U) > 0.9


def _seen_from(run: Run, traced: Traced) -> tuple[np.ndarray, np.ndarray]:
    """x and y of the true line in the frame of the sheet that the facts name."""
    number = int(traced.facts["frame"].split()[-1])
    strips = run.strips[number - 1 :]
    points = replace(run, strips=strips).in_first(run.on_board())
    return points[:, 0], points[:, 1]


@pytest.mark.slow
def test_the_height_of_an_edge_over_the_strips_must_be_stated(tmp_path: Path) -> None:
    """A board of 18 mm beside the strips."""
    run = make_run(720.0, 3, 5, megapixels=6.0, thick=18.0)
    paths = tuple(run.write(tmp_path))
    truth = run.truth
    traced = trace(PhotoSource(paths, "edge", height=18.0))
    outline = traced.outline
    off = outline.points[:, 1] - np.interp(outline.points[:, 0], truth[:, 0], truth[:, 1])
    assert np.mean(np.abs(off) < outline.U) > 0.9
    with pytest.raises(ScribeError) as refused:
        trace(PhotoSource(paths, "edge"))
    assert refused.value.kind == "run-height"
    with pytest.raises(ScribeError) as refused:
        trace(PhotoSource(paths, "edge", height=9.0))
    assert refused.value.kind == "height-contradicts"


@pytest.mark.slow
def test_a_photo_that_shows_the_foot_of_a_board_is_told_from_one_that_shows_its_edge(
    tmp_path: Path,
) -> None:
    """The middle one of three photos looks at the side of a board of 18 mm."""
    run = make_run(720.0, 3, 4, megapixels=8.0, thick=18.0)
    paths = tuple(run.write(tmp_path))
    with pytest.raises(ScribeError) as refused:
        trace(PhotoSource(paths, "edge"))
    assert refused.value.kind == "run-height"
    told = re.search(r"the photos tell ([\d.]+) \+/- ([\d.]+) mm", str(refused.value))
    assert told is not None
    assert abs(float(told[1]) - 18.0) < float(told[2])
    outline = trace(PhotoSource(paths, "edge", height=18.0)).outline
    off = outline.points[:, 1] - np.interp(outline.points[:, 0], *run.truth.T)
    assert np.mean(np.abs(off) < outline.U) > 0.9
    assert outline.budget["squareness"].max() > 0.1  # mm: half a degree of 18 mm
    with pytest.raises(ScribeError) as refused:
        trace(PhotoSource(paths, "edge", height=9.0))
    assert refused.value.kind == "height-contradicts"
    alone = trace(PhotoSource(paths[1:2], "edge", height=18.0))
    assert any("may show its foot" in words for words in alone.advice)
