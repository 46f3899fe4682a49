"""`scribe join` from the command line, and an outline of a job that is joined of others."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from scribe.commands.join import command, joint_of
from scribe.errors import ScribeError
from scribe.job_file import read_job
from scribe.joint import Joint
from scribe.outline_file import outline_json, read_json
from scribe.recipes.join import join_files
from scribe.recipes.make import make_job
from tests.shape.pieces import moved, parts, piece, wall


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A wall in two pieces that share 200 mm with a skirting's step, the second turned away."""
    line = wall()
    one, two = parts(line, 1300.0, 1100.0)
    for name, outline in (("high", piece(one)), ("low", piece(two).in_frame(moved(line)[1]))):
        (tmp_path / name).mkdir()
        (tmp_path / name / "outline.json").write_text(outline_json(outline), "utf-8")
    return tmp_path


def run(folder: Path, *options: str) -> str:
    arguments = [str(folder / name / "outline.json") for name in ("high", "low")]
    shown = CliRunner().invoke(command, [*arguments, "-o", str(folder / "whole"), *options])
    if shown.exception is not None and not isinstance(shown.exception, SystemExit):
        raise shown.exception
    return shown.output


def test_two_files_become_one(folder: Path) -> None:
    said = json.loads(run(folder, "--overlap", "200", "--json"))
    assert said["chord_mm"]["value"] == pytest.approx(
        float(np.hypot(*(wall()[-1] - wall()[0]))), abs=0.02
    )
    assert "overlap by 2" in said["joint"]
    assert read_json(folder / "whole" / "outline.json").budget.keys() >= {"joint"}
    assert "high and low overlap" in run(folder, "--overlap", "200", "--force")


def test_a_file_is_not_joined_to_itself(folder: Path) -> None:
    one = folder / "high" / "outline.json"
    with pytest.raises(ScribeError, match="the same file") as caught:
        join_files(one, folder / "high" / ".." / "high" / "outline.json", Joint("corner"))
    assert caught.value.kind == "join-option"


@pytest.mark.parametrize(
    ("by", "options", "said"),
    [
        ("corner", {"overlap": 3.0}, "overlap says nothing about --by corner"),
        ("overlap", {}, "how much both show"),
        ("corner", {"angle": 90.0, "diagonal": (3.0, 4.0, 5.0)}, "both given"),
        ("corner", {"diagonal": (3.0, 4.0)}, "three lengths"),
    ],
)
def test_options_that_do_not_belong(by: str, options: dict[str, object], said: str) -> None:
    with pytest.raises(ScribeError) as caught:
        joint_of(by, **options)
    assert caught.value.kind == "join-option"
    assert said in str(caught.value)


JOB = """[outline.high]
file = "high/outline.json"
[outline.low]
file = "low/outline.json"
[outline.whole]
join = ["high", "low"]
[[outline.whole.joint]]
by = "overlap"
overlap = 200
[[piece]]
name = "fascia"
blank = { length = 1490, width = 90 }
[[piece.edge]]
outline = "whole"
edge = "top"
"""


def test_a_piece_follows_what_is_joined(folder: Path) -> None:
    """Behind the skirting's step 18 mm more stay on (the wall stands back there, as drawn)."""
    job = folder / "job.toml"
    job.write_text(JOB, "utf-8")
    (made,) = make_job(job, folder / "made").pieces
    line = wall()
    inside = line[line[:, 0] <= 1490.0]
    deepest = float(inside[:, 1].max() - inside[:, 1].min())
    assert made.edges[0].most.remove == pytest.approx(deepest, abs=0.05)
    assert made.edges[0].most.U > made.edges[0].least.U
    assert "high and low overlap" in (folder / "made" / "report.html").read_text("utf-8")


@pytest.mark.parametrize(
    ("old", "new", "kind", "said"),
    [
        ('["high", "low"]', '["high", "floor"]', "job-value", "'floor' is no outline"),
        ('["high", "low"]', '["high", "whole"]', "job-value", "'whole' is no outline"),
        ('["high", "low"]', '["high", "high"]', "job-value", "named twice"),
        ('["high", "low"]', '["high"]', "job-value", "two outlines or more"),
        ('["high", "low"]', "3", "job-value", "a list of texts"),
        ('by = "overlap"\n', "", "job-key", "by = one of"),
        ("overlap = 200\n", "", "job-key", "how many mm"),
        ("overlap = 200\n", "angle = 90\noverlap = 200\n", "job-key", "angle is not a key"),
        ('by = "overlap"\noverlap = 200', 'by = "corner"\ndiagonal = [3, 4]', "job-value", "3 len"),
        (
            'by = "overlap"\noverlap = 200',
            'by = "corner"\nangle = 90\ndiagonal = [3, 4, 5]',
            "job-key",
            "the better one",
        ),
        ("[[outline.whole.joint]]", "[[outline.whole.joints]]", "job-key", "joints"),
    ],
)
def test_a_wrong_join_is_named(folder: Path, old: str, new: str, kind: str, said: str) -> None:
    job = folder / "job.toml"
    assert old in JOB
    job.write_text(JOB.replace(old, new, 1), "utf-8")
    with pytest.raises(ScribeError) as caught:
        read_job(job)
    assert caught.value.kind == kind, str(caught.value)
    assert said in str(caught.value)
