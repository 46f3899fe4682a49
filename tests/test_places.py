"""Each front end fills the placeholders of what it prints, in its own words."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from scribe.commands import main
from scribe.errors import ScribeError
from scribe.outline import Outline
from scribe.outline_file import outline_json
from scribe.places import COMMAND, PLACEHOLDER, said
from scribe.recipes import look, run, trace
from scribe.recipes.page.cut import check_for_page
from scribe.recipes.page.outline import trace_for_page
from scribe.recipes.page.photo import judged, sheet_alone
from scribe.recipes.trace import Traced
from scribe.web.refusals import error_json

ALL = " ".join(f"{{{name}:7,8}}" for name in COMMAND)
LINE = Outline(np.array([[0.0, 0.0], [200.0, 0.0], [400.0, 0.5]]), np.full(3, 0.1), "left")
TRACED = Traced(LINE, {}, (ALL,), (b"png",), ())
JOB = """[outline.wall]
photo = "wall.jpg"
of = "line"
[[piece]]
name = "strip"
blank = { length = 400, width = 60, thickness = 6 }
[[piece.edge]]
outline = "wall"
edge = "top"
"""


def refused(*_: object, **__: object) -> Traced:
    raise ScribeError("outline-not-found", what=ALL, where="wall.jpg", do=ALL)


def traced(*_: object, **__: object) -> Traced:
    return TRACED


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "wall.jpg").write_bytes(b"")
    (tmp_path / "cut.jpg").write_bytes(b"")
    (tmp_path / "job.toml").write_text(JOB, "utf-8")
    return tmp_path / "job.toml"


def printed(capsys: pytest.CaptureFixture[str], *arguments: object) -> str:
    """What a command says, on either stream."""
    main.run([str(each) for each in arguments])
    out, err = capsys.readouterr()
    return out + err


def test_braces_that_hold_something_else_stay() -> None:
    assert said("no piece '{shelf}', 3 {height", COMMAND) == "no piece '{shelf}', 3 {height"
    assert said("{kind:line} {}", COMMAND) == "--of line {}"


def test_a_command_says_options(
    job: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    command = "trace", job.parent / "wall.jpg", "--of", "line", "-o"
    for act in (refused, traced):
        monkeypatch.setattr(trace, "trace", act)
        for more in ((), ("--json",)):
            told = printed(capsys, *command, job.parent / f"{act.__name__}{len(more)}", *more)
            assert "--height" in told
            assert not PLACEHOLDER.search(told)


def test_making_a_job_says_keys(
    job: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(trace, "trace", refused)
    told = printed(capsys, "make", job, "-o", job.parent / "made")
    monkeypatch.setattr(trace, "trace", traced)
    told += printed(capsys, "make", job, "-o", job.parent / "made")
    told += printed(capsys, "make", job, "-o", job.parent / "again", "--json")
    told += (job.parent / "made" / "report.html").read_text("utf-8").replace("&#39;", "'")
    assert told.count("'height' in the job file") >= 5
    assert "--height" not in told
    assert not [each[0] for each in PLACEHOLDER.finditer(told) if each[1] in COMMAND]


def test_a_check_says_keys_of_the_job_and_its_own_options(
    job: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    command = "check", job, job.parent / "cut.jpg", "--piece", "strip", "-o", job.parent / "checked"
    monkeypatch.setattr(trace, "trace", refused)
    assert "'height' in the job file" in (of_job := printed(capsys, *command))
    wall = job.parent / "wall.json"
    wall.write_text(outline_json(LINE), "utf-8")
    job.write_text(JOB.replace('photo = "wall.jpg"\nof = "line"', 'file = "wall.json"'), "utf-8")

    def differs(*_: object, **__: object) -> Traced:
        raise ScribeError("height-contradicts", what=ALL, where="cut.jpg", do="correct {height}")

    monkeypatch.setattr(trace, "trace", differs)
    assert "Correct --height" in (of_cut := printed(capsys, *command))
    assert not PLACEHOLDER.search(of_job + of_cut)
    given = {"piece": "strip", "photos": ["cut.jpg"], "gaps": [], "edge": None, "lay": "free",
             "widths": [], "tapes": []}  # fmt: skip
    with pytest.raises(ScribeError) as caught:
        check_for_page(job, given, job.parent / "checked", lambda _: None)
    assert caught.value.do == "correct the height above the sheet"


def test_the_page_says_places(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(trace, "trace", traced)
    found = trace_for_page(job, "wall", job.parent / "out", lambda _: None, lambda _: None)
    monkeypatch.setattr(look, "look", refused)
    monkeypatch.setattr(run, "shows_strips", lambda _: False)
    seen = judged(job.parent / "wall.jpg", sheet_alone(job.parent / "wall.jpg"), lambda _: None)
    refusal = error_json(ScribeError("outline-not-found", what=ALL, where="wall.jpg", do=ALL))
    told = json.dumps([found["advice"], seen, refusal])
    assert told.count("the height at Photos") >= 4
    assert not PLACEHOLDER.search(told)
