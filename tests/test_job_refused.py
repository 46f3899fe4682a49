"""Whatever is wrong in a job file is named with line and key."""

from __future__ import annotations

import pytest

from scribe.errors import ScribeError
from scribe.job_file import read_job
from tests.job_texts import LONG, SHORT, read, refusal


@pytest.fixture
def folder(tmp_path):
    for name in ("wall.jpg", "a.jpg", "right.csv"):
        (tmp_path / name).write_text("")
    return tmp_path


@pytest.mark.parametrize(
    ("old", "new", "kind", "line", "key", "said"),
    [
        ("height = 6", "hieght = 6", "job-key", 4, "hieght", "did you mean height"),
        ("[[piece]]", "[[peice]]", "job-key", 6, "peice", "did you mean piece"),
        ("height = 6", 'height = "6 furlongs"', "job-value", 4, "height", "6 cm"),
        ("height = 6", "height = true", "job-value", 4, "height", "write it like"),
        ("height = 6", "height = -6", "job-value", 4, "height", "0 or more"),
        ("wall.jpg", "wal.jpg", "job-file-missing", 2, "photo", "no file wal.jpg"),
        ('"wall.jpg"', "3", "job-value", 2, "photo", "a file's name in quotes"),
        ('"gauge"', '"gage"', "job-value", 3, "of", "'gauge'? Allowed are gauge, line, edge"),
        ("length = 600", "length = -600", "job-value", 8, "length", "more than 0"),
        ("length = 600, ", "", "job-key", 8, "", "key length is missing"),
        ("width =", "breadth =", "job-key", 8, "breadth", "Allowed are length, width"),
        ('outline = "wall"', 'outline = "walk"', "job-value", 11, "outline", "'wall'?"),
        ('edge = "top"', 'edge = "upper"', "job-value", 12, "edge", "top, bottom, left, right"),
        ('edge = "top"', 'edge = "top"\nplace = "near"', "job-value", 13, "place", "touch"),
        ('edge = "top"', 'edge = "top"\nfrom = "top"', "job-value", 13, "from", "left, right"),
        ('edge = "top"', 'edge = "top"\nopening = 9', "job-value", 13, "opening", "bottom edge"),
        (
            'edge = "top"',
            'edge = "top"\nplace = "touch"\ndistance = 50',
            "job-key",
            14,
            "distance",
            "keep one",
        ),
        (
            'edge = "top"',
            'edge = "top"\nleast = "total"\ndistance = 50',
            "job-key",
            13,
            "least",
            "its place is given too",
        ),
        (
            'edge = "top"',
            'edge = "top"\nbevel = 3\nseal = true',
            "job-value",
            13,
            "bevel",
            "needs the whole edge square",
        ),
        ('edge = "top"', 'edge = "top"\nseen = "left"', "job-key", 13, "seen", "no bevel"),
        (
            'edge = "top"',
            'edge = "top"\nbevel = 3\nseen = "top"',
            "job-value",
            14,
            "seen",
            "left, right",
        ),
        ("scribe strip", "../strip", "job-value", 7, "name", "for its files"),
        ("height = 6", "height = 6\nwasher = 3\nblock = 4", "job-key", 6, "block", "keep the one"),
        ("height = 6", "datum = 'two points'", "job-key", 4, "datum", "between"),
        ("height = 6", "between = [[0,0],[1,1]]", "job-key", 4, "between", "needs a datum"),
        (
            "height = 6",
            "datum = 'two points'\nbetween = [[0,0],[0,0]]",
            "job-value",
            5,
            "between",
            "two different points",
        ),
        ("height = 6", "from = [1]", "job-value", 4, "from", "[x, y]"),
        ("height = 6", "print_scale = 9", "job-value", 4, "print_scale", "printer"),
        ("height = 6", "smooth = 0", "job-value", 4, "smooth", "more than 0"),
        ('of = "gauge"\n', "", "job-key", 1, "", "key of is missing"),
        ('blank = { length = 600, width = "6 cm" }', "blank = 5", "job-value", 8, "blank", "{"),
        ('photo = "wall.jpg"\nof = "gauge"', "", "job-key", 1, "", "needs one of photo, file"),
    ],
)
def test_a_wrong_line_is_named(folder, old, new, kind, line, key, said):
    assert old in SHORT
    error = refusal(folder, SHORT.replace(old, new, 1))
    assert error.kind == kind, str(error)
    assert f"line {line}" in error.where
    assert key in error.where
    assert said.lower() in str(error).lower()


@pytest.mark.parametrize(
    ("typed", "said"),
    [("roll", "width as well"), ("roll wide", "roll"), ("roll 24", "between 150")],
)
def test_a_roll_needs_its_width(folder, typed, said):
    error = refusal(folder, SHORT + f'\n[print]\npaper = "{typed}"\n')
    assert (error.kind, "key paper" in error.where) == ("job-value", True)
    assert said in str(error)


def test_lines_are_found_in_the_right_one_of_several_tables(folder):
    second = SHORT[SHORT.index("[[piece]]") :].replace("scribe strip", "other")
    text = SHORT + "\n" + second.replace('edge = "top"', 'edge = "top"\nclearance = -1')
    error = refusal(folder, text)
    assert "line 21, key clearance" in error.where
    assert text.splitlines()[20] == "clearance = -1"


def test_two_pieces_of_one_name_would_overwrite_each_other(folder):
    second = SHORT[SHORT.index("[[piece]]") :].replace("scribe strip", "Scribe Strip")
    error = refusal(folder, SHORT + second)
    assert error.kind == "job-value"
    assert "another piece" in error.what


def test_a_trapped_piece_needs_the_opening(folder):
    text = LONG.replace("distance = 890", "").replace("opening = 895", "")
    error = refusal(folder, text)
    assert error.kind == "job-value"
    assert "opening" in error.do


def test_nothing_is_parallel_from_one_photo_to_another(folder):
    neighbour = '\n[outline.stile]\nphoto = "a.jpg"\nof = "edge"\nheight = 0\n'
    text = SHORT.replace("\n[[piece]]", neighbour + "\n[[piece]]", 1) + 'parallel = "stile"\n'
    error = refusal(folder, text)
    assert (error.kind, "different photos" in error.what) == ("job-value", True)
    (piece,) = read(folder, text.replace("a.jpg", "wall.jpg")).pieces
    assert piece.outlines == ("wall", "stile")


@pytest.mark.parametrize("source", ["", "height = = 6", "[outline", "a" * 3000 + " = [" * 3000])
def test_what_is_no_toml_is_refused(folder, source):
    error = refusal(folder, SHORT + source) if source else refusal(folder, "")
    assert error.kind in ("job-syntax", "job-key")


def test_a_syntax_error_names_its_line(folder):
    error = refusal(folder, SHORT.replace("height = 6", "height = 6 mm"))
    assert error.kind == "job-syntax"
    assert "line 4" in str(error)


def test_a_photo_is_no_job(folder):
    (folder / "job.toml").write_bytes(b"\xff\xd8\xff\xe0\x00")
    with pytest.raises(ScribeError) as caught:
        read_job(folder / "job.toml")
    assert caught.value.kind == "job-syntax"


def test_a_missing_job_is_refused(tmp_path):
    with pytest.raises(ScribeError) as caught:
        read_job(tmp_path / "none.toml")
    assert caught.value.kind == "job-unreadable"


def test_a_csv_must_say_where_the_building_is_and_a_json_must_not(folder):
    (folder / "o.json").write_text("{}")
    without = LONG.replace('building = "right"\n', "")
    assert "building = above" in refusal(folder, without).do
    twice = LONG.replace("right.csv", "o.json")
    assert refusal(folder, twice).kind == "job-key"
    other = refusal(folder, LONG.replace("right.csv", "a.jpg"))
    assert "neither .json nor .csv" in other.what
