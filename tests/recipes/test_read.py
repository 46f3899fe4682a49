"""`scribe read` from the command line, and its outline in a job."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from scribe.commands.read import command
from scribe.errors import WRONG_USE, ScribeError
from scribe.job_file import read_job
from scribe.outline_file import read_json
from scribe.recipes.make import make_job
from scribe.recipes.read import advice, read
from scribe.source import ReadSource


def test_readings_become_a_template(tmp_path: Path) -> None:
    """Offsets of 10 to 16 mm from a straight edge: the strip loses what its wall comes nearer."""
    table = tmp_path / "wall.csv"
    table.write_text("station;offset\n0;16\n300;10,0\n600;14\n", "utf-8")
    out = str(tmp_path / "wall")
    arguments = [str(table), "--as", "offsets", "--building", "above", "-o", out]
    shown = CliRunner().invoke(command, [*arguments, "--json"])
    assert shown.exit_code == 0, shown.output
    assert json.loads(shown.output)["chord_mm"]["value"] == pytest.approx(600.003, abs=1e-3)
    outline = read_json(tmp_path / "wall" / "outline.json")
    assert outline.solid == "left"
    job = tmp_path / "job.toml"
    job.write_text(
        '[outline.wall]\nfile = "wall/outline.json"\n[[piece]]\nname = "strip"\n'
        "blank = { length = 600, width = 60 }\n"
        '[[piece.edge]]\noutline = "wall"\nedge = "top"\n',
        "utf-8",
    )
    (piece,) = make_job(job, tmp_path / "made").pieces
    assert piece.edges[0].most.remove == pytest.approx(6.0, abs=1e-6)
    assert piece.edges[0].most.station == pytest.approx(300.0)


def test_the_side_of_the_building_is_never_guessed(tmp_path: Path) -> None:
    """A floor read as if it were a ceiling would be mirrored: it fits no bottom edge unless its
    stations begin at the other end.
    """
    (tmp_path / "floor.csv").write_text("station,offset\n0,16\n300,10\n600,14\n", "utf-8")
    arguments = [str(tmp_path / "floor.csv"), "--as", "offsets", "-o", str(tmp_path / "floor")]
    assert CliRunner().invoke(command, arguments).exit_code == WRONG_USE
    job = tmp_path / "job.toml"
    job.write_text(
        '[outline.floor]\nfile = "floor/outline.json"\n[[piece]]\nname = "plinth"\n'
        "blank = { length = 600, width = 60 }\n"
        '[[piece.edge]]\noutline = "floor"\nedge = "bottom"\n',
        "utf-8",
    )
    for side, fits in (("below", True), ("above", False)):
        shown = CliRunner().invoke(command, [*arguments, "--building", side, "--force"])
        assert shown.exit_code == 0, shown.output
        if fits:
            (piece,) = make_job(job, tmp_path / "made").pieces
            assert piece.edges[0].end == "left"
        else:
            with pytest.raises(ScribeError) as caught:
                make_job(job, tmp_path / "made", force=True)
            assert caught.value.kind == "outline-faces-away"


@pytest.mark.parametrize(
    ("form", "option"),
    [
        ("offsets", {"base": 500.0}), ("tapes", {"closing": 1.0}), ("level", {"line": "laser"}),
        ("drawing", {"surface": "flat"}), ("feelers", {"choose": "wall"}), ("level", {"u95": 0.0}),
    ],
)  # fmt: skip
def test_an_option_that_says_nothing_is_refused(tmp_path: Path, form, option) -> None:
    with pytest.raises(ScribeError) as caught:
        read(ReadSource(tmp_path / "wall.csv", form, "above", **option))
    assert caught.value.kind == "read-option"
    assert next(iter(option)) in caught.value.what


def test_what_the_wall_looks_like_narrows_u(tmp_path: Path) -> None:
    """The same three readings of a wall that may be anything, and of a flat one."""
    (tmp_path / "wall.csv").write_text("station;offset\n0;16\n300;10,0\n600;14\n", "utf-8")
    options = {
        "open": [], "flat": ["--surface", "flat"], "laser": ["--surface", "flat", "--line", "laser"]
    }  # fmt: skip
    worst = {}
    for name, more in options.items():
        arguments = [str(tmp_path / "wall.csv"), "--as", "offsets", "-o", str(tmp_path / name)]
        arguments += ["--building", "above"]
        shown = CliRunner().invoke(command, [*arguments, "--json", *more])
        assert shown.exit_code == 0, shown.output
        result = json.loads(shown.output)
        worst[name] = result["u95_mm"]["worst"]
        assert bool(result["advice"]) == (name == "open")
    assert worst["flat"] < 0.6 * worst["open"]
    assert "laser" in read_json(tmp_path / "laser" / "outline.json").budget
    job = tmp_path / "job.toml"
    job.write_text(
        '[outline.wall]\nreadings = "wall.csv"\nas = "offsets"\nbuilding = "above"\n'
        'surface = "flat"\nline = "laser"\n[[piece]]\nname = "strip"\n'
        "blank = { length = 600, width = 60 }\n"
        '[[piece.edge]]\noutline = "wall"\nedge = "top"\n',
        "utf-8",
    )
    source = read_job(job).outlines["wall"].source
    assert isinstance(source, ReadSource)
    assert (source.surface, source.line) == ("flat", "laser")


def test_a_closed_drawing_says_its_way_round(tmp_path: Path) -> None:
    """A circle of 40 mm: 2 pi 40 = 251.327 mm, less what chords within 0.01 mm cut off."""
    (tmp_path / "pipe.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" '
        'viewBox="0 0 100 100"><circle cx="50" cy="50" r="40"/></svg>',
        "utf-8",
    )
    arguments = ["--as", "drawing", "--building", "inside", "-o", str(tmp_path / "pipe")]
    arguments = [str(tmp_path / "pipe.svg"), *arguments]
    shown = CliRunner().invoke(command, [*arguments, "--json"])
    assert json.loads(shown.output)["around_mm"]["value"] == pytest.approx(251.327, abs=0.05)
    shown = CliRunner().invoke(command, [*arguments, "--force"])
    assert "closed, 251.3" in shown.output


def test_a_job_takes_readings_and_drawings_themselves(tmp_path: Path) -> None:
    """The same strip, its wall read every 300 mm and drawn: 6 mm come off at 300."""
    (tmp_path / "wall.csv").write_text("station;offset\n0;16\n300;10,0\n600;14\n", "utf-8")
    (tmp_path / "wall.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="20mm" viewBox="0 0 600 20">'
        '<path id="wall" d="M0 4 L300 10 L600 6" fill="none"/></svg>',
        "utf-8",
    )
    for source in (
        'readings = "wall.csv"\nas = "offsets"',
        'drawing = "wall.svg"\nchoose = "wall"',
    ):
        job = tmp_path / "job.toml"
        job.write_text(
            f'[outline.wall]\n{source}\nbuilding = "above"\n[[piece]]\nname = "strip"\n'
            "blank = { length = 600, width = 60 }\n"
            '[[piece.edge]]\noutline = "wall"\nedge = "top"\n',
            "utf-8",
        )
        (piece,) = make_job(job, tmp_path / "made", force=True).pieces
        assert piece.edges[0].most.remove == pytest.approx(6.0, abs=1e-4)  # px of the SVG reader
        assert piece.edges[0].most.station == pytest.approx(300.0)
        assert piece.edges[0].end == "left"
    report = (tmp_path / "made" / "report.html").read_text("utf-8")
    assert "wall.svg" in report


@pytest.mark.parametrize("wrong", [10.0, 100.0])
def test_a_mistyped_reading_is_named_by_its_station(tmp_path: Path, wrong: float) -> None:
    """A straight wall read every 200 mm with one slip, told on the terminal and in a job."""
    rows = "".join(f"{at},{20 + wrong * (at == 1200):g}\n" for at in range(0, 2401, 200))
    path = tmp_path / "wall.csv"
    path.write_text("station,offset\n" + rows, "utf-8")
    source = ReadSource(path, "offsets", "above")
    said = advice(source, read(source))
    assert said[0].startswith("station 1200 mm doesn't fit its neighbours: it reads ")
    assert f"{wrong:.0f} mm more" in said[0]
    path.write_text("station,offset\n" + rows.replace(f",{20 + wrong:g}", ",20"), "utf-8")
    assert not any("neighbours" in words for words in advice(source, read(source)))


def test_a_slip_with_two_tapes_is_named_by_its_line(tmp_path: Path) -> None:
    """Ten points on a straight wall 400 mm off the base; the sixth tape from A is misread."""
    x = np.arange(100.0, 1901.0, 200.0)
    a, b = np.hypot(x, 400.0), np.hypot(2000.0 - x, 400.0)
    a[5] += 30.0
    rows = "".join(f"{one:.1f},{other:.1f}\n" for one, other in zip(a, b, strict=True))
    path = tmp_path / "tapes.csv"
    path.write_text("from A,from B\n" + rows, "utf-8")
    source = ReadSource(path, "tapes", "above", base=2000.0)
    assert advice(source, read(source))[0].startswith("line 7 doesn't fit its neighbours")


def test_a_nest_of_readings_is_advised_where_there_is_room_for_it(tmp_path: Path) -> None:
    """A wall with waves of a metre, read every 400 mm, leaves open what stands out between; three
    readings more, 50 mm apart, tell that it is smooth, and U falls. Beside them, and where readings
    stand every 100 mm, there is nothing to be said of them.
    """

    def told(at: np.ndarray) -> tuple[float, str]:
        path = tmp_path / "wall.csv"
        wall = 20 + 8 * np.sin(np.pi * at / 2400) + 2 * np.sin(np.pi * at / 500)
        rows = "".join(f"{s:g},{off:.1f}\n" for s, off in zip(at, wall, strict=True))
        path.write_text("station,offset\n" + rows, "utf-8")
        source = ReadSource(path, "offsets", "above")
        outline = read(source)
        return float(np.median(outline.U)), " ".join(advice(source, outline))

    sparse = np.arange(0.0, 2401.0, 400.0)
    wide, said = told(sparse)
    assert "read three places more, 50 mm apart" in said
    nested, said = told(np.union1d(sparse, [850.0, 900.0, 950.0]))
    assert nested < 0.5 * wide
    assert "three places" not in said
    said = told(np.array([0.0, 100.0, 200.0, 300.0]))[1]
    assert "or read closer together" in said
    assert "three places" not in said


def test_no_nest_is_advised_to_a_level_that_is_longer_than_one(tmp_path: Path) -> None:
    """Ten steps of 600 mm over waves of a metre."""
    at = np.arange(0.0, 6001.0, 600.0)
    floor = 8 * np.sin(np.pi * at / 2400) + 2 * np.sin(np.pi * at / 500)
    path = tmp_path / "floor.csv"
    rows = "".join(f"600,{rise / 0.6:.1f}\n" for rise in np.diff(floor))
    path.write_text("step,slope\n" + rows, "utf-8")
    source = ReadSource(path, "level", "below")
    (said,) = advice(source, read(source))
    assert "say what the surface looks like (flat, wavy or rough), or read closer together." in said


def test_a_wrong_step_of_a_level_is_named_and_what_hangs_on_it(tmp_path: Path) -> None:
    """Ten steps of 600 mm over a level floor; the sixth, in line 7, is read 15 mm on a metre too
    steep: 9 mm, and so much too high is all that follows. With a closing it is refused, and named.
    """
    rows = "".join(f"600,{1.0 + 15.0 * (k == 5):g}\n" for k in range(10))
    path = tmp_path / "floor.csv"
    path.write_text("step,slope\n" + rows, "utf-8")
    source = ReadSource(path, "level", "below")
    said = advice(source, read(source))[0]
    assert said.startswith("the step in line 7 doesn't fit its neighbours: it rises 15 mm on a ")
    assert "every height after it is 9 mm too high" in said
    with pytest.raises(ScribeError, match="the step in line 7 doesn't fit") as caught:
        read(replace(source, closing=6.0))
    assert caught.value.kind == "readings-closing"
    path.write_text("step,slope\n" + rows.replace(",16", ",1"), "utf-8")
    assert not any("neighbours" in words for words in advice(source, read(source)))
