"""A height that was only stated, and that nothing in the photo bears out, is said beside U."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2
import pytest

import scribe
from scribe.geom.polyline import nearest
from scribe.places import COMMAND
from scribe.recipes.check import check, write_check
from scribe.recipes.check_source import CheckSource
from scribe.recipes.make import make_job
from scribe.recipes.trace import Traced, trace
from scribe.source import PhotoSource

STONE = Path(scribe.__file__).parent / "demo_data/stone.jpg"  # card, 4 mm high
RUN = Path(scribe.__file__).parents[1] / "fixtures/page"
SAYS = "U holds for a height of 4 mm above the sheet, which was only stated"


@pytest.fixture(scope="module")
def traced() -> Traced:
    return trace(PhotoSource((STONE,), "edge", height=4.0))


def test_what_a_millimetre_does_is_true(traced: Traced) -> None:
    """Traced a millimetre higher, the outline lies off by what was said at most, rounded up to a
    hundredth; the photo's noise doesn't change, and an edge is found again to a hundredth.
    """
    (sentence,) = traced.in_words(COMMAND).assumes
    assert sentence.startswith(SAYS)
    assert sentence.endswith("correct --height")
    told = float(re.findall(r"by up to ([\d.]+) mm", sentence)[0])
    higher = trace(PhotoSource((STONE,), "edge", height=5.0)).outline
    off = np.abs(nearest(higher.points[5:-5], traced.outline.points).distance)
    assert off.max() == pytest.approx(told, abs=0.02)


def test_it_stands_beside_u(traced: Traced) -> None:
    lines = traced.result_lines()
    at = next(k for k, line in enumerate(lines) if line.startswith("U (k = 2) of its shape"))
    assert lines[at + 1].startswith(SAYS)


def test_nothing_is_said_where_the_height_was_guessed() -> None:
    """Then it has a guess's U, and that is in the budget."""
    assert trace(PhotoSource((STONE,), "edge")).assumes == ()


def test_a_run_says_it_where_its_photos_tell_no_height() -> None:
    """Three photos that overlap tell how high the line lies; one alone tells nothing."""
    photos = [RUN / f"run-{k}.jpg" for k in (1, 2, 3)]
    run = PhotoSource(tuple(photos), "line", height=0.0, near=RUN / "run.csv")
    assert trace(run).assumes == ()
    one = replace(run, photos=(photos[1],))
    (sentence,) = trace(one).in_words(COMMAND).assumes
    assert sentence.startswith("U holds for a height of 0 mm above the board")
    assert trace(replace(one, height=None)).assumes == ()


def test_it_is_said_in_report_cover_and_check(tmp_path: Path) -> None:
    (tmp_path / "stone.jpg").write_bytes(STONE.read_bytes())
    (tmp_path / "job.toml").write_text(
        '[outline.stone]\nphoto = "stone.jpg"\nof = "edge"\nheight = 4\n[[piece]]\nname = "end"\n'
        "blank = { length = 120, width = 80, thickness = 4 }\n[[piece.edge]]\n"
        'outline = "stone"\nedge = "top"\n',
        "utf-8",
    )
    make_job(tmp_path / "job.toml", tmp_path / "made")
    report = (tmp_path / "made/report.html").read_text("utf-8")
    assert f"<b>{SAYS}" in report
    assert "correct &#39;height&#39; in the job file" in report
    document = pypdfium2.PdfDocument(tmp_path / "made/end.pdf")
    cover = " ".join(document[0].get_textpage().get_text_range().split())
    document.close()
    assert f"Outline 'stone': {SAYS}" in cover
    found = check(CheckSource(tmp_path / "job.toml", "end", (STONE,)))
    assert any(line.startswith(SAYS) for line in found.lines())
    write_check(found, tmp_path / "checked", force=False)
    page = (tmp_path / "checked/check.html").read_text("utf-8")
    assert f"<li>{SAYS}" in page
    assert "correct the height of the edge above the sheet." in page
