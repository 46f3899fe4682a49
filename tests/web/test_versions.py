"""A job's versions: changes from two sides keep both, undo, and the way out and back."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.web.changes import change, kind, turned


def test_changes_from_two_sides_are_both_kept(page: TestClient, job: dict[str, Any]) -> None:
    piece = {"name": "infill", "blank": {"length": 100, "width": 60}, "edge": [{"edge": "top"}]}
    job = change(page, job, ["piece", 0], piece).json()
    first = change(page, job, ["piece", 0, "blank", "length"], 110)
    assert not first.json()["merged"]
    second = change(page, job, ["piece", 0, "edge", 0, "clearance"], 0.5)
    assert second.json()["merged"]
    made = second.json()["toml"]["piece"][0]
    assert (made["blank"]["length"], made["edge"][0]["clearance"]) == (110, 0.5)
    third = change(page, job, ["piece", 0, "blank", "length"], 120)
    assert third.status_code == 409
    (conflict,) = third.json()["conflicts"]
    assert (conflict["yours"], conflict["theirs"]) == (120, 110)


def test_undo_and_redo_put_one_file_back(page: TestClient, job: dict[str, Any]) -> None:
    assert kind(turned(page, job, "undo")) == "page-no-undo"
    change(page, job, ["outline", "wall", "height"], 6)
    assert turned(page, job, "undo").json()["toml"] == {"name": "Alcove, left"}
    assert turned(page, job, "redo").json()["toml"]["outline"]["wall"]["height"] == 6


def test_undo_takes_back_only_what_was_looked_at(page: TestClient, job: dict[str, Any]) -> None:
    """Another window's change, which this one hasn't seen, is not undone from here."""
    mine = change(page, job, ["outline", "wall", "height"], 6).json()
    change(page, mine, ["name"], "theirs")
    stale = {"if-match": f'"{mine["version"]}"'}
    answer = page.post(f"/api/jobs/{job['id']}/undo", headers=stale)
    assert (answer.status_code, answer.json()["conflicts"]) == (409, [])
    assert answer.json()["job"]["name"] == "theirs"
    assert page.post(f"/api/jobs/{job['id']}/undo").status_code == 428
    # A correction of an outline that nobody touched goes through all the same.
    cut = {"do": "cut", "at_px": [1, 2], "drop": "end"}
    path = f"/api/jobs/{job['id']}/outlines/wall/corrections"
    assert kind(page.post(path, json=cut, headers=stale)) == "page-not-traced"
    assert page.post(path, json=cut, headers={"if-match": f'"{job["version"]}"'}).status_code == 409


def test_what_was_written_outside_is_a_version_too(
    page: TestClient, job: dict[str, Any], tmp_path: Path
) -> None:
    path = tmp_path / "jobs/alcove-left/job.toml"
    path.write_text('# mine\nname = "renamed"\n', "utf-8")
    now = page.get(f"/api/jobs/{job['id']}").json()
    assert (now["name"], now["undo"]) == ("renamed", True)
    assert turned(page, job, "undo").json()["name"] == "Alcove, left"
    path.write_text("name = [", "utf-8")
    assert kind(page.get(f"/api/jobs/{job['id']}")) == "page-job-damaged"


def test_a_job_goes_out_and_comes_back(page: TestClient, job: dict[str, Any]) -> None:
    change(page, job, ["outline", "wall", "height"], 6)
    kept = page.get(f"/jobs/{job['id']}/export").content
    again = page.post("/api/import", content=kept)
    assert again.status_code == 201
    assert again.json()["toml"]["outline"]["wall"]["height"] == 6
    assert again.json()["id"] != job["id"]


@pytest.mark.parametrize("name", ["../out.toml", "/etc/out", "a/../../out", "a\\b"])
def test_an_import_never_climbs_out(page: TestClient, tmp_path: Path, name: str) -> None:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("job.toml", 'name = "x"')
        archive.writestr(name, "here")
    assert page.post("/api/import", content=stream.getvalue()).status_code == 201
    assert not [p for p in tmp_path.parent.rglob("*") if p.is_file() and p.read_bytes() == b"here"]


@pytest.mark.parametrize("at", [["outline", "wall"], ["outline", "wall", "x", 0]])
def test_a_change_of_a_place_that_cannot_be(
    page: TestClient, job: dict[str, Any], at: list[Any]
) -> None:
    job = change(page, job, ["outline", "wall", "x"], 5).json()
    answer = change(page, job, [*at, "y", "z"], 1)
    assert kind(answer) == "page-malformed" if len(at) == 4 else answer.status_code == 200
