"""A job that comes in as a file is believed in nothing, and leaves nothing when it's refused."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from scribe.web import bundle

TOML = 'name = "Alcove, right"\n'


def archive(files: dict[str, bytes | str], how: int = zipfile.ZIP_DEFLATED) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", how) as out:
        for name, content in files.items():
            out.writestr(name, content)
    return stream.getvalue()


def kind(answer: Any) -> str:
    return str(answer.json()["error"]["kind"])


def nothing_left(root: Path) -> bool:
    return not list((root / "jobs").iterdir())


@pytest.mark.parametrize(
    "name",
    ["../out", "/etc/out", "a/../../out", "a\\b", "C:out", "./job", "a//b", ".bashrc", "a/.b/c",
     ".page/history.json", ".page/versions/000001-x.toml", ".page/works/1.json", "a/b/c/d/e"],
)  # fmt: skip
def test_what_has_no_place_in_a_job_is_left_out(
    page: TestClient, tmp_path: Path, name: str
) -> None:
    answer = page.post("/api/import", content=archive({"job.toml": TOML, name: b"here"}))
    assert answer.status_code == 201
    assert not [p for p in tmp_path.parent.rglob("*") if p.is_file() and p.read_bytes() == b"here"]


@pytest.mark.parametrize(
    "content",
    [
        b"nothing",
        archive({"wall.jpg": b"x"}),  # no job.toml
        archive({"job.toml": TOML, "a": b"x", "a/b": b"y"}),  # a file can't be a folder too
        archive({"job.toml": TOML}, zipfile.ZIP_LZMA),
        archive({"job.toml": TOML, **{f"f{k}": b"" for k in range(bundle.MOST_FILES)}}),
        archive({"job.toml": TOML})[:-30],
    ],
    ids=["no archive", "no job", "clash", "packing", "many", "cut short"],
)
def test_what_is_no_job_is_refused_and_leaves_nothing(
    page: TestClient, tmp_path: Path, content: bytes
) -> None:
    assert kind(page.post("/api/import", content=content)) == "page-import"
    assert nothing_left(tmp_path)


def test_a_bomb_is_refused_by_what_comes_out_of_it(
    page: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A thousandfold archive, and one that says it holds less than it does."""
    monkeypatch.setattr(bundle, "MOST_UNPACKED", 10**6)
    bomb = archive({"job.toml": TOML, "zeros": bytes(2 * 10**6)})
    assert len(bomb) < 5000
    assert kind(page.post("/api/import", content=bomb)) == "page-import"
    small = (2 * 10**6).to_bytes(4, "little")
    assert bomb.count(small) >= 2  # in both headers
    liar = bomb.replace(small, (10).to_bytes(4, "little"))
    assert kind(page.post("/api/import", content=liar)) == "page-import"
    assert nothing_left(tmp_path)


def test_the_page_s_own_notes_are_checked(page: TestClient, tmp_path: Path) -> None:
    """Names in them would become paths."""
    (tmp_path / "jobs/secret.txt").write_text("mine")
    notes = {"../../secret.txt": {}, "001.jpg": {"for": "x", "outline": 5}, "002.jpg": "y"}
    files = {"job.toml": TOML, ".page/photos.json": json.dumps(notes)}
    job = page.post("/api/import", content=archive(files)).json()
    assert [photo["name"] for photo in job["photos"]] == ["001.jpg"]
    kept = json.loads((tmp_path / "jobs" / job["id"] / ".page/photos.json").read_text())
    assert list(kept) == ["001.jpg"]
    assert (kept["001.jpg"]["for"], kept["001.jpg"]["outline"]) == ("check", None)


@pytest.mark.parametrize("key", ["photo", "file", "printer", "camera", "near", "readings"])
def test_no_file_outside_of_the_job_is_opened(page: TestClient, tmp_path: Path, key: str) -> None:
    (tmp_path / "jobs/secret.txt").write_text("mine")
    toml = f"""name = "x"
[outline.wall]
{key} = "../secret.txt"
[[piece]]
name = "p"
"""
    job = page.post("/api/import", content=archive({"job.toml": toml})).json()
    assert kind(page.get(f"/jobs/{job['id']}/pieces/0/drawing.svg")) == "page-outside"


def test_what_went_out_comes_back(page: TestClient, tmp_path: Path) -> None:
    first = page.post("/api/import", content=archive({"job.toml": TOML, "wall.csv": b"x"})).json()
    kept = page.get(f"/jobs/{first['id']}/export")
    assert kept.headers["content-disposition"].endswith('.scribe-job.zip"')
    again = page.post("/api/import", content=kept.content).json()
    assert again["id"] == "alcove-right-2"
    assert (tmp_path / "jobs/alcove-right-2/wall.csv").read_bytes() == b"x"
    assert sorted(p.name for p in (tmp_path / "jobs").iterdir()) == ["alcove-right", again["id"]]
