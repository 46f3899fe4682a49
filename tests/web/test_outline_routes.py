"""Outlines of a job on the page: when they are traced, and when again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from scribe.errors import ScribeError
from scribe.web import intake, sights
from scribe.web.job_folder import JobFolder
from scribe.web.photo_names import named
from tests.web.changes import JPEG, change, kind


def test_an_outline_from_nowhere_has_no_line_to_put_right(
    page: TestClient, job: dict[str, Any]
) -> None:
    change(page, job, ["outline", "wall", "photo"], "photos/001.jpg")
    root = f"/api/jobs/{job['id']}/outlines/wall/corrections"
    version = page.get(f"/api/jobs/{job['id']}").json()["version"]
    page.headers["if-match"] = f'"{version}"'
    cut = page.post(root, json={"do": "cut", "at_px": [1, 2], "drop": "end"})
    assert kind(cut) == "page-not-traced"
    ends = page.post(root, json={"do": "ends", "from_px": [1, 2], "to_px": [3, 4]})
    assert kind(ends) == "page-no-sight"


def test_photos_of_one_name_are_told_apart(page: TestClient, job: dict[str, Any]) -> None:
    photos = f"/api/jobs/{job['id']}/photos?of=line&outline=wall&add=1&name=image.jpg"
    page.app.state.works._context = None  # type: ignore[attr-defined]
    page.app.state.works.settle = lambda: None  # type: ignore[attr-defined]
    told = [page.post(photos, content=JPEG).json()["job"]["photos"] for _ in range(3)][-1]
    names = [each["original"] for each in told]
    assert names == ["image.jpg", "image (2).jpg", "image (3).jpg"]
    known = {each["name"]: each for each in told}
    assert intake._unlike("a.jpg", {"a.jpg", *(f"a ({n}).jpg" for n in range(2, 100))}) == (
        "a (100).jpg"
    )
    assert named(known, "002.jpg, 003.jpg: 409.jpg") == "image (2).jpg, image (3).jpg: 409.jpg"


def test_an_outline_from_a_file_is_not_traced(tmp_path: Path) -> None:
    from scribe.recipes.page.outline import trace_for_page

    (tmp_path / "wall.csv").write_text("x_mm,y_mm,u95_mm\n0,0,0.1\n10,0,0.1\n", "utf-8")
    toml = tmp_path / "job.toml"
    toml.write_text('[outline.wall]\nfile = "wall.csv"\nbuilding = "above"\n', "utf-8")
    with pytest.raises(ScribeError) as refusal:
        trace_for_page(toml, "wall", tmp_path, lambda _: None, lambda _: None)
    assert refusal.value.kind == "page-no-photo"


def test_what_is_changed_while_an_outline_is_traced_makes_it_stale(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from scribe.recipes.page import outline as recipe
    from scribe.web import worker

    job = JobFolder(tmp_path)
    run = 'name = "x"\n[outline.wall]\nphoto = ["photos/001.jpg", "photos/002.jpg"]\n'
    job.make(run)
    tape = '[[tape]]\noutline = "wall"\nfrom = "1A"\nto = "2B"\nlength = 600\n'

    def traced(_: Path, __: str, out: Path, *___: object) -> dict[str, Any]:
        out.mkdir(parents=True)
        (out / "outline.json").write_text("{}", "utf-8")
        job.write(run + tape)  # it was typed just then
        return {"advice": [], "lines": [], "sights": [], "judged": {}}

    monkeypatch.setattr(recipe, "trace_for_page", traced)
    worker._traced(job, "wall", lambda _: None)
    known = sights.known(job, "wall")
    assert known is not None
    assert not known["fresh"]
    job.write(run)
    known = sights.known(job, "wall")
    assert known is not None
    assert known["fresh"]


def test_the_last_photo_of_a_run_takes_its_tape_along(
    page: TestClient, job: dict[str, Any]
) -> None:
    photos = f"/api/jobs/{job['id']}/photos"
    assert page.post(f"{photos}?of=line&outline=wall", content=JPEG).status_code == 202
    tapes = [{"outline": "stone", "from": "1A", "to": "8B", "length": 2210},
             {"outline": "wall", "from": "1A", "to": "2B", "length": 600}]  # fmt: skip
    version = page.get(f"/api/jobs/{job['id']}").json()["version"]
    changed = page.patch(
        f"/api/jobs/{job['id']}", headers={"If-Match": f'"{version}"'},
        json={"changes": [{"at": ["tape", n], "to": each} for n, each in enumerate(tapes)]},
    )  # fmt: skip
    assert changed.status_code == 200, changed.json()
    left = page.delete(f"{photos}/001.jpg").json()["toml"]
    assert "wall" not in left.get("outline", {})
    assert left["tape"] == tapes[:1]


def test_a_tape_makes_a_run_traced_again(tmp_path: Path) -> None:
    """What a run's outline depends on has the tape in it; one photo's has not."""
    job = JobFolder(tmp_path)
    job.make(
        '[[tape]]\nfrom = "1A"\nto = "8B"\nlength = 2210\n[outline.wall]\nphoto = ["a", "b"]\n'
        '[outline.sheet]\nphoto = ["a"]\n[outline.other]\nphoto = ["c"]\n'
        '[[tape]]\noutline = "other"\n'
    )
    assert sights.source_key(job, "wall")["tape"] == [{"from": "1A", "to": "8B", "length": 2210}]
    assert "tape" not in sights.source_key(job, "sheet")
    assert sights.source_key(job, "other")["tape"] == [{"outline": "other"}]
