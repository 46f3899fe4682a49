"""Side walls beside a shelf, as the room's survey has them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from scribe.errors import ScribeError
from scribe.job_file import read_job
from scribe.recipes.fitted import fitted_piece
from scribe.recipes.survey import survey
from scribe.recipes.walls import with_walls
from scribe.side_walls import LeaningWalls, SurveyedWalls

FIXTURES = Path(__file__).parents[2] / "fixtures"
ROOM = FIXTURES / "alcove-room" / "room.toml"


def shelf(walls: SurveyedWalls | None):
    job = read_job(FIXTURES / "alcove-shelf" / "job.toml")
    return replace(job, pieces=(replace(job.pieces[0], walls=walls),))


def test_the_survey_says_how_they_lean_at_that_level() -> None:
    """What the report says of each wall over its whole height, front and back, brackets the lean of
    the straight line; the local one differs by the bow, whose slope at a quarter of the height is
    half of what it is at the foot: 4 b / H, b being the bow at half the height.
    """
    (piece,) = shelf(SurveyedWalls(ROOM, 600.0)).pieces
    walls = with_walls(piece).walls
    assert isinstance(walls, LeaningWalls)
    room = survey(ROOM)
    height = room.opening.reference[1]
    for side, lean, u in (
        ("left", walls.left, walls.left_u),
        ("right", walls.right, walls.right_u),
    ):
        named = [f.size.value for f in room.features if f.name.startswith(f"{side} wall, ")]
        straight = [each / height * 1000.0 for each in named]
        bow = room.opening.left_bow if side == "left" else -room.opening.right_bow
        bent = 4.0 * bow / height * (1.0 - 2.0 * 600.0 / height) * 1000.0
        assert min(straight) - 0.05 <= lean - bent <= max(straight) + 0.05
        assert u > 0.1


def test_the_note_uses_them() -> None:
    """26 mm oak in an alcove of 880: what is said of tilting names the survey's walls."""
    plain, surveyed = (
        next(n for n in fitted_piece(shelf(walls), "shelf", lambda _: None).notes if "Trapped" in n)
        for walls in (None, SurveyedWalls(ROOM, 1200.0))
    )
    assert "lean" not in plain
    assert "lean" in surveyed


def test_a_piece_without_a_survey_stays_as_it_is() -> None:
    (piece,) = shelf(None).pieces
    assert with_walls(piece) is piece


def test_a_survey_that_cannot_be_solved_refuses(tmp_path: Path) -> None:
    room = tmp_path / "room.toml"
    room.write_text('name = "nothing"\n', "utf-8")
    with pytest.raises(ScribeError, match="no width was measured"):
        fitted_piece(shelf(SurveyedWalls(room, 1200.0)), "shelf", lambda _: None)
