"""Whatever is sent, the page answers with a refusal and never with a fault, and no job is harmed.

Values come from hypothesis with a fixed seed; `--hypothesis-seed` and more examples look further.
"""

from __future__ import annotations

import io
import json
import tomllib
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from scribe.errors import ScribeError
from scribe.web.checked_input import check_arguments
from scribe.web.job_folder import JobFolder
from tests.web.test_bundle import archive

EXAMPLES = settings(
    max_examples=25,
    deadline=None,
    database=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**70), 2**70) | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=8,
)
# Keys that mean something are tried often, or nothing behind the first check is ever reached.
KEYS = st.sampled_from(["outline", "piece", "print", "tape", "name", "wall", "photo", "edge",
                        "blank", "file", "height", "of", "printer"])  # fmt: skip
AT = st.lists(KEYS | st.integers(-1, 3) | st.text(max_size=4), max_size=5)
CHANGES = st.fixed_dictionaries(
    {"changes": st.lists(st.fixed_dictionaries({"at": AT, "to": PLAIN}), max_size=3)}
)
POINT = st.lists(st.floats() | st.integers(-9, 9000), min_size=2, max_size=3) | PLAIN
CORRECTION = st.fixed_dictionaries(
    {"do": st.sampled_from(["drag", "cut", "ends", "near", "forget"]) | PLAIN},
    optional={
        "from_px": POINT, "to_px": POINT, "at_px": POINT, "px_shown": PLAIN,
        "drop": st.sampled_from(["start", "end"]), "points_px": st.lists(POINT, max_size=4),
    },
)  # fmt: skip
TICK = st.fixed_dictionaries(
    {"piece": st.text(max_size=9) | PLAIN, "edge": st.sampled_from(["top", "x"]) | PLAIN,
     "station": PLAIN | st.floats(), "done": st.booleans() | PLAIN}
)  # fmt: skip
WORK = st.fixed_dictionaries(
    {"do": st.sampled_from(["trace", "check", "look", "dance"]) | PLAIN},
    optional={"outline": PLAIN, "piece": PLAIN, "photos": PLAIN | st.lists(st.text(max_size=9)),
              "edge": PLAIN, "height": PLAIN | st.floats()},
)  # fmt: skip
LENGTH = st.floats() | st.integers(-9, 9000) | st.sampled_from(["2 3/8 in", "1,5", "m"]) | PLAIN
PAIR = st.lists(LENGTH, min_size=2, max_size=2)
READING = st.lists(st.sampled_from(["1A", "8B", "2210.5"]) | PLAIN, min_size=2, max_size=4)
CUT = st.fixed_dictionaries(
    {"do": st.just("check"), "piece": st.just("p") | PLAIN,
     "gaps": st.lists(PAIR, max_size=3) | PLAIN},
    optional={"photos": PLAIN, "edge": st.just("top") | PLAIN, "height": LENGTH,
              "filler": LENGTH, "shift": LENGTH, "turn": LENGTH,
              "tapes": st.lists(READING, max_size=2) | PLAIN,
              "lay": st.sampled_from(["free", "ends", "piece"]) | PLAIN,
              "widths": st.lists(PAIR, max_size=3) | PLAIN},
)  # fmt: skip
WORDS = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
PLACES = ("print", "photos", "outline", "piece", "cut")
JOB_FILE = """name = "x"
[outline.wall]
photo = "photos/001.jpg"
of = "line"
[[piece]]
name = "p"
"""


@pytest.fixture
def busy(page: TestClient, tmp_path: Path) -> Iterator[tuple[TestClient, str]]:
    """A job with something in it; no worker is started: what they refuse is tested elsewhere."""
    app: Any = page.app
    app.state.works._context = None
    answer = page.post("/api/import", content=archive({"job.toml": JOB_FILE}))
    ident = answer.json()["id"]
    yield page, f"/api/jobs/{ident}"
    tomllib.loads((tmp_path / "jobs" / ident / "job.toml").read_text("utf-8"))  # still whole


def sound(answer: Any) -> None:
    """Done, or a refusal with its sentence; below 500 in any case."""
    assert answer.status_code < 500
    if answer.status_code >= 400 and answer.headers["content-type"] == "application/json":
        assert answer.json()["error"]["sentence"]
    assert answer.headers["x-content-type-options"] == "nosniff"


def sent(page: TestClient, method: str, path: str, body: Any) -> Any:
    """With the job's version of now; NaN and infinities go as Python writes them."""
    job = path.split("/")[3]
    version = page.get(f"/api/jobs/{job}").json()["version"]
    headers = {"if-match": f'"{version}"', "content-type": "application/json"}
    return page.request(method, path, content=json.dumps(body), headers=headers)


@seed(7)
@EXAMPLES
@given(body=CHANGES | PLAIN, place=st.sampled_from(PLACES))
def test_changes(busy: tuple[TestClient, str], body: Any, place: str) -> None:
    page, job = busy
    sound(sent(page, "PATCH", job, body))
    assert page.get(job).status_code == 200  # whatever was taken in can be shown
    assert page.get(f"{job.removeprefix('/api')}/{place}").status_code == 200


@seed(7)
@EXAMPLES
@given(body=CORRECTION, outline=st.sampled_from(["wall", "x"]) | WORDS)
def test_corrections(busy: tuple[TestClient, str], body: Any, outline: str) -> None:
    page, job = busy
    sound(sent(page, "POST", f"{job}/outlines/{_quoted(outline)}/corrections", body))


@seed(7)
@EXAMPLES
@given(tick=TICK | PLAIN, work=WORK | PLAIN, bars=PLAIN)
def test_ticks_work_and_bars(busy: tuple[TestClient, str], tick: Any, work: Any, bars: Any) -> None:
    page, job = busy
    sound(sent(page, "POST", f"{job}/ticks", tick))
    sound(sent(page, "POST", f"{job}/printer", bars))
    sound(sent(page, "POST", f"{job}/printer", {"x": str(bars)[:9], "y": "150"}))
    if not (isinstance(work, dict) and work.get("do") in ("trace", "make", "check", "camera")):
        sound(sent(page, "POST", f"{job}/works", work))


@seed(7)
@EXAMPLES
@given(body=CUT)
def test_what_is_said_of_a_cut(busy: tuple[TestClient, str], tmp_path: Path, body: Any) -> None:
    job = JobFolder(tmp_path / "jobs" / busy[1].rsplit("/", 1)[1])
    try:
        _, piece, arguments = check_arguments(job, body)
    except ScribeError:
        return
    assert piece == body["piece"]
    assert arguments["lay"] in ("free", "ends")
    assert all(len(pair) == 2 for pair in (*arguments["gaps"], *arguments["widths"]))
    told = {"height", "filler", "shift", "turn"} & set(arguments)
    assert all(isinstance(arguments[key], float) and arguments[key] >= 0 for key in told)
    json.dumps(arguments, allow_nan=False)


@seed(7)
@EXAMPLES
@given(path=st.lists(WORDS, max_size=5), query=st.dictionaries(WORDS, WORDS, max_size=3))
def test_addresses(busy: tuple[TestClient, str], path: list[str], query: dict[str, str]) -> None:
    page, job = busy
    parts = "/".join(_quoted(part) for part in path)
    for start in ("/", "/static/", "/jobs/", f"{job}/", f"{job.removeprefix('/api')}/made/"):
        for method in ("GET", "DELETE"):
            url = f"{page.base_url}{start}{parts}"
            sound(page.request(method, url, params=query | {"x": "1"}))
    sound(page.get("/target.pdf", params={"paper": query.get("", "x"), "form": "window"}))


@seed(7)
@EXAMPLES
@given(
    query=st.fixed_dictionaries(
        {"of": st.sampled_from(["gauge", "line", "edge"]) | WORDS, "outline": WORDS},
        optional={"name": WORDS, "height": WORDS, "add": WORDS, "for": WORDS},
    ),
    data=st.binary(max_size=40),
)
def test_photos(busy: tuple[TestClient, str], query: dict[str, str], data: bytes) -> None:
    page, job = busy
    sound(page.post(f"{job}/photos", params=query, content=data))


@seed(7)
@EXAMPLES
@given(at=st.integers(0, 10**6), put=st.binary(min_size=1, max_size=6), name=WORDS)
def test_imports(busy: tuple[TestClient, str], at: int, put: bytes, name: str) -> None:
    page, _ = busy
    page.app.state.jobs.refuse_more = lambda: None  # type: ignore[attr-defined]
    whole = bytearray(archive({"job.toml": JOB_FILE, f"{name}.csv": "1,2"}))
    at %= len(whole)
    whole[at : at + len(put)] = put
    answer = page.post("/api/import", content=bytes(whole))
    sound(answer)
    if answer.status_code == 201:
        assert zipfile.is_zipfile(io.BytesIO(whole))
        sound(page.get(f"/api/jobs/{answer.json()['id']}"))


NUMBERS = st.lists(st.floats() | st.integers(-9, 9000), max_size=3)
SIGHT = st.fixed_dictionaries(
    {"photo": st.just("001.jpg") | PLAIN, "size_px": st.just([40, 30]) | PLAIN,
     "outline_px": st.lists(NUMBERS, max_size=3) | PLAIN, "first": st.just(0) | PLAIN,
     "grid_mm": st.just([[[0.0, 0.0]] * 33] * 33) | PLAIN}
)  # fmt: skip
SIGHTS = st.fixed_dictionaries(
    {"sights": st.lists(SIGHT, max_size=2) | PLAIN, "corrected": st.booleans() | PLAIN,
     "source": st.just({"photo": "photos/001.jpg"}) | PLAIN, "traced": st.just("") | PLAIN,
     "measured": st.lists(st.booleans(), max_size=3) | PLAIN, "u95_mm": NUMBERS | PLAIN,
     "lines": st.just([]) | PLAIN, "advice": st.just([]) | PLAIN, "steps": st.just([]) | PLAIN,
     "table": st.just([]) | PLAIN},
    optional={"photo_table": PLAIN, "by_hand": PLAIN},
)  # fmt: skip


@seed(7)
@EXAMPLES
@given(sights=SIGHTS | PLAIN, photo=PLAIN, photos=PLAIN, body=CORRECTION)
def test_notes_that_are_brought_in(
    busy: tuple[TestClient, str], sights: Any, photo: Any, photos: Any, body: Any
) -> None:
    page, _ = busy
    page.app.state.jobs.refuse_more = lambda: None  # type: ignore[attr-defined]
    notes = {"sights/wall.json": sights, "photos/001.jpg.json": photo, "photos.json": photos}
    files = {f".page/{name}": json.dumps(content) for name, content in notes.items()}
    job = page.post("/api/import", content=archive({"job.toml": JOB_FILE} | files)).json()["href"]
    for path in (f"/api{job}", f"{job}/outline", f"{job}/photos", f"/api{job}/outlines/wall/sight"):
        sound(page.get(path))
    sound(sent(page, "POST", f"/api{job}/outlines/wall/corrections", body))


def _quoted(part: str) -> str:
    from urllib.parse import quote

    return quote(part, safe="")
