"""A room's readings through `scribe survey`: solved, a mistake named, contradictions refused."""

from __future__ import annotations

import json
from pathlib import Path

import pypdfium2
import pytest

from scribe.commands.main import run
from scribe.errors import ScribeError
from scribe.recipes.survey import Surveyed, survey, survey_json, write_survey

ALCOVE = Path(__file__).parents[2] / "fixtures/alcove-room/room.toml"


@pytest.fixture(scope="module")
def alcove() -> Surveyed:
    return survey(ALCOVE)


def changed(tmp_path: Path, *swaps: tuple[str, str]) -> Path:
    text = ALCOVE.read_text("utf-8")
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new)
    room = tmp_path / "room.toml"
    room.write_text(text, "utf-8")
    return room


def test_an_alcove_is_solved_and_written(alcove: Surveyed, tmp_path: Path) -> None:
    found = alcove
    assert not found.adjusted.left_out
    assert found.opening.width(1000.0, 0.0).value == pytest.approx(1204.0, abs=3.0)
    written = write_survey(found, tmp_path / "out")
    page = written[0].read_text("utf-8")
    assert "+/-" in page
    said = json.loads(survey_json(found, written))
    assert len(said["readings"]) == 20
    assert said["left_out"] == []


def test_a_wrong_diagonal_is_named_with_its_size(tmp_path: Path) -> None:
    found = survey(changed(tmp_path, ("reads = 2551\n", "reads = 2571\n")))
    [wrong] = found.adjusted.left_out
    assert wrong.reading.name == "diagonal 2"
    assert wrong.blunder == pytest.approx(20.0, abs=8.0)  # 20 mm put in, noise of some mm
    assert any("diagonal 2 is" in line and "too long" in line for line in found.lines())


def test_two_readings_of_one_place_can_not_be_told_apart(tmp_path: Path) -> None:
    room = tmp_path / "room.toml"
    room.write_text(
        "[[width]]\nreads = 1200\nheight = 100\n[[width]]\nreads = 1230\nheight = 100\n"
        '[[height]]\nreads = 2400\nfrom = "left"\n[[depth]]\nreads = 350\nfrom = "left"\n',
        "utf-8",
    )
    with pytest.raises(ScribeError, match="width 1 and width 2") as refused:
        survey(room)
    assert refused.value.kind == "survey-contradicts"


def test_many_wrong_ones_are_refused(tmp_path: Path) -> None:
    wrong = {
        "reads = 1204\n": "reads = 1354\n",
        "reads = 2412\n": "reads = 2222\n",
        "reads = 2402.5\n": "reads = 2602.5\n",
        "reads = 2554\n": "reads = 2454\n",
        "reads = 1195.5\n": "reads = 1395.5\n",
        "reads = -4\n": "reads = 60\n",
    }
    room = changed(tmp_path, *wrong.items())
    with pytest.raises(ScribeError) as refused:
        survey(room)
    assert refused.value.kind in ("survey-many-wrong", "survey-contradicts")


def test_what_is_lacking_is_asked_for(tmp_path: Path) -> None:
    room = tmp_path / "room.toml"
    room.write_text('name = "x"\n', "utf-8")
    with pytest.raises(ScribeError, match="no width") as refused:
        survey(room)
    assert refused.value.kind == "survey-lacks"


def test_a_break_outside_of_the_room_is_refused(tmp_path: Path) -> None:
    room = changed(tmp_path, ("[[skirting]]", "[[break]]\nreads = 9000\n\n[[skirting]]"))
    with pytest.raises(ScribeError) as refused:
        survey(room)
    assert refused.value.kind == "survey-break"


ATTIC = Path(__file__).parents[2] / "fixtures/attic-room/room.toml"


def test_a_sloping_room_gives_a_whole_report(tmp_path: Path) -> None:
    found = survey(ATTIC)
    assert not found.adjusted.mistakes
    page = write_survey(found, tmp_path / "out")[0].read_text("utf-8")
    assert "http" not in page.replace("http://www.w3.org", "")
    assert all(each.reading.name in page for each in found.adjusted.checked)
    assert "heating pipe on the floor" in page
    assert "out of square" not in page


def test_a_sloping_ceiling_needs_heights_on_both_sides_of_its_break(tmp_path: Path) -> None:
    text = ATTIC.read_text("utf-8")
    kept = [part for part in text.split("\n\n") if "distance = 2050" not in part]
    kept = [part for part in kept if "distance = 1450" not in part and "diagonal" not in part]
    (tmp_path / "room.toml").write_text("\n\n".join(kept), "utf-8")
    with pytest.raises(ScribeError) as refused:
        survey(tmp_path / "room.toml")
    assert refused.value.kind == "survey-open"


def test_a_mistyped_slope_is_named_in_its_own_words(tmp_path: Path) -> None:
    found = survey(changed(tmp_path, ("reads = 6\n", "reads = 106\n")))
    assert [each.reading.name for each in found.adjusted.left_out] == ["slope 1"]
    assert any("slope 1 is" in line and "too much" in line for line in found.lines())


def test_the_form_is_two_a4_pages_of_boxes(tmp_path: Path) -> None:
    assert run(["survey", "--form", "-o", str(tmp_path / "form.pdf")]) == 0
    pages = pypdfium2.PdfDocument(tmp_path / "form.pdf")
    assert len(pages) == 2
    # ISO 216: 210 x 297 mm at 72 pt to the inch.
    assert pages[0].get_size() == pytest.approx((595.276, 841.89), abs=0.01)
    words = "".join(page.get_textpage().get_text_range() for page in pages)
    for heading in ("Widths", "Heights", "Depths", "Diagonals", "Lean", "Plumb", "Slope", "In the"):
        assert heading in words


def test_a_room_or_the_form_has_to_be_asked_for(tmp_path: Path) -> None:
    assert run(["survey", "-o", str(tmp_path / "out")]) == 2


def test_the_terminal_is_told_the_room_on_one_screen(alcove: Surveyed) -> None:
    # 24 lines of 80 characters are the least that a terminal shows; long ones take several.
    lines = alcove.lines()
    assert len(lines) <= 24
    assert len(set(lines)) == len(lines)
    assert not any("DIN" in line or "NHBC" in line for line in lines)


def test_the_report_says_once_what_walls_may_be(alcove: Surveyed, tmp_path: Path) -> None:
    page = write_survey(alcove, tmp_path / "out")[0].read_text("utf-8")
    assert page.count("NHBC") == page.count("DIN 18202") == 1
    assert "Not measured well enough to tell: left wall, front to back" in page
