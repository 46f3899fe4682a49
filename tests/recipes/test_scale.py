"""The print scale told by the photo that is traced: a card beside a line, or the paper."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from scribe.capture.sheet.card import CardSeen
from scribe.errors import ScribeError
from scribe.print_scale import stated
from scribe.recipes.scale import refuse_card_traced
from scribe.recipes.trace import trace
from scribe.source import PhotoSource
from tests.scenes.card import with_card
from tests.scenes.scene import make_scene

PRINTED = (0.9962, 1.0031)


def test_a_card_beside_a_line(tmp_path: Path) -> None:
    line = make_scene("line", 4, megapixels=4, print_scale=PRINTED, height=0.0, material="plain")
    photo = with_card(line, (105.0, 80.0), 0.1, 0.25).write(tmp_path)
    source = PhotoSource((photo,), "line", height=0.0, scale_by=("card",))
    traced = trace(source)
    assert "by a bank card" in traced.facts["print scale"]
    assert abs(traced.outline.points[:, 1].mean() - line.truth[:, 1].mean()) < 2.0
    with pytest.raises(ScribeError) as caught:
        trace(replace(source, print_scale=stated(0.97, 1.0)))
    assert caught.value.kind == "print-scale-contradicts"
    on_the_line = CardSeen(stated(1.0, 1.0), traced.outline.points[[0, 20, 40, 60]])
    with pytest.raises(ScribeError) as along:
        refuse_card_traced(traced.outline, on_the_line, photo)
    assert along.value.kind == "card-traced"
    with pytest.raises(ScribeError) as board:
        trace(replace(source, target=tmp_path / "board.toml"))
    assert board.value.kind == "scale-by-board"


def test_paper_that_is_not_in_the_photo(tmp_path: Path) -> None:
    """A photo cropped to the marks: the paper's edges are outside of it."""
    line = make_scene("line", 4, megapixels=3, height=0.0, material="plain", fill=1.25)
    photo = line.write(tmp_path)
    with pytest.raises(ScribeError) as caught:
        trace(PhotoSource((photo,), "line", height=0.0, scale_by=("paper",)))
    assert caught.value.kind == "paper-not-seen"
