"""A job of the command line among the page's: its photos are copied, and nothing is lost."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

JPEG = b"\xff\xd8\xff\xe0 not really a photo, and not the photo %d"
TOML = """# How it was written stays.
name = "hall"

[outline.wall]
photo = "left wall/*"  # from both sides
of = "line"

[outline.ceiling]
photo = ["left wall/1.jpg", "2.jpg"]
of = "edge"
"""


@pytest.fixture
def folder(page: TestClient, tmp_path: Path) -> Path:
    made = tmp_path / "jobs/hall"
    (made / "left wall").mkdir(parents=True)
    for number, name in enumerate(("left wall/1.jpg", "left wall/2.jpg", "2.jpg")):
        (made / name).write_bytes(JPEG % number)
    (made / "job.toml").write_text(TOML, "utf-8")
    assert "Take them in" in page.get("/jobs/hall/photos").text
    assert "no copy of its photos yet" in page.get("/jobs/hall/outline").text
    return made


def named(folder: Path) -> dict[str, Any]:
    toml = tomllib.loads((folder / "job.toml").read_text("utf-8"))
    return {name: each["photo"] for name, each in toml["outline"].items()}


def test_its_photos_are_copied_once_each(page: TestClient, folder: Path) -> None:
    answer = page.post("/api/jobs/hall/take-in")
    assert answer.status_code == 200
    assert named(folder) == {
        "wall": ["photos/001.jpg", "photos/002.jpg"],
        "ceiling": ["photos/001.jpg", "photos/003.jpg"],  # the first one is in both
    }
    assert [(folder / "photos" / f"00{n + 1}.jpg").read_bytes() for n in range(3)] == [
        JPEG % n for n in range(3)
    ]
    assert (folder / "left wall/1.jpg").read_bytes() == JPEG % 0
    assert "# How it was written stays." in (folder / "job.toml").read_text("utf-8")
    job = answer.json()
    assert [photo["original"] for photo in job["photos"]] == ["1.jpg", "2.jpg", "2 (2).jpg"]
    assert {work["of"] for work in job["work"]} == {"wall", "ceiling"}
    shown = page.get("/jobs/hall/photos?outline=ceiling").text
    assert "2 photos of the ceiling" in shown
    assert "Take them in" not in shown
    assert page.post("/api/jobs/hall/take-in").json()["version"] == job["version"]
    undone = page.post("/api/jobs/hall/undo", headers={"if-match": f'"{job["version"]}"'})
    assert undone.status_code == 200
    assert named(folder)["wall"] == "left wall/*"


def test_what_lies_elsewhere_is_not_taken_in(page: TestClient, folder: Path) -> None:
    """A folder's photo that is a link to somebody else's file."""
    outside = folder.parent / "other.jpg"
    outside.write_bytes(JPEG % 7)
    (folder / "left wall/3.jpg").symlink_to(outside)
    refused = page.post("/api/jobs/hall/take-in")
    assert refused.json()["error"]["kind"] == "page-outside"
    assert not list((folder / "photos").glob("*.jpg"))
    assert named(folder)["wall"] == "left wall/*"
