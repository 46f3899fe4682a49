"""`scribe target`: what it writes, says and refuses."""

from __future__ import annotations

from pathlib import Path

import pypdfium2
import pytest
from click.testing import CliRunner

from scribe.commands.target import command
from scribe.errors import ScribeError
from scribe.recipes.target import make_target


def test_target_command_writes_as_many_pages_as_asked(tmp_path: Path) -> None:
    out = tmp_path / "new" / "strips.pdf"
    result = CliRunner().invoke(
        command, ["--paper", "Letter", "--form", "strip", "--copies", "3", "-o", str(out)]
    )
    assert result.exit_code == 0
    assert "scribe Letter strip 1 to 12" in result.output
    assert "100 %" in result.output
    document = pypdfium2.PdfDocument(out)
    assert len(document) == 3
    document.close()


def test_no_copies_is_wrong_use(tmp_path: Path) -> None:
    result = CliRunner().invoke(command, ["--copies", "0", "-o", str(tmp_path / "t.pdf")])
    assert result.exit_code == 2


def test_nothing_is_overwritten_unless_forced(tmp_path: Path) -> None:
    out = tmp_path / "target.pdf"
    make_target("A4", "window", 1, out, force=False)
    before = out.read_bytes()
    with pytest.raises(ScribeError) as refusal:
        make_target("A4", "window", 2, out, force=False)
    assert refusal.value.kind == "output-exists"
    assert out.read_bytes() == before
    assert make_target("A4", "window", 2, out, force=True) == [
        "scribe A4 window 1",
        "scribe A4 window 2",
    ]
    assert out.read_bytes() != before


@pytest.mark.parametrize("copies", [0, 176])
def test_more_strips_than_numbers_are_refused_before_anything_is_written(
    tmp_path: Path, copies: int
) -> None:
    # 700 numbers, four strips to a page: 175 pages.
    with pytest.raises(ScribeError) as refusal:
        make_target("A4", "strip", copies, tmp_path / "t.pdf", force=False)
    assert refusal.value.kind == "target-number"
    assert not (tmp_path / "t.pdf").exists()
