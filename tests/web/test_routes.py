"""The routes: what they refuse, and that changes from two sides keep both."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

import scribe.web
from scribe.errors import ScribeError
from scribe.job import FILLER_MM as JOB_FILLER_MM
from scribe.web import intake, jobs, sights, works
from scribe.web.checked_input import check_arguments
from scribe.web.job_folder import JobFolder
from scribe.web.photo_names import named
from scribe.web.refusals import status_of
from scribe.web.view_cut import FILLER_MM

JPEG = b"\xff\xd8\xff\xe0 not really a photo"


def change(page: TestClient, job: dict[str, Any], at: list[Any], to: Any) -> Any:
    return page.patch(
        f"/api/jobs/{job['id']}",
        json={"changes": [{"at": at, "to": to}]},
        headers={"if-match": f'"{job["version"]}"'},
    )


def turned(page: TestClient, job: dict[str, Any], way: str) -> Any:
    """undo or redo, looking at the job as it is now."""
    root = f"/api/jobs/{job['id']}"
    version = page.get(root).json()["version"]
    return page.post(f"{root}/{way}", headers={"if-match": f'"{version}"'})


def kind(answer: Any) -> str:
    return str(answer.json()["error"]["kind"])


def test_a_job_is_a_folder_that_the_command_line_reads(
    page: TestClient, job: dict[str, Any], tmp_path: Path
) -> None:
    assert job["id"] == "alcove-left"
    answer = change(page, job, ["outline", "wall", "height"], 6)
    assert answer.status_code == 200
    text = (tmp_path / "jobs/alcove-left/job.toml").read_text("utf-8")
    assert text == 'name = "Alcove, left"\n\n[outline.wall]\nheight = 6\n'


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


@pytest.mark.parametrize("at", [["outline", "wall"], ["outline", "wall", "x", 0]])
def test_a_change_of_a_place_that_cannot_be(
    page: TestClient, job: dict[str, Any], at: list[Any]
) -> None:
    job = change(page, job, ["outline", "wall", "x"], 5).json()
    answer = change(page, job, [*at, "y", "z"], 1)
    assert kind(answer) == "page-malformed" if len(at) == 4 else answer.status_code == 200


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


def test_a_drawing_waits_for_its_outline(page: TestClient, job: dict[str, Any]) -> None:
    job = change(page, job, ["outline", "wall", "photo"], "photos/001.jpg").json()
    piece = {"name": "infill", "blank": {"length": 100, "width": 60},
             "edge": [{"outline": "wall", "edge": "top"}]}  # fmt: skip
    change(page, job, ["piece", 0], piece)
    answer = page.get(f"/jobs/{job['id']}/pieces/0/drawing.svg")
    assert kind(answer) == "page-outline-old"


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


def test_an_outline_from_a_file_is_not_traced(tmp_path: Path) -> None:
    from scribe.recipes.page.outline import trace_for_page

    (tmp_path / "wall.csv").write_text("x_mm,y_mm,u95_mm\n0,0,0.1\n10,0,0.1\n", "utf-8")
    toml = tmp_path / "job.toml"
    toml.write_text('[outline.wall]\nfile = "wall.csv"\nbuilding = "above"\n', "utf-8")
    with pytest.raises(ScribeError) as refusal:
        trace_for_page(toml, "wall", tmp_path, lambda _: None, lambda _: None)
    assert refusal.value.kind == "page-no-photo"


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
