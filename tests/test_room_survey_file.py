"""Room files: types, senses and units of the readings, and what is refused."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from scribe.errors import ScribeError
from scribe.room_covered import refuse_covered
from scribe.room_survey import (
    Corner,
    DiagonalTaken,
    LeanTaken,
    PlumbTaken,
    RoomSurvey,
    SlopeTaken,
    Spot,
    WidthTaken,
)
from scribe.room_survey_file import KEYS, room_survey
from scribe.toml_file import read_toml
from tests.rules.source import CHECKOUT
from tests.rules.test_job_documented import keys

GOOD = """
name = "room"
[[width]]
height = "10 cm"
depth = "back"
reads = "1.2 m"
U = 3
[[diagonal]]
from = "left bottom"
to = { on = "right", height = 2000, depth = "back" }
reads = 2300
[[lean]]
wall = "right"
over = 1800
reads = -5
[[plumb]]
wall = "left"
reads = [[100, 52], [2000, 47]]
[[slope]]
surface = "floor"
over = 1000
reads = -4
"""


def read(tmp_path: Path, text: str) -> RoomSurvey:
    (tmp_path / "room.toml").write_text(text)
    survey = room_survey(read_toml(tmp_path / "room.toml"))
    refuse_covered(survey)
    return survey


def test_readings_get_their_types_units_and_senses(tmp_path: Path) -> None:
    width, diagonal, lean, low, high, slope = read(tmp_path, GOOD).readings
    assert isinstance(width, WidthTaken)
    assert (width.height, width.depth, width.reads, width.U) == (100.0, "back", 1200.0, 3.0)
    assert isinstance(diagonal, DiagonalTaken)
    assert diagonal.start == Corner("bottom", "left", "front")
    assert diagonal.end == Spot("right", 2000.0, depth="back")
    assert isinstance(lean, LeanTaken)
    assert lean.reads == -5.0
    assert isinstance(low, PlumbTaken)
    assert isinstance(high, PlumbTaken)
    assert (low.line, low.height, low.reads) == (high.line, 100.0, 52.0)
    assert isinstance(slope, SlopeTaken)
    assert slope.reads == -4.0


SKIRTING = '[[skirting]]\nwalls = ["left"]\ntall = 120\nout = 18\n'
CORNICE = '[[cornice]]\nwalls = ["left"]\ntall = 90\nout = 70\n'
HIGH = '[[height]]\nreads = 2400\nfrom = "left"\ndistance = 50\n'


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        (GOOD.replace("reads = 2300", "read = 2300"), "job-key", "Did you mean reads"),
        (GOOD.replace("over = 1800", ""), "job-key", "over"),
        (GOOD.replace('"1.2 m"', '"1.2 yd"'), "job-value", "length"),
        (GOOD.replace("left bottom", "left lower"), "job-value", "corner"),
        (GOOD + SKIRTING, "survey-covered", "width 1 can't have met the left wall"),
        (GOOD + CORNICE + HIGH, "survey-covered", "the cornice covers it"),
    ],
)
def test_what_makes_no_sense_is_refused(tmp_path: Path, text: str, kind: str, says: str) -> None:
    with pytest.raises(ScribeError) as refusal:
        read(tmp_path, text)
    assert refusal.value.kind == kind
    assert says in str(refusal.value)


def test_every_key_is_explained() -> None:
    text = (CHECKOUT / "docs/survey.md").read_text("utf-8")
    given = keys("scribe.room_survey_file") | set(KEYS)
    assert len(given) > 20
    assert given <= set(re.findall(r"\w+", text))
