"""Worker processes: what they return, what they may begin, and that they end with it."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from scribe.errors import ScribeError
from scribe.web.works import Works, ended

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="bounds and groups are POSIX's")


def shared_out(count: int) -> list[int]:
    """As a run of photos does: over processes of its own."""
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    with ProcessPoolExecutor(2, get_context("fork")) as pool:
        return list(pool.map(abs, range(-count, 0)))


def refused() -> None:
    raise ScribeError("some-kind", what="no", where="here", do="do")


def greedy() -> int:
    return len(bytearray(7 * 2**30))  # more than the 6 GiB of address space that it may have


def gone() -> None:
    os._exit(9)


def lasting(note: str) -> None:
    child = subprocess.Popen(["sleep", "60"])
    Path(note).write_text(f"{os.getpid()} {child.pid}")
    child.wait()


@pytest.fixture(scope="module")
def works() -> Works:
    return Works()


def test_a_worker_may_have_workers(works: Works) -> None:
    assert works.call(shared_out, 4) == [4, 3, 2, 1]


@pytest.mark.parametrize(
    ("act", "kind"), [(refused, "some-kind"), (greedy, "page-too-much"), (gone, "page-too-much")]
)
def test_what_goes_wrong_in_a_worker_comes_back(
    works: Works, act: Callable[[], object], kind: str
) -> None:
    with pytest.raises(ScribeError) as refusal:
        works.call(act)
    assert refusal.value.kind == kind


def test_a_worker_ends_with_what_it_began(works: Works, tmp_path: Path) -> None:
    from scribe.web.worker import answering

    note = tmp_path / "pids"
    here, there = works._context.Pipe(duplex=False)
    process = works._process(answering, there, lasting, (str(note),))
    process.start()
    there.close()
    until = time.monotonic() + 20.0
    while not (note.is_file() and len(note.read_text().split()) == 2):
        assert time.monotonic() < until
        time.sleep(0.02)
    pids = [int(pid) for pid in note.read_text().split()]
    ended(process)
    here.close()
    assert not process.is_alive()
    while time.monotonic() < until and any(alive(pid) for pid in pids):
        time.sleep(0.02)
    assert not any(alive(pid) for pid in pids)


def alive(pid: int) -> bool:
    """Whether it runs; one that ended and whom nobody has asked yet does not."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


def test_a_lens_is_named_by_every_outline_from_photos(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where too few photos are there it says so; a file that was learnt is named, the newest."""
    from scribe.web import intake, worker
    from scribe.web.job_folder import JobFolder

    job = JobFolder(tmp_path)
    job.make('[outline.wall]\nphoto = "photos/001.jpg"\n\n[outline.floor]\nfile = "floor.json"\n')
    monkeypatch.setattr(worker, "_limited", lambda: None)
    work = {"id": "1", "do": "camera", "of": "", "said": [], "state": "waiting", "error": None,
            "arguments": {"photos": []}}  # fmt: skip
    worker.run(tmp_path, work)
    told = job.kept("works/1.json")
    assert (told["state"], told["error"]["kind"]) == ("refused", "camera-few-photos")
    for number in (9, 10):
        (tmp_path / f"camera-{number}.toml").touch()
    intake.name_newest(job, "camera")
    outlines = job.table()["outline"]
    assert outlines["wall"]["camera"] == "camera-10.toml"
    assert "camera" not in outlines["floor"]
