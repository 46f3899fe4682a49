"""The jobs in `fixtures`, held against the walls their readings were taken of.

The finished piece is pushed against each true wall until it touches: no gap may then be wider
than what both places leave open.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

from scribe.job_file import read_job
from scribe.piece import CutEdge, Piece
from scribe.quantity import format_u
from scribe.recipes.check import check
from scribe.recipes.check_source import CheckSource
from scribe.recipes.fitted import fitted_piece
from scribe.recipes.outlines import captured_all
from tests.examples.walls import FIXTURES, GAPS, WALLS


@cache
def fitted(job: str) -> list[Piece]:
    read = read_job(FIXTURES / job / "job.toml")
    return [fitted_piece(read, each.name, lambda _words: None) for each in read.pieces]


def gap(cut: CutEdge, wall: str) -> tuple[np.ndarray, float]:
    """(N,) mm between the finished edge and the true wall, touching, away from the corners where
    other cuts meet it; and what may be left of it: two places, three u each, one in 400.
    """
    along, across = (1, 0) if cut.edge in ("left", "right") else (0, 1)
    outwards = -1.0 if cut.edge in ("left", "bottom") else 1.0
    line = cut.line[(cut.line[:, along] > 12.0) & (cut.line[:, along] < cut.line[-1, along] - 12.0)]
    station = line[:, along] - line[0, along]
    true = WALLS[wall]
    best: np.ndarray | None = None
    # Where station 0 of the wall lies on the blank follows from the job: its first places.
    for start in np.arange(line[0, along] - 2.0, line[0, along] + 2.0, 0.25):
        apart = true.offset(start + station) - outwards * line[:, across]
        apart = apart - apart.min()
        best = apart if best is None or apart.max() < best.max() else best
    assert best is not None
    return best, float(2.0 * 3.0 * cut.removal.u.max())


@pytest.mark.parametrize(
    ("job", "edge", "wall"),
    [
        ("alcove-shelf", "left", "alcove-shelf/left.csv"),
        ("alcove-shelf", "right", "alcove-shelf/right.csv"),
        ("alcove-shelf", "top", "alcove-shelf/back.csv"),
        ("pipe-boxing", "bottom", "pipe-boxing/floor.csv"),
        ("plinth", "bottom", "plinth/floor.csv"),
        ("sloping-top", "top", "sloping-top/ceiling.csv"),
    ],
)
def test_the_piece_closes_against_the_true_wall(job: str, edge: str, wall: str) -> None:
    [piece] = fitted(job)
    [cut] = [each for each in piece.cuts if each.edge == edge]
    apart, left_open = gap(cut, wall)
    assert apart.max() < left_open


@pytest.mark.parametrize("job", ["alcove-shelf", "pipe-boxing", "plinth", "sloping-top"])
def test_keep_and_waste_make_up_the_blank(job: str) -> None:
    # shapely, which had no hand in the sum of these areas.
    [piece] = fitted(job)
    blank = shapely.Polygon(piece.blank.shape.outer)
    keep = shapely.Polygon(piece.keep.outer, piece.keep.holes)
    waste = shapely.unary_union([shapely.Polygon(part.outer) for part in piece.waste])
    assert keep.area + waste.area == pytest.approx(blank.area, abs=1e-3)
    assert keep.intersection(waste).area < 1e-3
    assert blank.buffer(1e-6).contains(keep)


@pytest.mark.parametrize("name", ["alcove-shelf", "pipe-boxing", "plinth", "sloping-top"])
def test_an_example_is_read_as_it_should_be(name: str) -> None:
    """Nothing is left to be said about its readings: no place to read again, no surface to name."""
    job = read_job(FIXTURES / name / "job.toml")
    found = captured_all(job.outlines, job.outlines, lambda _words: None)
    assert {each: found[each].advice for each in found if found[each].advice} == {}


@pytest.mark.parametrize("job", ["alcove-shelf", "pipe-boxing", "plinth", "sloping-top"])
def test_the_examples_page_has_the_figures_that_are_made(job: str) -> None:
    page = (FIXTURES.parent / "docs/examples.md").read_text("utf-8")
    section = page.split(f"`fixtures/{job}`")[1].split("\n## ")[0]
    [piece] = fitted(job)
    for cut in piece.cuts:
        most = int(cut.removal.remove.argmax())
        U = 2.0 * float(cut.removal.u[most])
        assert format_u(float(cut.removal.remove[most]), U, down=True) in section


def test_the_tables_are_the_readings_of_these_walls() -> None:
    for name, wall in WALLS.items():
        assert (Path(FIXTURES) / name).read_text("utf-8") == wall.table()


def test_the_plinth_that_was_set_down_is_saved_by_a_turn() -> None:
    """1.25 mm wider at one end than at the other, in a line: a turn of 1 mm, which is as much as is
    allowed, leaves 0.25 mm; leaves of a twentieth and their scatter add 0.1 at most. The push home
    by 0.5 closes less where the floor slopes: on 1 in 70 by 0.5 (1 - cos) = 5e-5 mm.
    """
    source = CheckSource(FIXTURES / "plinth/job.toml", "plinth", (FIXTURES / GAPS,))
    checked = check(source)
    found = checked.check
    assert any(
        "A move of the piece saves it. Else a second cut" in line for line in checked.lines()
    )
    # Felt where it stands, 0.5 mm wide at the left end: that closes, and the right end, which may
    # go in by 1 mm more, goes 1.5 mm.
    assert any(
        "its left end 0.5 mm nearer to and its right end 1.5 mm nearer to the floor than it stands "
        "now, nothing gapes by more than 0.3 mm" in line
        for line in checked.lines()
        if line.startswith("a turn saves it: ")
    )
    assert found.gap[0] == pytest.approx(1.25, abs=5e-5)
    assert found.both is not None
    assert found.both.along == 0.0
    assert found.both.turn == pytest.approx(1.0)
    assert found.both.gap == pytest.approx(0.25, abs=0.1)
