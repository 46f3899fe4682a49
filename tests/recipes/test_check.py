"""A cut edge that is wrong by known amounts, checked by points, by gaps and by a photo."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from scribe.commands.check import command
from scribe.errors import ScribeError
from scribe.recipes.check import CheckSource, check

X = np.arange(0.0, 400.5, 2.0)
WALL = 5.0 * np.sin(X / 40.0) + 2.0 * np.sin(X / 13.0)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    rows = "".join(f"{x:.3f},{y:.4f},0.1\n" for x, y in zip(X, WALL, strict=True))
    (tmp_path / "wall.csv").write_text("x_mm,y_mm,u95_mm\n" + rows, "utf-8")
    path = tmp_path / "job.toml"
    path.write_text(
        '[outline.wall]\nfile = "wall.csv"\nbuilding = "above"\n[[piece]]\nname = "strip"\n'
        "blank = { length = 400, width = 60, thickness = 6 }\n[[piece.edge]]\n"
        'outline = "wall"\nedge = "top"\nclearance = 0.5\n',
        "utf-8",
    )
    return path


def edge_csv(folder: Path, wrong: np.ndarray, ends: float = 20.0) -> Path:
    """The wall's own line as it was cut, off by so much, turned and shifted on the sheet."""
    inside = (X > ends) & (X < 400 - ends)
    points = np.column_stack([X, WALL + wrong])[inside]
    cosine, sine = np.cos(0.2), np.sin(0.2)
    points = points @ np.array([[cosine, sine], [-sine, cosine]]) + [33.0, 90.0]
    rows = "".join(f"{x:.4f},{y:.4f},0.05\n" for x, y in points)
    path = folder / "cut.csv"
    path.write_text("x_mm,y_mm,u95_mm\n" + rows, "utf-8")
    return path


def test_a_true_cut_fits(job: Path, tmp_path: Path) -> None:
    """The clearance moves the cut square to the wall: its shape differs by a little of it."""
    checked = check(CheckSource(job, "strip", (edge_csv(tmp_path, np.zeros(len(X))),)))
    assert np.abs(checked.found.deviation).max() < 0.05
    assert checked.found.coverage == pytest.approx(0.9, abs=0.02)
    said = " ".join(checked.lines())
    assert "the part that was seen fits" in said
    assert "shape alone" in said
    whole = check(CheckSource(job, "strip", (edge_csv(tmp_path, np.zeros(len(X)), ends=3.0),)))
    assert any(line.startswith("it fits") for line in whole.lines())


def test_a_bump_left_standing_is_found_and_taken_off(job: Path, tmp_path: Path) -> None:
    """1.5 mm of wood was left over 60 mm round station 200: everything else then gapes."""
    bump = 1.5 * np.exp(-(((X - 200.0) / 30.0) ** 4))
    checked = check(CheckSource(job, "strip", (edge_csv(tmp_path, bump),)))
    found = checked.found
    assert found.deviation.max() == pytest.approx(1.5, abs=0.15)
    assert found.station[found.deviation.argmax()] == pytest.approx(200.0, abs=15.0)
    assert found.gap.max() == pytest.approx(1.5, abs=0.2)
    assert found.second.max() == pytest.approx(1.5, abs=0.2)
    said = " ".join(checked.lines())
    assert "proud beyond U" in said
    assert "Second cut" in said


def test_gaps_felt_along_the_fitted_piece(job: Path, tmp_path: Path) -> None:
    """Gaps of 0.5 are the clearance; one of 2.3 is 1.8 short, and closing it takes off 1.8."""
    table = tmp_path / "gaps.csv"
    table.write_text("station,gap\n0,0.5\n100,0.5\n200,2.3\n300,0.5\n", "utf-8")
    out = tmp_path / "out"
    shown = CliRunner().invoke(
        command, [str(job), str(table), "--piece", "strip", "-o", str(out), "--json"]
    )
    assert shown.exit_code == 0, shown.output
    content = json.loads(shown.output[shown.output.index("{") :])
    assert content["deviation_mm"] == [-1.8, 0.0]
    assert content["second_cut_mm"] == pytest.approx(1.8)
    rows = (out / "second-cut.csv").read_text("utf-8").splitlines()
    assert rows[0] == "station_mm,deviation_mm,u95_mm,gap_mm,remove_mm"
    assert rows[3].endswith(",0.00")  # where it gapes most nothing comes off


def test_what_cannot_be_checked_is_refused(job: Path, tmp_path: Path) -> None:
    cut = edge_csv(tmp_path, np.zeros(len(X)))
    for kind, source in {
        "check-piece": CheckSource(job, "door", (cut,)),
        "check-edge": CheckSource(job, "strip", (cut,), edge="left"),
        "check-files": CheckSource(job, "strip", (cut, cut)),
    }.items():
        with pytest.raises(ScribeError) as caught:
            check(source)
        assert caught.value.kind == kind
