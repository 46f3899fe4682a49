"""`scribe make` in the fitter's words, and for another program."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from scribe.commands.main import run
from scribe.outline import Outline
from scribe.outline_file import outline_json

JOB = """\
[outline.wall]
file = "wall.json"

[[piece]]
name = "infill"
blank = { length = 600, width = 60 }

[[piece.edge]]
outline = "wall"
edge = "top"
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    wall = Outline(np.array([[0.0, 0], [600, -6]]), np.full(2, 0.1), "left")
    (tmp_path / "wall.json").write_text(outline_json(wall))
    (tmp_path / "job.toml").write_text(JOB)
    return tmp_path / "job.toml"


def test_what_was_made_is_told(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["make", str(job), "-o", str(tmp_path / "out")]) == 0
    told = capsys.readouterr()
    assert "6.00 +/- 0.20 mm at most (station 600)" in told.out
    assert "infill.pdf" in told.out
    assert "fitting infill" in told.err
    assert (tmp_path / "out/report.html").is_file()


def test_json_is_all_that_stands_on_standard_output(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["make", str(job), "-o", str(tmp_path / "out"), "--json", "--dxf"]) == 0
    content = json.loads(capsys.readouterr().out)
    assert content["pieces"][0]["edges"][0]["most"]["station_mm"] == 600.0
    assert all(Path(path).is_file() for path in content["written"])
    assert "infill.dxf" in content["pieces"][0]["files"]


def test_a_refusal_is_one_sentence_and_status_1(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job.write_text(JOB.replace("length = 600", "length = 700"))
    assert run(["make", str(job), "-o", str(tmp_path / "out")]) == 1
    told = capsys.readouterr()
    assert "beyond" in told.err.splitlines()[-1]
    assert "piece infill" in told.err
    assert "Traceback" not in told.err


def test_a_job_that_is_not_there_is_refused(tmp_path: Path) -> None:
    assert run(["make", str(tmp_path / "none.toml"), "-o", str(tmp_path / "out")]) == 1
    assert run(["make"]) == 2
