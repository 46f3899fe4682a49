"""The workshop's tables of a room's file: what they mean, and what is refused."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from scribe.cutting import Board, Part, Sheet
from scribe.errors import ScribeError
from scribe.member import Lipping
from scribe.saw import Saw
from scribe.toml_file import read_toml
from scribe.workshop import KEYS, Plank, Workshop, read_workshop

WHOLE = """
[saw]
kerf = 3
tilt = 47
thickness = "19 mm"

[[sheet]]
name = "birch ply 18"
length = 2440
width = 1220
trim = 10
count = 3

[[board]]
name = "pine 44 x 18"
length = "2.4 m"

[[plank]]
name = "wide larch board"
width = 231
strip = 44
trim = 4

[[part]]
name = "cheek"
from = "birch ply 18"
length = 2280
width = 560
count = 2
allowance = { top = 25, right = 3 }

[[part]]
name = "rail"
from = "pine 44 x 18"
length = 764
count = 4

[[member]]
name = "book shelf"
bays = [780, 780]
depth = 300
thickness = 18
material = "birch plywood, along"
per_metre = 35
lipping = { material = "steel", breadth = 5, height = 30 }
"""


def read(folder: Path, text: str) -> Workshop:
    path = folder / "room.toml"
    path.write_text(text)
    return read_workshop(read_toml(path))


def test_every_table_is_read(tmp_path: Path) -> None:
    shop = read(tmp_path, WHOLE)
    assert shop.saw == Saw(kerf=3.0, tilt_deg=47.0)
    assert shop.thickness == 19.0
    assert shop.sheets == (Sheet("birch ply 18", 2440.0, 1220.0, 10.0, 3),)
    assert shop.boards == (Board("pine 44 x 18", 2400.0),)
    assert shop.planks == (Plank("wide larch board", 231.0, 44.0, 4.0),)
    cheek, rail = shop.parts
    assert cheek == Part("cheek", "birch ply 18", 2280.0, 560.0, 2, (0.0, 3.0, 25.0, 0.0))
    assert (cheek.length, cheek.width) == (2283.0, 585.0)
    assert (rail.length, rail.width, rail.count) == (764.0, 0.0, 4)
    (shelf,) = shop.members
    assert shelf.bays == (780.0, 780.0)
    assert shelf.lipping == Lipping("steel", 5.0, 30.0)
    assert shelf.limit == 200.0


def test_a_file_without_them_is_an_empty_workshop(tmp_path: Path) -> None:
    assert read(tmp_path, 'name = "alcove"\n') == Workshop()


@pytest.mark.parametrize(
    ("old", "new", "kind"),
    [
        ("kerf = 3", "blade = 3", "job-key"),
        ("tilt = 47", "tilt = 95", "job-value"),
        ("trim = 10", "trim = 700", "job-value"),
        ("count = 3", "count = 2.5", "job-value"),
        ('from = "birch ply 18"', 'from = "oak"', "job-value"),
        ("width = 560\n", "", "job-key"),
        ("length = 764", "length = 764\nwidth = 44", "job-key"),
        ("bays = [780, 780]", "bays = [780, 0]", "job-value"),
        ("bays = [780, 780]", "bays = []", "job-value"),
        ('material = "birch plywood, along"', 'material = "card"', "job-value"),
        ("name = \"rail\"\n", "name = \"rail\"\nturns = 1\n", "job-value"),
    ],
)  # fmt: skip
def test_what_makes_no_sense_is_refused(tmp_path: Path, old: str, new: str, kind: str) -> None:
    assert old in WHOLE
    with pytest.raises(ScribeError) as refused:
        read(tmp_path, WHOLE.replace(old, new, 1))
    assert refused.value.kind == kind
    assert "line" in refused.value.where


def test_the_example_of_the_document_is_read(tmp_path: Path) -> None:
    text = (Path(__file__).parents[1] / "docs/workshop.md").read_text("utf-8")
    (example,) = re.findall(r"```toml\n(.*?)```", text, re.DOTALL)
    shop = read(tmp_path, example)
    assert [part.name for part in shop.parts] == ["cheek"]
    for key in KEYS:
        assert f"[{key}]" in example or f"[[{key}]]" in example


@pytest.mark.parametrize(
    "written",
    [
        "spring = 38\ndrop = 80\nprojection = 62",
        "drop = 80",
        "corner = 90",
        "spring = 38\ncorner = 180",
        "spring = 38\ncorner_U = 1",
        "drop = 80\nprojection = 62\nspring_U = 1",
        "spring = 95",
    ],
)
def test_a_moulding_that_makes_no_sense_is_refused(tmp_path: Path, written: str) -> None:
    path = tmp_path / "room.toml"
    path.write_text(f'[[moulding]]\nname = "cornice"\n{written}\n')
    with pytest.raises(ScribeError, match="moulding"):
        read_workshop(read_toml(path))


def test_a_moulding_is_read(tmp_path: Path) -> None:
    """S = atan(62 / 80) = 37.776 degrees; U of 0.5 mm on 101.2 mm is 0.283 degrees."""
    path = tmp_path / "room.toml"
    path.write_text('[[moulding]]\nname = "cornice"\ndrop = "8 cm"\nprojection = 62\ncorner = 92\n')
    (moulding,) = read_workshop(read_toml(path)).mouldings
    assert moulding.spring_deg == pytest.approx(37.776, abs=1e-3)
    assert 2.0 * moulding.spring_u_deg == pytest.approx(0.283, abs=1e-3)
    assert (moulding.corner_deg, moulding.corner_u_deg) == (92.0, 0.25)
