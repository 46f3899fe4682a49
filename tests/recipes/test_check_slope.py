"""A cut that runs level, then up a slope of 45 degrees: what a shift does to it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
import shapely.affinity

from scribe.job_file import read_job
from scribe.recipes.check import check
from scribe.recipes.check_source import CheckSource
from scribe.recipes.fitted import fitted_piece
from tests.recipes.cut_strip import X

RISE = np.maximum(X - 200.0, 0.0)  # level, then 45 degrees
TOP = 360.0 - RISE[-1]


def sloping_job(folder: Path, clearance: float) -> Path:
    rows = "".join(f"{x:.1f},{y:.1f},0.1\n" for x, y in zip(X, RISE, strict=True))
    (folder / "wall.csv").write_text("x_mm,y_mm,u95_mm\n" + rows, "utf-8")
    job = folder / "job.toml"
    job.write_text(
        '[outline.wall]\nfile = "wall.csv"\nbuilding = "above"\n[[piece]]\nname = "strip"\n'
        'blank = { length = 400, width = 360 }\n[[piece.edge]]\noutline = "wall"\nedge = "top"\n'
        f"clearance = {clearance}\n",
        "utf-8",
    )
    return job


def sloping_cut(folder: Path, line: np.ndarray) -> Path:
    rows = "".join(f"{x:.4f},{y:.4f},0.05\n" for x, y in line)
    (folder / "cut.csv").write_text("x_mm,y_mm,u95_mm\n" + rows, "utf-8")
    return folder / "cut.csv"


def test_a_slope_that_is_short_moves_the_whole_piece_further_in(tmp_path: Path) -> None:
    """On a slope of 45 degrees an edge cut 2 mm too far, square to it, is closed by moving the
    piece in by 2 / cos 45 = 2.83 mm: so much comes off where it is level, and nothing where it is
    short.
    """
    job = sloping_job(tmp_path, 0.0)
    short = 2.0 * np.exp(-(((X - 300.0) / 30.0) ** 4)) / np.sqrt(2.0)
    cut = sloping_cut(tmp_path, np.column_stack([X + short, TOP + RISE - short]))
    checked = check(CheckSource(job, "strip", (cut,), lay="piece"))
    found = checked.check.found
    assert found.deviation.min() == pytest.approx(-2.0, abs=0.01)
    assert found.short == pytest.approx(2.0 * np.sqrt(2.0), abs=0.02)
    table = checked.check.second.cuts[0].removal
    by_station = dict(zip(table.station.tolist(), table.remove.tolist(), strict=True))
    assert by_station[100.0] == pytest.approx(2.0 * np.sqrt(2.0), abs=0.02)
    assert by_station[300.0] == pytest.approx(0.0, abs=0.02)
    assert checked.summary()["second_cut_mm"] <= found.second.max()


@pytest.mark.parametrize("proud", [0.3, -0.3, 1.0])
def test_pushed_home_on_a_slope_it_gapes_as_it_does_in_the_room(
    tmp_path: Path, proud: float
) -> None:
    """Clearance 0.6; the slope of 45 degrees is proud by so much, square to it, from 290 to 310,
    and the level part is as planned. It may be pushed by (0.6 - proud) / cos 45 until the slope
    rests, or by 0.6 until the level part does. Shapely says that the piece then touches the wall
    and no less far, and how far it is from the wall at the places named.
    """
    job = sloping_job(tmp_path, 0.6)
    piece = fitted_piece(read_job(job), "strip", lambda _: None)
    planned = piece.cuts[0].line
    slope = np.array([-1.0, 1.0]) / np.sqrt(2.0)
    dense = np.arange(0.0, 400.25, 0.5)
    line = np.column_stack([dense, np.interp(dense, *planned.T)])
    off = proud * ((dense > 290.0) & (dense < 310.0))
    cut = line + off[:, None] * slope
    found = check(CheckSource(job, "strip", (sloping_cut(tmp_path, cut),), lay="piece")).check.found
    push = min(0.6, (0.6 - proud) * np.sqrt(2.0), 0.6 * np.sqrt(2.0))
    at = dict(zip(found.station.tolist(), found.gap.tolist(), strict=True))
    assert at[100.0] == pytest.approx(0.6 - push, abs=0.02)
    assert at[300.0] == pytest.approx(0.6 - proud - push / np.sqrt(2.0), abs=0.02)
    assert at[350.0] == pytest.approx(0.6 - push / np.sqrt(2.0), abs=0.02)

    wall = shapely.Polygon([*piece.room[0].outline.points, (400.0, 900.0), (0.0, 900.0)])
    home = shapely.affinity.translate(shapely.LineString(cut), 0.0, push)
    assert home.distance(wall) == pytest.approx(0.0, abs=0.01)
    assert shapely.affinity.translate(home, 0.0, -0.05).distance(wall) > 0.03
    for station in (100.0, 300.0, 350.0):
        stretch = shapely.LineString(
            [place for place in home.coords if abs(place[0] - station) < 5.0]
        )
        assert at[station] == pytest.approx(stretch.distance(wall), abs=0.02)


def test_a_slope_gapes_as_planned_and_fits(tmp_path: Path) -> None:
    """Cut as planned: pushed home the level part closes, and 0.6 (1 - cos 45) = 0.18 mm stay on the
    slope. That is the plan, and neither a shift nor a second cut is proposed for it.
    """
    job = sloping_job(tmp_path, 0.6)
    planned = fitted_piece(read_job(job), "strip", lambda _: None).cuts[0].line
    cut = sloping_cut(tmp_path, np.column_stack([X, np.interp(X, *planned.T)]))
    checked = check(CheckSource(job, "strip", (cut,), lay="piece", filler=0.1))
    assert checked.check.gap[0] == pytest.approx(0.6 * (1.0 - np.sqrt(0.5)), abs=0.01)
    assert checked.verdict().startswith(
        "it fits: pushed home to the wall, up to 0.2 mm gape on its slopes"
    )
    assert checked.check.second is None
    assert checked.check.shift is None
