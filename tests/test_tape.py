"""Tape readings as typed and as written in a job."""

from __future__ import annotations

from math import sqrt
from pathlib import Path

import pytest

from scribe.errors import ScribeError
from scribe.job_file import read_job
from scribe.source import PhotoSource
from scribe.tape import Cross, parse_tape


def test_an_ordinary_tape_is_class_two_read_to_half_a_millimetre() -> None:
    reading = parse_tape("1A, 8B, 2210.5")
    assert (reading.start, reading.end) == (Cross(1, "A"), Cross(8, "B"))
    # 2014/32/EU, annex X, class II, from memory: 0.3 mm + 0.2 mm for each metre begun: 3 here.
    assert reading.u == pytest.approx(sqrt((0.9**2 + 2 * 0.5**2) / 3))
    assert parse_tape("strip 2 cross a; sheet 11B; 2,21 m; 0,8").u == 0.4


@pytest.mark.parametrize("typed", ["1A,8B", "1,8,2210", "1A,1A,200", "1C,2A,300", "A1,B2,5", ""])
def test_what_is_no_reading_is_refused(typed: str) -> None:
    with pytest.raises(ScribeError) as refused:
        parse_tape(typed)
    assert refused.value.kind == "tape-unreadable"


JOB = """
[outline.wall]
photo = ["a.jpg", "b.jpg"]
of = "line"

[[tape]]
from = "sheet 1 cross A"
to = "sheet 8 cross B"
length = 2210.5
U = "1 mm"

[[piece]]
name = "shelf"
blank = { length = 800, width = 200 }

[[piece.edge]]
outline = "wall"
edge = "top"
"""


def _job(folder: Path, text: str) -> Path:
    for name in ("a.jpg", "b.jpg"):
        (folder / name).write_bytes(b"x")
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_job_hands_its_readings_to_its_photos(tmp_path: Path) -> None:
    job = read_job(_job(tmp_path, JOB))
    source = job.outlines["wall"].source
    assert isinstance(source, PhotoSource)
    assert [str(tape) for tape in source.tapes] == ["sheet 1 cross A to sheet 8 cross B: 2210.5 mm"]
    assert source.tapes[0].u == 0.5


def test_a_reading_without_its_end_is_refused_by_line(tmp_path: Path) -> None:
    with pytest.raises(ScribeError, match="line 6") as refused:
        read_job(_job(tmp_path, JOB.replace('to = "sheet 8 cross B"\n', "")))
    assert refused.value.kind == "job-key"
    with pytest.raises(ScribeError, match="line 6") as refused:
        read_job(_job(tmp_path, JOB.replace("sheet 8 cross B", "the far end")))
    assert refused.value.kind == "tape-unreadable"


def test_a_reading_that_nothing_uses_is_refused(tmp_path: Path) -> None:
    job = JOB.replace('["a.jpg", "b.jpg"]', '"a.jpg"')
    with pytest.raises(ScribeError, match="no outline has several photos") as refused:
        read_job(_job(tmp_path, job))
    assert refused.value.kind == "job-key"


BESIDE = """
[outline.stone]
photo = "a.jpg"
of = "edge"

[outline.breast]
photo = ["b.jpg", "a.jpg"]
of = "edge"
"""


def test_a_reading_belongs_to_the_strips_it_was_taken_along(tmp_path: Path) -> None:
    """Beside a run a job has sheets, of one photo or of two."""

    def readings(text: str) -> dict[str, int]:
        outlines = read_job(_job(tmp_path, text)).outlines
        return {name: len(each.source.tapes) for name, each in outlines.items()
                if isinstance(each.source, PhotoSource)}  # fmt: skip

    named = JOB.replace("[[tape]]", '[[tape]]\noutline = "wall"')
    assert readings(named + BESIDE) == {"wall": 1, "stone": 0, "breast": 0}
    assert readings(JOB + BESIDE) == {"wall": 1, "stone": 0, "breast": 1}
    assert readings(named.replace('["a.jpg", "b.jpg"]', '"a.jpg"')) == {"wall": 1}
    with pytest.raises(ScribeError, match="wall, stone") as refused:
        readings(named.replace('outline = "wall"', 'outline = "walls"', 1) + BESIDE)
    assert refused.value.kind == "job-value"
