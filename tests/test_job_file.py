"""The job file becomes typed values."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from scribe.errors import ScribeError
from scribe.job import Distance, Opening, Touch
from scribe.job_file import read_job
from scribe.side_walls import LeaningWalls, SurveyedWalls
from scribe.source import FileSource, PhotoSource
from tests.job_texts import LONG, SHORT, read


@pytest.fixture
def folder(tmp_path):
    for name in ("wall.jpg", "a.jpg", "right.csv"):
        (tmp_path / name).write_text("")
    return tmp_path


def test_the_simple_case_is_short(folder):
    job = read(folder, SHORT)
    wall = job.outlines["wall"].source
    assert isinstance(wall, PhotoSource)
    assert (wall.photos, wall.of, wall.height) == ((folder / "wall.jpg",), "gauge", 6.0)
    (piece,) = job.pieces
    np.testing.assert_array_equal(piece.blank.shape.outer, [[0, 0], [600, 0], [600, 60], [0, 60]])
    (edge,) = piece.edges
    assert (edge.edge, edge.placing, edge.start, edge.clearance) == ("top", Touch(), None, 0.0)
    assert (job.name, job.print.paper, piece.up, piece.step) == ("job", "A4", "top", 50.0)


def test_a_piece_may_lie_level(folder):
    (piece,) = read(folder, SHORT.replace("[[piece.edge]]", 'up = "face"\n[[piece.edge]]')).pieces
    assert (piece.level, piece.up) == (True, "top")
    (stands,) = read(folder, SHORT.replace("[[piece.edge]]", 'up = "left"\n[[piece.edge]]')).pieces
    assert (stands.level, stands.up) == (False, "left")


def test_everything_a_job_may_say(folder):
    job = read(folder, LONG)
    assert job.name == "harbour cottage"
    assert (job.print.paper, job.print.margin, job.print.overlap) == ("A3", 10.0, 15.0)
    left, right = job.outlines["left"], job.outlines["right"]
    assert isinstance(left.source, PhotoSource)
    assert left.source.print_scale is not None
    assert left.source.print_scale.factors == (0.998, 1.001)
    assert (left.source.start, left.source.end) == ((10.0, 20.0), (-5.0, 200.0))
    assert (left.washer, left.block, left.smooth, left.end) == (12.0, None, 4.0, "floor")
    assert left.datum is not None
    assert left.datum.between == ((0.0, 0.0), (0.0, 900.0))
    assert right.source == FileSource(folder / "right.csv", "right", 0.4)
    (piece,) = job.pieces
    # Given clockwise and closed; kept counter-clockwise and open: 900 x 300 mm.
    x, y = piece.blank.shape.outer.T
    assert 0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) == 270000.0
    assert piece.blank.thickness == 22.0
    assert piece.edges[0].placing == Distance(890.0)
    assert (piece.edges[0].station, piece.edges[0].start) == (-20.0, "bottom")
    assert piece.edges[1].placing == Opening(895.0)
    assert piece.edges[1].beyond == pytest.approx(76.2)  # 3 international inches


@pytest.mark.parametrize(("typed", "mm"), [("roll 610", 610.0), ("roll 24 in", 609.6)])
def test_paper_may_come_from_a_roll(folder, typed, mm):
    job = read(folder, SHORT + f'\n[print]\npaper = "{typed}"\n')
    assert job.print.roll == pytest.approx(mm)
    assert "roll" in job.print.paper_words


def test_side_walls_are_typed_or_named_by_their_survey(tmp_path: Path) -> None:
    (tmp_path / "wall.jpg").write_bytes(b"")
    (tmp_path / "room.toml").write_text("", "utf-8")
    path = tmp_path / "job.toml"

    def walls(written: str) -> object:
        line = 'name = "scribe strip"\n'
        path.write_text(SHORT.replace(line, f"{line}walls = {{ {written} }}\n"), "utf-8")
        return read_job(path).pieces[0].walls

    assert walls('left = 4, right = -2, U = 1, face = "down"') == LeaningWalls(
        4.0, -2.0, 0.5, 0.5, "down"
    )
    assert walls('survey = "room.toml", level = 1200') == SurveyedWalls(
        tmp_path / "room.toml", 1200.0
    )
    for wrong in ("left = 4, right = 2", 'survey = "room.toml"', 'survey = "no.toml", level = 1'):
        with pytest.raises(ScribeError):
            walls(wrong)
