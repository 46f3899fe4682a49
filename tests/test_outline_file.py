"""Outlines come back from their files as they were; a file that can't be trusted is refused."""

from __future__ import annotations

import csv
import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribe.datum import Datum
from scribe.errors import ScribeError
from scribe.outline import Outline
from scribe.outline_file import outline_csv, outline_json, read_csv, read_json, read_outline

FINITE = st.floats(-1e4, 1e4, allow_nan=False)


def an_outline(**changes):
    fields = {
        "points": [[0.1, 0.2], [10.0, 1 / 3], [20.0, -1.0]],
        "u": [0.05, 0.07, 0.05],
        "solid": "right",
        "datum": Datum(np.array([1.0, 2.0]), np.array([3.0, 4.0]), "chord", "floor"),
        "origin": "photo wänd.jpg, gauge",
        "measured": np.array([True, False, True]),
        "budget": {"pose": np.array([0.03, 0.0, 0.05]), "pins": np.array([0.04, 0.07, 0.0])},
    }
    return Outline(**(fields | changes))


def written(tmp_path, text, name="outline.csv"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def refusal(call, *args, **kwargs):
    with pytest.raises(ScribeError) as caught:
        call(*args, **kwargs)
    return caught.value


@settings(max_examples=30)
@given(st.lists(st.tuples(FINITE, FINITE), min_size=2, max_size=20, unique=True))
def test_json_gives_the_outline_back_to_the_last_bit(tmp_path_factory, points):
    outline = an_outline(
        points=points, u=np.full(len(points), 0.1), measured=np.ones(len(points), bool), budget={}
    )
    path = written(tmp_path_factory.mktemp("json"), outline_json(outline), "outline.json")
    np.testing.assert_array_equal(read_json(path).points, outline.points)


def test_json_keeps_everything(tmp_path):
    outline = an_outline()
    back = read_outline(written(tmp_path, outline_json(outline), "outline.json"))
    np.testing.assert_array_equal(back.u, outline.u)
    np.testing.assert_array_equal(back.measured, outline.measured)
    np.testing.assert_array_equal(back.datum.origin, outline.datum.origin)
    np.testing.assert_allclose(back.datum.direction, [0.6, 0.8], rtol=1e-15)
    assert (back.solid, back.origin) == (outline.solid, outline.origin)
    assert (back.datum.association, back.datum.end) == ("chord", "floor")
    assert {name: part.tolist() for name, part in back.budget.items()} == {
        "pose": [0.03, 0.0, 0.05],
        "pins": [0.04, 0.07, 0.0],
    }


def test_csv_is_read_by_the_standard_library(tmp_path):
    # RFC 4180 layout, read by the csv module, which did not write it. U = 2 u (GUM 6.2).
    path = written(tmp_path, outline_csv(an_outline()))
    with path.open(newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert list(rows[0]) == ["x_mm", "y_mm", "u95_mm"]
    assert [float(row["u95_mm"]) for row in rows] == [0.1, 0.14, 0.1]
    assert float(rows[1]["y_mm"]) == pytest.approx(1 / 3, abs=0.00005)  # four decimals


def test_csv_comes_back(tmp_path):
    outline = an_outline()
    back = read_csv(written(tmp_path, outline_csv(outline)), building="below")
    np.testing.assert_allclose(back.points, outline.points, atol=0.00005)
    np.testing.assert_allclose(back.u, outline.u, atol=1e-9)


@pytest.mark.parametrize(
    ("building", "points", "solid"),
    [
        ("above", "0,0,0\n9,1,0", "left"),
        ("below", "0,0,0\n9,1,0", "right"),
        ("above", "9,1,0\n0,0,0", "right"),
        ("left", "0,0,0\n1,9,0", "left"),
        ("right", "0,0,0\n1,9,0", "right"),
    ],
)
def test_the_side_follows_from_what_was_stated(tmp_path, building, points, solid):
    path = written(tmp_path, f"x_mm,y_mm,u95_mm\n{points}\n")
    assert read_csv(path, building=building).solid == solid


def test_decimal_commas_and_semicolons_and_a_mark_at_the_start(tmp_path):
    path = written(tmp_path, "\ufeffx_mm; y_mm; u95_mm\r\n0,5;1,25;0,2\r\n\r\n10;2;0,2\r\n")
    outline = read_csv(path, building="above")
    np.testing.assert_array_equal(outline.points, [[0.5, 1.25], [10.0, 2.0]])
    np.testing.assert_array_equal(outline.u, [0.1, 0.1])


def test_columns_may_stand_in_another_order_and_others_are_left_alone(tmp_path):
    path = written(tmp_path, "note,u95_mm,y_mm,x_mm\nleft end,0.2,1,0\n,0.2,2,10\n")
    np.testing.assert_array_equal(read_csv(path, building="above").points, [[0, 1], [10, 2]])


def test_without_u95_the_value_must_be_stated(tmp_path):
    path = written(tmp_path, "x_mm,y_mm\n0,1\n10,2\n")
    assert refusal(read_csv, path, building="above").kind == "outline-file-u95"
    assert read_csv(path, building="above", u95=0.5).U.tolist() == [0.5, 0.5]


def test_the_side_is_never_guessed(tmp_path):
    path = written(tmp_path, "x_mm,y_mm,u95_mm\n0,0,0.1\n0,9,0.1\n")
    assert refusal(read_outline, path).kind == "outline-file-side"
    straight_at_it = refusal(read_csv, path, building="above")
    assert straight_at_it.kind == "outline-side"
    assert "above" in straight_at_it.what


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty"),
        ("x,y,u\n0,0,0\n", "no column x_mm"),
        ("x_mm,y_mm,u95_mm\n0,0,0\n", "fewer than two points"),
        ("x_mm,y_mm,u95_mm\n0,0,0\n1,1\n", "2 values instead of 3 in line 3"),
        ("x_mm,y_mm,u95_mm\n0,0,0\n1,wall,0\n", "'wall' for y_mm in line 3"),
        ("x_mm,y_mm,u95_mm\n0,0,0\n1,nan,0\n", "'nan' for y_mm in line 3"),
        ("x_mm,y_mm,u95_mm\n0,0,0\n1,1,-0.1\n", "'-0.1' for u95_mm in line 3"),
    ],
)
def test_damaged_csv_is_refused_with_its_line(tmp_path, text, said):
    error = refusal(read_csv, written(tmp_path, text), building="above")
    assert error.kind == "outline-file-damaged"
    assert said in error.what


@pytest.mark.parametrize("content", [b"\xff\xd8\xff\xe0", b"\x00\xff" * 40])
def test_a_photo_is_no_outline(tmp_path, content):
    path = tmp_path / "photo.csv"
    path.write_bytes(content)
    assert refusal(read_csv, path, building="above").kind == "outline-file-damaged"


def test_a_missing_file_is_refused(tmp_path):
    assert refusal(read_json, tmp_path / "no.json").kind == "outline-file-unreadable"


def test_damaged_json_is_refused(tmp_path):
    whole = outline_json(an_outline())
    content = json.loads(whole)
    cases = [
        whole[: len(whole) // 2],
        whole.replace("0.05", "NaN", 1),
        "[" * 5000,
        "[]",
        "{}",
        json.dumps({key: value for key, value in content.items() if key != "solid"}),
        json.dumps(content | {"points_mm": [[0, 0], [1]]}),
        json.dumps(content | {"datum": "chord"}),
    ]
    for number, text in enumerate(cases):
        path = written(tmp_path, text, f"{number}.json")
        assert refusal(read_json, path).kind == "outline-file-damaged", number
    sideless = written(tmp_path, json.dumps(content | {"solid": "above"}), "side.json")
    assert refusal(read_json, sideless).kind == "outline-invalid"


def test_a_newer_version_is_refused(tmp_path):
    text = outline_json(an_outline()).replace('"version": 1', '"version": 2')
    assert refusal(read_json, written(tmp_path, text, "n.json")).kind == "outline-file-version"
