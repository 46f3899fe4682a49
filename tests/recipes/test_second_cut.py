"""What a check gives to print where a second cut is needed."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pypdfium2
import pytest

from scribe.job_file import read_job
from scribe.piece import Piece
from scribe.recipes.check import check, write_check
from scribe.recipes.check_source import CheckSource
from scribe.recipes.fitted import fitted_piece
from tests.recipes.cut_strip import X, edge_csv, strip_job


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return strip_job(tmp_path)


def test_the_second_cut_has_its_template_and_table(job: Path, tmp_path: Path) -> None:
    """A bump of 1.5 mm at 200 comes off in a second cut, and nothing where nothing stands.

    Square to the blank's edge 1.5 mm across the line are 1.5 sqrt(1 + m^2); the wall's slope m
    is at most 5/40 + 2/13 = 0.28, so at most 1.56 mm, and registration shares out some of it.
    """
    bump = 1.5 * np.exp(-(((X - 200.0) / 30.0) ** 4))
    checked = check(CheckSource(job, "strip", (edge_csv(tmp_path, bump),)))
    second = checked.check.second
    assert isinstance(second, Piece)
    assert second.name == "strip second cut"
    table = second.cuts[0].removal
    assert table.remove.max() == pytest.approx(checked.check.found.second.max(), abs=0.06)
    assert table.station[table.remove.argmax()] == pytest.approx(200.0, abs=25.0)
    away = np.abs(table.station - 200.0) > 60.0
    assert np.abs(table.remove[away]).max() < 0.25
    runs = second.cuts[0].passes.runs
    assert max(run.most for run in runs) == pytest.approx(table.remove.max(), abs=0.05)
    assert [kind for kind in table.kind if kind not in ("step", "end")] == ["hollow"]
    short = checked.check.found.short
    first = fitted_piece(read_job(job), "strip", lambda _: None).cuts[0]
    assert second.cuts[0].line == pytest.approx(first.line - short * first.out)
    # Keep and waste part the blank, which is the first piece with the bump on it.
    area = sum(ring_area(part.outer) for part in (second.keep, *second.waste))
    assert area == pytest.approx(ring_area(second.blank.shape.outer), abs=0.1)
    names = [path.name for path in write_check(checked, tmp_path / "out", force=False)]
    assert "strip second cut.pdf" in names
    assert "strip second cut-marks.pdf" not in names
    assert "strip second cut-remove.csv" in names
    document = pypdfium2.PdfDocument(tmp_path / "out" / "strip second cut.pdf")
    assert "second cut" in document[0].get_textpage().get_text_bounded()


def test_a_cut_that_filler_closes_gets_no_second_template(job: Path, tmp_path: Path) -> None:
    source = CheckSource(job, "strip", (edge_csv(tmp_path, 0.8 * np.sin(X / 90.0)),), filler=3.0)
    assert check(source).check.second is None


def ring_area(ring: np.ndarray) -> float:
    """Shoelace formula."""
    x, y = ring.T
    return abs(float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())) / 2
