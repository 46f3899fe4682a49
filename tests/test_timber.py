"""Timber movement, against the handbook's worked example and its own second equation."""

from __future__ import annotations

from pathlib import Path

import pytest

from scribe.errors import ScribeError
from scribe.job_file import read_job
from scribe.standards import TIMBER
from scribe.timber import Timber, change, movement, panel_note, timber_note


def test_the_worked_example_of_the_handbook() -> None:
    """FPL-GTR-190, chapter 13: white fir, flatsawn, 232 mm at 8 %, to 11 %: 1.7 mm, 233.7 mm."""
    fir = Timber("white fir", "flatsawn", 8.0, 8.0, 11.0)
    assert change(fir, 232.0, 11.0) == pytest.approx(232 * 0.00245 * 3)
    assert round(change(fir, 232.0, 11.0), 1) == 1.7
    assert round(232.0 + change(fir, 232.0, 11.0), 1) == 233.7


def test_a_differential_table() -> None:
    """DIN 68100 table, Scots pine tangential 0.36 % a %: 200 mm, -3 % gives -2.16 mm."""
    pine = Timber("Scots pine", "flatsawn", 12.0, 9.0, 12.0)
    assert movement(pine, 200.0).shrinks == pytest.approx(-2.16)
    assert movement(pine, 200.0).swells == 0.0


@pytest.mark.parametrize(
    ("species", "radial", "tangential"),
    # Total shrinkage, %, chapter 4 of the same handbook.
    [("red alder", 4.4, 7.3), ("black cherry", 3.7, 7.1), ("white fir", 3.3, 7.0),
     ("black walnut", 5.5, 7.8), ("American beech", 5.5, 11.9), ("western redcedar", 2.4, 5.0)],
)  # fmt: skip
def test_both_equations_agree_at_ten_percent(
    species: str, radial: float, tangential: float
) -> None:
    """Equation 13-3 at MI = 10 is 1 / (3000 / S - 20) for a percent: the table's coefficient."""
    row = TIMBER[species]
    assert row.radial == pytest.approx(1.0 / (3000.0 / radial - 20.0), abs=6e-6)
    assert row.tangential == pytest.approx(1.0 / (3000.0 / tangential - 20.0), abs=6e-6)
    # Beyond 6 to 14 % the second equation takes over; above 30 % nothing moves any more.
    green = Timber(species, "flatsawn", 40.0, 10.0, 40.0)
    assert change(green, 100.0, 0.001) == pytest.approx(-tangential, rel=3e-3)
    assert change(green, 100.0, 30.0) == 0.0


def test_the_note_tells_a_range() -> None:
    oak = Timber("white oak", "quartersawn", 9.0, 7.0, 12.0)
    note = timber_note(oak, 100.0)
    # 100 * 0.0018 * 3 = 0.54 mm and 0.36 mm, each with a quarter on either side.
    assert "shrink by 0.4 mm (0.3 to 0.4)" in note
    assert "swell by 0.5 mm (0.4 to 0.7)" in note
    assert "at least 0.7 mm free" in note
    # Held on both sides with less free than that, it is told to jam.
    assert "leave 0.6 mm: it would jam" in timber_note(oak, 100.0, 0.6)
    assert "jam" not in timber_note(oak, 100.0, 0.7)
    # 2400 mm of MDF at 0.33 %: 7.92 mm (ANSI A208.2).
    assert "7.9 mm at most" in panel_note("MDF", 2400.0)


def test_a_job_says_it_of_its_blank(tmp_path: Path) -> None:
    wood = 'timber = { species = "white oak", cut = "flatsawn", moisture = 9, in_use = [7, 12] }'
    text = (
        '[outline.wall]\nfile = "wall.csv"\nbuilding = "above"\n'
        '[[piece]]\nname = "strip"\nblank = { length = 600, width = 60 }\n'
        f'{wood}\n[[piece.edge]]\noutline = "wall"\nedge = "top"\n'
    )
    (tmp_path / "wall.csv").write_text("x_mm,y_mm\n0,0\n600,0\n", "utf-8")
    path = tmp_path / "job.toml"
    path.write_text(text, "utf-8")
    assert read_job(path).pieces[0].blank.timber == Timber("white oak", "flatsawn", 9, 7, 12)
    for wrong, word in (
        (text.replace("[7, 12]", "[12, 7]"), "driest"),
        (text.replace("moisture = 9, ", ""), "moisture is missing"),
        (text.replace(wood, wood + '\npanel = "MDF"'), "both given"),
    ):
        path.write_text(wrong, "utf-8")
        with pytest.raises(ScribeError, match=word):
            read_job(path)
