"""A whole job from outlines on file: what is written, what is refused, and that nothing is lost."""

from __future__ import annotations

import csv
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import svgelements

from scribe.errors import ScribeError
from scribe.outline import Outline
from scribe.outline_file import outline_csv, outline_json
from scribe.recipes import make
from scribe.recipes.made import MakeResult, result_json
from scribe.recipes.make import make_job

JOB = """\
name = "alcove"

[outline.wall]
file = "wall.json"

[outline.ceiling]
file = "ceiling.csv"
building = "above"

[[piece]]
name = "infill"
blank = { length = 600, width = 60, thickness = 18 }

[[piece.edge]]
outline = "wall"
edge = "top"
minimum_width = 40

[[piece]]
name = "top rail"
blank = { length = 500, width = "8 cm" }

[[piece.edge]]
outline = "ceiling"
edge = "top"
clearance = 2
"""
FILES = {
    *(f"{name}{end}" for name in ("infill", "top rail") for end in (".svg", ".pdf")),
    *(f"{name}{end}" for name in ("infill", "top rail") for end in ("-mirrored.pdf", "-marks.pdf")),
    *(f"{name}-remove.csv" for name in ("infill", "top rail")),
    "report.html",
}


def job_in(folder: Path) -> Path:
    # The wall falls 6 mm over 600 mm; the ceiling is level.
    wall = Outline(np.array([[0.0, 0], [300, -3], [600, -6]]), np.full(3, 0.1), "left")
    ceiling = Outline(np.array([[0.0, 0], [500, 0]]), np.full(2, 0.2), "left")
    (folder / "wall.json").write_text(outline_json(wall))
    (folder / "ceiling.csv").write_text(outline_csv(ceiling))
    (folder / "job.toml").write_text(JOB)
    return folder / "job.toml"


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return job_in(tmp_path)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> MakeResult:
    """The job made once, for those who only read what was written: in its folder `made`."""
    folder = tmp_path_factory.mktemp("job")
    return make_job(job_in(folder), folder / "made")


def folder_of(made: MakeResult) -> Path:
    return made.written[0].parent


def refusal(job: Path, out: Path, **more: bool) -> ScribeError:
    with pytest.raises(ScribeError) as caught:
        make_job(job, out, **more)
    return caught.value


def test_every_file_of_the_contract_is_written(made: MakeResult, job: Path, tmp_path: Path) -> None:
    assert {path.name for path in folder_of(made).iterdir()} == FILES
    assert {path.name for path in made.written} == FILES
    out = tmp_path / "made"
    out.mkdir()
    (out / "infill.pdf").write_text("mine")
    make_job(job, out, dxf=True, force=True)
    assert {path.name for path in out.iterdir()} == FILES | {"infill.dxf", "top rail.dxf"}


def test_the_table_says_what_the_wall_asks_for(made: MakeResult) -> None:
    with (folder_of(made) / "infill-remove.csv").open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert list(rows[0])[:4] == ["station_mm", "remove_mm", "u95_mm", "width_left_mm"]
    by_station = {round(float(row["station_mm"])): row for row in rows}
    # 6 mm over 600 mm: s / 100 at station s, within the table's own rounding.
    for station in (0, 150, 300, 450, 600):
        row = by_station[station]
        assert float(row["remove_mm"]) == pytest.approx(station / 100, abs=0.051)
        assert float(row["width_left_mm"]) == pytest.approx(60 - station / 100, abs=0.051)
        assert float(row["u95_mm"]) == pytest.approx(0.2, abs=0.051)  # U = 2 u, GUM 6.2


def test_the_drawing_is_full_size(made: MakeResult) -> None:
    drawing = svgelements.SVG.parse(str(folder_of(made) / "infill.svg"), ppi=25.4)  # 1 px = 1 mm
    ids = {element.id for element in drawing.elements() if element.id}
    assert {"cut", "blank", "waste", "stations", "labels"} <= ids
    blank = next(e for e in drawing.elements() if e.id == "blank")
    x0, y0, x1, y1 = blank.bbox()
    assert (x1 - x0, y1 - y0) == pytest.approx((600.0, 60.0), abs=0.01)


def test_the_key_figures_are_told(made: MakeResult) -> None:
    content = json.loads(result_json(made))
    infill = content["pieces"][0]
    assert infill["name"] == "infill"
    # 600 mm and 10 mm beyond both ends, over 267 mm a sheet (A4 lying): three.
    assert (infill["sheets"], infill["sheets_saved"]) == (3, 0)
    assert 0.05 < infill["on_paper_u95_mm"] < 0.5
    (edge,) = infill["edges"]
    assert edge["most"]["station_mm"] == 600.0
    assert edge["most"]["remove_mm"] == pytest.approx(6.0, abs=0.0011)  # rounded down
    assert edge["most"]["u95_mm"] == pytest.approx(0.2, abs=0.001)
    assert edge["least"]["remove_mm"] == pytest.approx(0.0, abs=0.001)
    assert edge["narrowest_mm"] == pytest.approx(54.0, abs=0.001)
    assert set(infill["files"]) == {name for name in FILES if name.startswith("infill")}


def test_two_runs_write_the_same_bytes(job: Path, tmp_path: Path) -> None:
    for name in ("one", "two"):
        make_job(job, tmp_path / name, dxf=True)
    for path in (tmp_path / "one").iterdir():
        assert path.read_bytes() == (tmp_path / "two" / path.name).read_bytes(), path.name


def test_what_is_there_is_refused_before_any_work(job: Path, tmp_path: Path) -> None:
    out = tmp_path / "made"
    out.mkdir()
    (out / "infill.pdf").write_text("mine")
    assert refusal(job, out).kind == "output-exists"
    assert (out / "infill.pdf").read_text() == "mine"
    make_job(job, out, force=True)
    assert (out / "infill.pdf").read_bytes().startswith(b"%PDF")


def test_one_piece_that_does_not_fit_leaves_everything_as_it_was(
    made: MakeResult, job: Path, tmp_path: Path
) -> None:
    out = shutil.copytree(folder_of(made), tmp_path / "made")
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    job.write_text(JOB.replace("length = 500", "length = 700"))
    error = refusal(job, out, force=True)
    assert error.kind == "outline-too-short"
    assert "piece top rail" in error.where
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


def test_an_interrupted_drawing_leaves_everything_as_it_was(
    made: MakeResult, job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = shutil.copytree(folder_of(made), tmp_path / "made")
    before = {path.name: path.read_bytes() for path in out.iterdir()}

    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(make, "_render", stop)
    with pytest.raises(KeyboardInterrupt):
        make_job(job, out, force=True)
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


def test_progress_is_told_in_order(job: Path, tmp_path: Path) -> None:
    said: list[str] = []
    make_job(job, tmp_path / "made", progress=said.append)
    assert said[0] == "reading wall.json"
    assert "fitting top rail" in said


def test_an_outline_that_no_piece_takes_stops_no_other(job: Path, tmp_path: Path) -> None:
    (tmp_path / "floor.json").write_text("{}")
    spare = '[outline.floor]\nfile = "floor.json"\n\n[outline.wall]'
    job.write_text(JOB.replace("[outline.wall]", spare))
    assert "floor.json" in refusal(job, tmp_path / "out").where
    made = make_job(job, tmp_path / "out", needed=True)
    assert [piece.name for piece in made.pieces] == ["infill", "top rail"]


def test_a_name_that_no_sheet_can_show_is_told(job: Path, tmp_path: Path) -> None:
    """The fonts of every PDF reader lack Cyrillic; they have an umlaut."""

    def told(name: str) -> bool:
        job.write_text(JOB.replace('"infill"', f'"{name}"'), "utf-8")
        made = make_job(job, tmp_path / "made", force=True)
        notes = [note for piece in made.pieces for note in piece.notes]
        return any("The PDF's letters don't have all of" in note for note in notes)

    assert told("\u0446\u043e\u043a\u043e\u043b\u044c")
    assert not told("S\u00fcdwand")


def test_files_are_the_same_from_run_to_run(tmp_path: Path) -> None:
    """With seeds of Python's hash for which the sets in it, and in ezdxf, have another order."""
    job = Path(__file__).parents[2] / "fixtures/pipe-boxing/job.toml"
    made = []
    for seed in ("0", "4"):
        out = tmp_path / seed
        subprocess.run(
            [sys.executable, "-m", "scribe", "make", str(job), "--dxf", "-o", str(out)],
            env={**os.environ, "PYTHONHASHSEED": seed},
            check=True,
            capture_output=True,
        )
        made.append({path.name: path.read_bytes() for path in sorted(out.iterdir())})
    once, again = made
    assert any(name.endswith(".dxf") for name in once)
    assert [name for name in once if once[name] != again.get(name)] == []
