"""The demo writes over its own work and over nobody else's."""

from __future__ import annotations

from pathlib import Path

import pytest

from scribe.errors import ScribeError
from scribe.recipes import demo


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Stands in for the making of the job, which has its own tests."""

    def make_job(job: Path, out: Path, **_: object) -> None:
        out.mkdir(exist_ok=True)
        (out / "report.html").write_text(f"made of {job.name}")

    monkeypatch.setattr(demo, "make_job", make_job)
    monkeypatch.setattr(demo, "_inputs", lambda: [("job.toml", b"name = 'demo'\n")])


def test_the_demo_runs_twice(tmp_path: Path) -> None:
    folder = tmp_path / "scribe-demo"
    for _ in range(2):
        assert demo.make_demo(folder) == [folder / "made/report.html"]


@pytest.mark.parametrize("name", ["notes.txt", "job.toml", "made/report.html", "made/mine.pdf"])
def test_what_somebody_else_wrote_is_not_touched(tmp_path: Path, name: str) -> None:
    demo.make_demo(tmp_path)
    (tmp_path / name).write_text("mine")
    with pytest.raises(ScribeError) as refusal:
        demo.make_demo(tmp_path)
    assert refusal.value.kind == "demo-folder-in-use"
    assert name in str(refusal.value)
    assert (tmp_path / name).read_text() == "mine"


def test_force_writes_the_demo_s_own_names_and_leaves_the_rest(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine")
    (tmp_path / "job.toml").write_text("mine")
    demo.make_demo(tmp_path, force=True)
    assert (tmp_path / "job.toml").read_text() != "mine"
    assert (tmp_path / "notes.txt").read_text() == "mine"
    with pytest.raises(ScribeError):
        demo.make_demo(tmp_path)


def test_an_interrupted_run_can_be_started_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(_: Path, out: Path, **__: object) -> None:
        out.mkdir()
        (out / "half.svg").write_text("half")
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(demo, "make_job", interrupted)
        with pytest.raises(KeyboardInterrupt):
            demo.make_demo(tmp_path)
    assert tmp_path / "made/report.html" in demo.make_demo(tmp_path)
