"""What hands write and spreadsheets save: what is read, and what is refused with its line."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from scribe.capture.numbers.readings import Instrument, outline_from
from scribe.capture.numbers.readings_table import read_table
from scribe.errors import ScribeError

PLAIN = "station,offset\n0,1\n300,2\n600,1.5\n"


def points(folder: Path, content: str | bytes) -> np.ndarray:
    """The readings themselves, of a straight edge."""
    path = folder / "wall.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
    found = outline_from(read_table(path), "offsets", "above", Instrument()).points
    return found[[0, int(np.argmin(np.abs(found[:, 0] - 300.0))), -1]]


@pytest.mark.parametrize(
    "content",
    [
        PLAIN,
        PLAIN.encode("utf-8-sig"),
        PLAIN.encode("utf-16"),
        PLAIN.replace("\n", "\r\n"),
        PLAIN.replace("\n", "\r"),
        PLAIN.replace(",", "\t"),
        PLAIN.replace(",", ";"),
        PLAIN.replace(",", ";").replace(".", ","),
        "sep=;\n" + PLAIN.replace(",", ";"),
        PLAIN.replace("\n", ",,\n"),
        PLAIN.replace("1.5", '"1,5"'),
        PLAIN + "\n,\n# done\n",
        "station,offset\n600,1.5\n300,2\n0,1\n",
        "note,At [m],Distance millimetres\nleft,0,1\n,0.3,2\ncorner,0.600,1.5\n",
        "position;gap (cm)\n0;0,1\n30 cm;0,2\n0,6 m;0,15\n",
        "# K\u00fcche\nstation,offset\n0,1\n300,2\n600,1.5\n".encode("cp1252"),
        "station;offset\n0.000;1.000\n300.000;2.000\n600.000;1.50\n",
    ],
)
def test_the_same_three_readings_however_they_were_saved(tmp_path: Path, content) -> None:
    assert points(tmp_path, content) == pytest.approx(np.array([[0, 1], [300, 2], [600, 1.5]]))


@pytest.mark.parametrize(
    "cells",
    [
        ("3 1/2", "1/2", "(in)"), ("3-1/2", "0.5", "[inches]"), ("3.5", "\u00bd", '(")'),
        ('3 1/2"', '1/2"', ""), ('3-1/2"', '0.5"', ""), ("3\u00bd in", "\u00bd in", ""),
        ("3 1\u20442\u2033", "1\u20442\u2033", ""), ("3\u00bd\u201d", "\u00bd\u201d", ""),
    ],
)  # fmt: skip
def test_inches_as_they_are_written(tmp_path: Path, cells: tuple[str, str, str]) -> None:
    """3 1/2 in = 88.9 mm, 1/2 in = 12.7 mm."""
    far, off, unit = cells
    path = tmp_path / "wall.csv"
    path.write_text(f"station {unit};offset {unit}\n0;0\n{far};{off}\n", "utf-8")
    outline = outline_from(read_table(path), "offsets", "above", Instrument())
    assert outline.points[-1] == pytest.approx([88.9, 12.7])


REFUSED = {
    "empty": ("", "offsets", "readings-few", "fewer than two"),
    "header only": ("station,offset\n", "offsets", "readings-few", "fewer than two"),
    "from a machine": (
        "at,gap\n" + "".join(f"{k},1\n" for k in range(2001)),
        "offsets",
        "readings-many",
        "2001 readings",
    ),
    "no header": ("0,1\n300,2\n600,1\n", "offsets", "readings-column", "has numbers"),
    "named twice": ("at,station,gap\n0,0,1\n1,1,2\n", "offsets", "readings-column", "at and st"),
    "slope and fall": ("step,slope,fall\n9,1,1\n9,1,1\n", "level", "readings-column", "fall"),
    "a furlong": ("at (furlong),gap\n0,1\n1,2\n", "offsets", "readings-unit", "furlong"),
    "slope in mm": ("step,slope\n1000,2 mm\n500,1\n", "level", "readings-unit", "'mm'"),
    "swapped": ("station,offset\n12,0\n14,300\n16,600\n", "offsets", "readings-order", "mixed up"),
    "out of order": ("at,gap\n0,1\n3000,2\n600,1\n900,2\n", "offsets", "readings-order", "line 4"),
    "back and out": ("at,gap\n900,1\n0,2\n600,1\n", "offsets", "readings-order", "line 4"),
    "twice": ("at,gap\n0,1\n300,2\n300,2\n600,1\n", "offsets", "readings-order", "there twice"),
    "thousands": ("at;gap\n0;1\n1,200;2\n", "offsets", "readings-cell", "two ways"),
    "points": ("at;gap\n0;1\n1.200;2\n2.400;3\n", "offsets", "readings-cell", "two ways"),
    "points beside commas": ("at;gap\n0;1,5\n1.200;2\n", "offsets", "readings-cell", "1,200"),
    "spaces": ("at;gap\n0;1\n1 200;2\n", "offsets", "readings-cell", "line 3"),
    "not a number": ("at,gap\n0,1\n300,nan\n", "offsets", "readings-cell", "nan"),
    "powers": ("at,gap\n0,1\n3e2,2\n", "offsets", "readings-cell", "3e2"),
    "huge": ("at,gap\n0,1\n300000000,2\n", "offsets", "readings-cell", "any room"),
    "empty cell": ("at,gap\n0,1\n300,\n600,2\n", "offsets", "readings-cell", "is empty"),
    "decimal commas": ("at,gap\n0,1,5\n300,2,5\n", "offsets", "readings-cell", "3 values"),
    "negative gap": ("at,gap\n0,-1\n300,2\n", "feelers", "readings-cell", "0 or more"),
    "negative U": ("at,gap,U\n0,1,-1\n300,2,1\n", "offsets", "readings-cell", "0 or more"),
    "exact": ("at,gap,U\n0,1,1\n300,2,0\n", "offsets", "readings-cell", "line 3"),
    "steep": ("step,slope\n1000,2\n1000,2000\n", "level", "readings-cell", "45 degrees"),
    "negative step": ("step,slope\n1000,2\n-1000,1\n", "level", "readings-cell", "line 3"),
    "negative tape": ("a,b\n-300,400\n300,380\n", "tapes", "readings-cell", "line 2"),
    "near the base": ("a,b\n250.1,250\n260,240.2\n", "tapes", "readings-tapes", "+/-"),
    "one point": ("a,b\n300,400\n300,400\n", "tapes", "readings-order", "once more"),
    "turns back": ("a,b\n300,400\n500,300\n346,347\n", "tapes", "readings-order", "turn back"),
    "crosses": ("a,b\n300,400\n450,300\n420,340\n300,350\n", "tapes", "readings-order", ""),
    "C unknown": ("a,b,c\n300,400,1\n346,346,1\n", "tapes", "readings-base", "where it is"),
    "binary": (bytes(range(256)), "offsets", "readings-unreadable", "no text"),
    "no mark": (PLAIN.encode("utf-16-le"), "offsets", "readings-unreadable", "no text"),
    "a workbook": (b"PK\x03\x04" + bytes(99), "offsets", "readings-unreadable", "as CSV"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_wrong_is_named_with_its_line(tmp_path: Path, name: str) -> None:
    content, form, kind, said = REFUSED[name]
    path = tmp_path / "wall.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
    with pytest.raises(ScribeError) as caught:
        outline_from(read_table(path), form, "above", Instrument(base=500.0))
    assert caught.value.kind == kind, str(caught.value)
    assert said in str(caught.value)


def test_nothing_goes_round_inside_a_straight_edge(tmp_path: Path) -> None:
    path = tmp_path / "wall.csv"
    path.write_text(PLAIN, "utf-8")
    with pytest.raises(ScribeError) as caught:
        outline_from(read_table(path), "offsets", "inside", Instrument())
    assert caught.value.kind == "outline-closed"


def test_a_third_point_without_its_readings(tmp_path: Path) -> None:
    path = tmp_path / "wall.csv"
    path.write_text("a,b\n300,400\n346,346\n", "utf-8")
    with pytest.raises(ScribeError) as caught:
        outline_from(read_table(path), "tapes", "above", Instrument(base=500.0, third=(0, 600)))
    assert caught.value.kind == "readings-base"
    assert "nothing was read from it" in caught.value.what
