"""What goes wrong along a run, in photos: named, left out or refused."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from scribe.errors import ScribeError
from scribe.recipes.run import TracedRun, trace_strips
from scribe.source import PhotoSource
from tests.scenes.run import Run, Surface, make_run

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def run() -> Run:
    """1.5 m, six photos that show two strips and more each, a plain board."""
    return make_run(1500.0, 6, 3, megapixels=6.0, overlap=450.0, grain=False)


@pytest.fixture(scope="module")
def photos(run: Run, tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    return run.write(tmp_path_factory.mktemp("run"))


def _traced(photos: list[Path]) -> TracedRun:
    return trace_strips(PhotoSource(tuple(photos), "line", height=0.0), lambda _: None)


def _said(photos: list[Path]) -> list[str]:
    """What is said of a run, be it refused or not."""
    try:
        return list(_traced(photos).said)
    except ScribeError as refusal:
        return [str(refusal)]


def test_photos_that_share_no_strip_are_refused(photos: list[Path]) -> None:
    with pytest.raises(ScribeError) as refused:
        _traced([photos[0], photos[-1]])
    assert refused.value.kind == "photos-apart"
    assert "Take one more photo that shows a sheet of both sides" in str(refused.value)


def test_a_strip_that_was_moved_is_noticed(run: Run, photos: list[Path], tmp_path: Path) -> None:
    """The last strip but one lies 3 mm further on in the last photo."""
    surface = run.world.sheet
    assert isinstance(surface, Surface)
    strips = list(surface.strips)
    x, y = strips[-2].corner
    strips[-2] = replace(strips[-2], corner=(x + 3.0, y))
    moved = replace(run, world=replace(run.world, sheet=replace(surface, strips=tuple(strips))))
    last = moved.write_photo(tmp_path, len(photos) - 1)
    number = strips[-2].number
    # Named and left out, or refused: which depends on what hangs together without them.
    said = _said([*photos[:-1], last])
    assert any(f"Sheet {number}" in words or last.name in words for words in said)
