"""`scribe read` from the command line, and its outline in a job."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from scribe.commands.read import command
from scribe.errors import ScribeError
from scribe.outline_file import read_json
from scribe.recipes.make import make_job
from scribe.recipes.read import ReadSource, read


def test_readings_become_a_template(tmp_path: Path) -> None:
    """Offsets of 10 to 16 mm from a straight edge: the strip loses what its wall comes nearer."""
    table = tmp_path / "wall.csv"
    table.write_text("station;offset\n0;16\n300;10,0\n600;14\n", "utf-8")
    shown = CliRunner().invoke(
        command, [str(table), "--as", "offsets", "-o", str(tmp_path / "wall"), "--json"]
    )
    assert shown.exit_code == 0, shown.output
    assert json.loads(shown.output)["chord_mm"]["value"] == pytest.approx(600.003, abs=1e-3)
    outline = read_json(tmp_path / "wall" / "outline.json")
    assert outline.solid == "left"
    job = tmp_path / "job.toml"
    job.write_text(
        '[outline.wall]\nfile = "wall/outline.json"\n[[piece]]\nname = "strip"\n'
        'blank = { length = 600, width = 60 }\n[[piece.edge]]\noutline = "wall"\nedge = "top"\n',
        "utf-8",
    )
    (piece,) = make_job(job, tmp_path / "made").pieces
    assert piece.edges[0].most.remove == pytest.approx(6.0, abs=1e-6)
    assert piece.edges[0].most.station == pytest.approx(300.0)


def test_an_option_that_says_nothing_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ScribeError) as caught:
        read(ReadSource(tmp_path / "wall.csv", "offsets", "above", base=500.0))
    assert caught.value.kind == "read-option"
