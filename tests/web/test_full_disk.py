"""A disk that is full at any moment, or a server that dies there, loses nothing.

Every write goes through `scribe.files.write_bytes`, which is made to fail at each of its calls in
turn: with the disk full before anything is written, and with the process dying right after.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from scribe import files
from scribe.errors import ScribeError
from scribe.web import intake, job_folder
from scribe.web.changes import Change, apply
from scribe.web.job_folder import JobFolder
from tests.web.changes import JPEG

OLD, NEW = 6, 7
HEIGHT = ("outline", "wall", "height")


class PowerCutError(Exception):
    """The end of the process, as far as the code can see."""


@pytest.fixture
def fails(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Lets the write number `at` fail: before it, as on a full disk, or right after it."""
    true = files.write_bytes

    def arm(at: int | None, *, after: bool = False) -> None:
        count = 0

        def write(path: Path, content: bytes) -> Path:
            nonlocal count
            count += 1
            if count == at and not after:
                raise ScribeError("output-not-writable", what="full", where=str(path), do="free")
            written = true(path, content)
            if count == at:
                raise PowerCutError
            return written

        for module in (files, job_folder, intake):
            monkeypatch.setattr(module, "write_bytes", write)

    return arm


def begun(folder: Path) -> JobFolder:
    job = JobFolder(folder)
    job.make('name = "alcove"\n')
    apply(job, [Change(HEIGHT, OLD)], job.version)
    return job


@pytest.mark.parametrize("after", [False, True], ids=["full disk", "power cut"])
@pytest.mark.parametrize("at", [1, 2, 3])
def test_a_change_is_made_or_not_and_can_be_made_again(
    tmp_path: Path, fails: Callable[..., None], at: int, *, after: bool
) -> None:
    """A change writes three times: the version, job.toml, the history."""
    job = begun(tmp_path / "job")
    version = job.version
    fails(at, after=after)
    with pytest.raises((ScribeError, PowerCutError)):
        apply(job, [Change(HEIGHT, NEW)], version)
    fails(None)
    again = JobFolder(tmp_path / "job")  # as a server that was started anew sees it
    assert again.table()["outline"]["wall"]["height"] in (OLD, NEW)
    apply(again, [Change(HEIGHT, NEW)], version)  # the browser still knows the old version
    assert again.table()["outline"]["wall"]["height"] == NEW
    seen = set()
    while again.turns()[0]:
        again.turn(-1)
        seen.add(again.table().get("outline", {}).get("wall", {}).get("height"))
    assert {OLD, None} <= seen  # everything that ever was can still be gone back to


@pytest.mark.parametrize("after", [False, True], ids=["full disk", "power cut"])
@pytest.mark.parametrize("at", [1, 2, 3, 4, 5])
def test_a_photo_is_taken_in_or_can_be_sent_again(
    tmp_path: Path, fails: Callable[..., None], at: int, *, after: bool
) -> None:
    """A photo writes five times: itself, the list of photos, and a change of job.toml."""
    job = begun(tmp_path / "job")
    query = {"of": "line", "outline": "wall", "add": "1"}
    first, _ = intake.take_photo(job, JPEG + b"1", query)
    fails(at, after=after)
    with pytest.raises((ScribeError, PowerCutError)):
        intake.take_photo(job, JPEG + b"2", query)
    fails(None)
    again = JobFolder(tmp_path / "job")
    second, _ = intake.take_photo(again, JPEG + b"3", query)
    named = tomllib.loads(again.toml.read_text())["outline"]["wall"]["photo"]
    assert named[0] == f"photos/{first}"
    assert named[-1] == f"photos/{second}"
    assert (again.path / named[0]).read_bytes() == JPEG + b"1"
    assert (again.path / named[-1]).read_bytes() == JPEG + b"3"
    assert all((again.path / each).is_file() for each in named)
