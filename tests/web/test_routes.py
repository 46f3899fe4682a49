"""The routes: what they refuse, and what reaches the recipes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

import scribe.web
from scribe.errors import ScribeError
from scribe.job import FILLER_MM as JOB_FILLER_MM
from scribe.web import intake, jobs, works
from scribe.web.checked_input import check_arguments
from scribe.web.job_folder import JobFolder
from scribe.web.refusals import status_of
from scribe.web.view_cut import FILLER_MM
from tests.web.changes import JPEG, change, kind


def test_a_job_is_a_folder_that_the_command_line_reads(
    page: TestClient, job: dict[str, Any], tmp_path: Path
) -> None:
    assert job["id"] == "alcove-left"
    answer = change(page, job, ["outline", "wall", "height"], 6)
    assert answer.status_code == 200
    text = (tmp_path / "jobs/alcove-left/job.toml").read_text("utf-8")
    assert text == 'name = "Alcove, left"\n\n[outline.wall]\nheight = 6\n'


@pytest.mark.parametrize(
    ("method", "path", "content", "expected"),
    [
        ("POST", "/api/jobs", {"name": ""}, "page-name"),
        ("POST", "/api/jobs", [], "page-malformed"),
        ("POST", "/api/import", b"nothing", "page-import"),
        ("GET", "/api/jobs/nope", None, "page-no-job"),
        ("GET", "/api/jobs/..%2f..", None, "page-not-there"),
        ("PATCH", "/api/jobs/J", {"changes": []}, "page-no-version"),
        ("POST", "/api/jobs/J/photos?of=gauge&outline=wall", b"text", "page-not-a-photo"),
        ("POST", "/api/jobs/J/photos?of=x&outline=wall", JPEG, "page-value"),
        ("POST", "/api/jobs/J/photos?of=line&outline=", JPEG, "page-name"),
        ("DELETE", "/api/jobs/J/photos/009.jpg", None, "page-no-photo-there"),
        ("GET", "/api/jobs/J/outlines/wall/sight", None, "page-no-sight"),
        ("POST", "/api/jobs/J/outlines/wall/corrections", {"do": "cut"}, "page-no-outline"),
        ("POST", "/api/jobs/J/works", {"do": "dance"}, "page-malformed"),
        ("GET", "/api/jobs/J/works/none", None, "page-no-work"),
        ("GET", "/jobs/J/pieces/3/drawing.svg", None, "page-no-file"),
    ],
)
def test_what_makes_no_sense_is_refused(
    page: TestClient, job: dict[str, Any], method: str, path: str, content: Any, expected: str
) -> None:
    body = {"content": content} if isinstance(content, bytes) else {"json": content}
    answer = page.request(method, path.replace("/J", f"/{job['id']}"), **body)
    assert kind(answer) == expected
    assert 400 <= answer.status_code < 500


def test_a_refusal_is_a_page_for_people(page: TestClient) -> None:
    answer = page.get("/target.pdf", params={"form": "round"})
    assert answer.status_code == status_of(ScribeError("page-target", what="", where="", do=""))
    assert "There is no such sheet" in answer.text


def test_a_drawing_waits_for_its_outline(page: TestClient, job: dict[str, Any]) -> None:
    job = change(page, job, ["outline", "wall", "photo"], "photos/001.jpg").json()
    piece = {"name": "infill", "blank": {"length": 100, "width": 60},
             "edge": [{"outline": "wall", "edge": "top"}]}  # fmt: skip
    change(page, job, ["piece", 0], piece)
    answer = page.get(f"/jobs/{job['id']}/pieces/0/drawing.svg")
    assert kind(answer) == "page-outline-old"


def test_bounds_hold(
    page: TestClient, job: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    photos = f"/api/jobs/{job['id']}/photos?of=line&outline=wall"
    monkeypatch.setattr(intake, "MOST_PHOTOS", 1)
    assert page.post(photos, content=JPEG).status_code == 202
    many = page.post(f"{photos}&add=1&name=one-more.jpg", content=JPEG)
    assert kind(many) == "page-too-many-photos"
    told = many.json()["error"]
    assert (told["where"], told["what"][:27]) == ("one-more.jpg", "the job alcove-left has 1 p")
    assert page.post(f"{photos}&for=check", content=JPEG).status_code == 202
    monkeypatch.setattr(intake, "_MOST_KEPT", 2)
    assert (
        "begin another job" in page.post(f"{photos}&for=check", content=JPEG).json()["error"]["do"]
    )
    monkeypatch.setattr(jobs, "MOST_JOBS", 1)
    assert kind(page.post("/api/jobs", json={"name": "more"})) == "page-too-many-jobs"
    monkeypatch.setattr(works, "_WAITING", 0)
    answer = page.post(f"/api/jobs/{job['id']}/works", json={"do": "make"})
    assert (kind(answer), answer.status_code) == ("page-busy", 429)
    large = page.post("/api/jobs", content=b" " * (2**20 + 1))
    assert (kind(large), large.status_code) == ("page-too-large", 413)


def test_work_that_needs_too_much_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from scribe.web import worker

    def greedy(*_: object) -> None:
        raise MemoryError

    folder = JobFolder(tmp_path)
    folder.make('name = "x"\n')
    monkeypatch.setattr(worker, "_limited", lambda: None)
    monkeypatch.setitem(worker._ACTS, "make", greedy)
    work = {"id": "1", "do": "make", "of": "", "said": [], "state": "waiting", "error": None}
    worker.run(tmp_path, work)
    told = folder.kept("works/1.json")
    assert (told["state"], told["error"]["kind"]) == ("refused", "page-too-much")


def test_what_is_told_of_a_check_reaches_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from scribe.recipes import check
    from scribe.recipes.page import cut
    from scribe.tape import Cross, TapeReading

    given: list[check.CheckSource] = []

    def seen(source: check.CheckSource, *_: object) -> None:
        given.append(source)
        raise ScribeError("some-kind", what="no", where="here", do="do")

    monkeypatch.setattr(check, "check", seen)
    folder = JobFolder(tmp_path)
    folder.make('name = "x"\n')
    folder.keep("photos.json", {"001.jpg": {}})
    body = {"do": "check", "piece": "p", "photos": ["001.jpg"], "tapes": [["1A", "8b", "2,2 m"]]}
    told = body | {"filler": "1/16 in", "shift": 0, "turn": 0.4, "height": "2 cm"}
    for each in (body, told):
        _, _, arguments = check_arguments(folder, each)
        with pytest.raises(ScribeError):
            cut.check_for_page(folder.toml, arguments, tmp_path / "out", lambda _: None)
    plain, full = given
    assert plain.tapes == full.tapes == (TapeReading(Cross(1, "A"), Cross(8, "B"), 2200.0),)
    assert (full.filler, full.along, full.turn, full.height) == (25.4 / 16, 0.0, 0.4, 20.0)
    # What the form says of fields that are left empty is what the check then takes.
    form = (Path(scribe.web.__file__).parent / "templates/cut.html").read_text("utf-8")
    assert f"empty: {plain.along:g} mm; 0 where it is trapped" in form
    assert f"empty: {plain.turn:g} mm; 0 where the visible edge" in form
    assert (plain.filler, FILLER_MM) == (None, JOB_FILLER_MM)
    with pytest.raises(ScribeError, match="filler"):
        check_arguments(folder, told | {"filler": "a bit"})


def test_ticks_hold_as_long_as_their_table() -> None:
    from scribe.web.worker import holding

    ticks = {"infill": {"top": [0.0]}, "foot": {"left": [10.0]}}
    before = {"infill": b"0.00,2.9", "foot": b"10.00,1.0"}
    assert holding(ticks, before, before) == ticks
    assert holding(ticks, before, before | {"foot": b"10.00,1.4"}) == {"infill": {"top": [0.0]}}


@pytest.mark.parametrize("path", ["/api/jobs", "/"])
def test_a_fault_of_ours_is_said_as_one(
    page: TestClient, path: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(_: object) -> None:
        raise KeyError("inside")

    monkeypatch.setattr(jobs.Jobs, "listed", fails)
    quiet = TestClient(page.app, str(page.base_url), raise_server_exceptions=False)
    quiet.cookies = page.cookies
    answer = quiet.get(path)
    assert answer.status_code == 500
    assert "a fault in scribe itself" in answer.text
    assert "inside" not in answer.text
    assert "default-src 'none'" in answer.headers["content-security-policy"]


def test_a_lens_is_taken_over_from_another_job(
    page: TestClient, job: dict[str, Any], tmp_path: Path
) -> None:
    """A file of this job's own, which its outlines name; a job that knows none lends none."""
    change(page, job, ["outline", "wall"], {"photo": "photos/001.jpg", "of": "line"})
    other = page.post("/api/jobs", json={"name": "Hall"}).json()
    root = f"/api/jobs/{job['id']}"
    assert kind(page.post(f"{root}/lens", json={"from": other["id"]})) == "page-no-lens"
    (tmp_path / "jobs/hall/camera-1.toml").write_text("learnt", "utf-8")
    assert "Hall" in page.get(f"/jobs/{job['id']}/lens").text
    taken = page.post(f"{root}/lens", json={"from": other["id"]}).json()
    assert taken["toml"]["outline"]["wall"]["camera"] == "camera-1.toml"
    assert (tmp_path / "jobs/alcove-left/camera-1.toml").read_text("utf-8") == "learnt"
    assert "The lens is known." in page.get(f"/jobs/{job['id']}/lens").text
    assert page.get(f"/jobs/{job['id']}/lens.svg").status_code == 404
