"""[outline.NAME] tables that take hand readings and drawings, and what is refused in them."""

from __future__ import annotations

from pathlib import Path

import pytest

from scribe.errors import ScribeError
from scribe.job import OutlineJob
from scribe.job_outline import outline_of
from scribe.source import READINGS, ReadSource
from scribe.toml_file import read_toml


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("wall.csv", "wall.dxf", "wall.jpg"):
        (tmp_path / name).write_bytes(b"-")
    return tmp_path


def outline(folder: Path, text: str) -> OutlineJob:
    path = folder / "job.toml"
    path.write_text("[wall]\n" + text, "utf-8")
    return outline_of(read_toml(path).table("wall"), "wall")


def test_readings_and_their_instrument(folder: Path) -> None:
    job = outline(
        folder,
        'readings = "wall.csv"\nas = "tapes"\nbuilding = "above"\nu95 = "1/16 in"\n'
        'base = "2 m"\nthird = [0, "1 m"]\nend = "door"\n',
    )
    assert job.source == ReadSource(
        folder / "wall.csv", "tapes", "above", u95=1.5875, base=2000.0, third=(0.0, 1000.0)
    )
    assert job.end == "door"
    level = outline(
        folder, 'readings = "wall.csv"\nas = "level"\nbuilding = "below"\nclosing = -3\n'
    )
    assert isinstance(level.source, ReadSource)
    assert level.source.closing == -3.0


def test_a_drawing_its_layer_and_its_unit(folder: Path) -> None:
    job = outline(
        folder, 'drawing = "wall.dxf"\nchoose = "scribe"\nunit = "cm"\nbuilding = "left"\n'
    )
    assert job.source == ReadSource(
        folder / "wall.dxf", "drawing", "left", choose="scribe", unit=10.0
    )


TAKEN = 'readings = "wall.csv"\nas = "offsets"\nbuilding = "above"\n'
DRAWN = 'drawing = "wall.dxf"\nbuilding = "above"\n'


@pytest.mark.parametrize(
    ("text", "kind", "said"),
    [
        (TAKEN.replace('as = "offsets"\n', ""), "job-key", ", ".join(READINGS)),
        (TAKEN.replace('building = "above"\n', ""), "job-key", "key building is missing"),
        (DRAWN.replace('building = "above"\n', ""), "job-key", "key building is missing"),
        (TAKEN.replace("offsets", "offset"), "job-value", "'offsets'?"),
        (TAKEN.replace("wall.csv", "no.csv"), "job-file-missing", "no file no.csv"),
        (TAKEN + "base = 500\n", "job-key", "base says nothing about offsets"),
        (TAKEN + "third = [0, 1]\n", "job-key", "it belongs to tapes"),
        (TAKEN + "closing = 5\n", "job-key", "it belongs to level"),
        (TAKEN + 'unit = "mm"\n', "job-key", "not a key that belongs here"),
        (TAKEN + "u95 = 0\n", "job-value", "more than 0"),
        (DRAWN + 'unit = "furlong"\n', "job-value", "mm, cm, m, in"),
        (DRAWN + 'as = "offsets"\n', "job-key", "not a key that belongs here"),
        (DRAWN + TAKEN.splitlines()[0] + "\n", "job-key", "has readings and drawing"),
    ],
)
def test_what_is_wrong_is_named(folder: Path, text: str, kind: str, said: str) -> None:
    with pytest.raises(ScribeError) as caught:
        outline(folder, text)
    assert caught.value.kind == kind, str(caught.value)
    assert said in str(caught.value)
