"""What is stated, guessed and seen of a height, weighed; and what can't be."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from scribe.capture.edges.cast_shadow import Shadow
from scribe.capture.edges.near_side import Side
from scribe.capture.several import Height
from scribe.errors import ScribeError
from scribe.recipes.height import (
    before_photos,
    beside_shadow,
    beside_side,
    on_thing,
    refuse_contradicted,
    settled_height,
)
from scribe.source import PhotoSource

PAIR = (Path("a.jpg"), Path("b.jpg"))


def seen(height: float, u: float = 0.1) -> Height:
    return Height(height, u, 0.01, 0.01)


def refused(source: PhotoSource, found: Height) -> str:
    with pytest.raises(ScribeError) as caught:
        refuse_contradicted(before_photos(source), found, source, "a.jpg, b.jpg")
    return caught.value.kind


def test_stated_and_seen_are_weighed() -> None:
    """The mean of two by their weights, and its u: GUM, by hand for equal u."""
    source = PhotoSource(PAIR, "edge", height=6.0)
    known = settled_height(before_photos(source), seen(6.2), source, 2)
    assert known.height == pytest.approx(6.1)
    assert known.u == pytest.approx(0.1 / np.sqrt(2.0))
    refuse_contradicted(before_photos(source), seen(6.2), source, "a, b")


def test_a_line_on_a_board_is_found_by_two_photos() -> None:
    """Alone a line counts as lying on the sheet; photos that put it 18 mm up are believed."""
    source = PhotoSource(PAIR, "line")
    before = before_photos(source)
    known = settled_height(before, seen(18.0), source, 2)
    assert (known.height, known.u) == (18.0, 0.1)
    refuse_contradicted(before, seen(18.0), source, "a, b")


def test_photos_from_one_side_leave_the_guess() -> None:
    source = PhotoSource(PAIR, "gauge")
    known = settled_height(before_photos(source), seen(11.0, 6.0), source, 2)
    assert "same side" in known.words
    assert 5.0 < known.height < 6.5
    assert known.u > 2.0
    assert "11 +/- 12 mm" in known.words
    nothing = settled_height(before_photos(source), seen(0.0, 4.5e6), source, 2)
    assert nothing.words.endswith("same side to tell it")


def test_what_was_stated_is_contradicted() -> None:
    assert refused(PhotoSource(PAIR, "edge", height=3.0), seen(6.0)) == "height-contradicts"


def test_a_gauge_does_not_lie_so_high() -> None:
    """A gauge that was shifted between two photos looks like one that lies higher."""
    assert refused(PhotoSource(PAIR, "gauge"), seen(16.0)) == "height-contradicts"


def test_nothing_lies_below_the_sheet() -> None:
    assert refused(PhotoSource(PAIR, "edge"), seen(-2.0)) == "below-sheet"
    source = PhotoSource(PAIR, "line")
    refuse_contradicted(before_photos(source), seen(-0.2), source, "a, b")


ALONE = (Path("a.jpg"),)
SIDE = Side(16.0, 0.5, 0.3)


def test_one_photo_of_a_line_on_a_board_yields_to_the_side_it_shows() -> None:
    """Taken as lying on the sheet, such a line would be off by the whole board, unseen."""
    source = PhotoSource(ALONE, "line")
    known = beside_side(before_photos(source), SIDE, source)
    assert (known.height, known.u) == (16.0, SIDE.u)
    assert "by the side that is seen" in known.words


def test_a_line_on_a_board_of_which_nothing_is_seen_is_as_high_as_nobody_knows() -> None:
    """A board of 18 mm (a usual thickness, common practice) must lie within U."""
    source = PhotoSource(ALONE, "line")
    known = on_thing(before_photos(source), source)
    assert known.height - 2.0 * known.u < 0.0 < 18.0 < known.height + 2.0 * known.u
    assert beside_shadow(known, None, source) == known


def test_no_edge_lies_in_the_plane_of_the_sheet() -> None:
    source = PhotoSource(ALONE, "edge", height=0.0)
    with pytest.raises(ScribeError) as caught:
        on_thing(before_photos(source), source)
    assert caught.value.kind == "height-not-credible"
    source = PhotoSource(ALONE, "edge", height=0.3)
    assert on_thing(before_photos(source), source) == before_photos(source)


def test_a_stated_height_is_kept_beside_a_side_like_it() -> None:
    source = PhotoSource(ALONE, "edge", height=15.0)
    known = beside_side(before_photos(source), SIDE, source)
    assert (known.height, known.u, known.alone) == (15.0, 0.1, False)
    assert "side that is seen" in known.words


@pytest.mark.parametrize("height", [0.0, 150.0])
def test_a_height_that_the_side_denies(height: float) -> None:
    source = PhotoSource(ALONE, "edge", height=height)
    with pytest.raises(ScribeError) as caught:
        beside_side(before_photos(source), SIDE, source)
    assert caught.value.kind == "height-contradicts"


def test_a_height_that_nothing_bears_out() -> None:
    """6 mm is taken on its word, 60 isn't: thicker than a worktop (common practice)."""
    source = PhotoSource(ALONE, "edge", height=6.0)
    assert beside_shadow(before_photos(source), None, source).alone
    source = PhotoSource(ALONE, "edge", height=60.0)
    with pytest.raises(ScribeError) as caught:
        beside_shadow(before_photos(source), None, source)
    assert caught.value.kind == "height-not-credible"


def test_a_shadow_tells_a_flat_thing_from_one_that_stands_up() -> None:
    """A lamp 10 degrees high casts 7 mm of shadow from 7 tan(10 deg) = 1.23 mm."""
    shadow = Shadow(7.0)
    for height, denied in ((0.0, True), (1.2, True), (1.3, False), (18.0, False)):
        source = PhotoSource(ALONE, "edge", height=height)
        if denied:
            with pytest.raises(ScribeError) as caught:
                beside_shadow(before_photos(source), shadow, source)
            assert caught.value.kind == "height-contradicts"
        else:
            assert beside_shadow(before_photos(source), shadow, source).height == height


@pytest.mark.parametrize("width", [7.0, 16.0])
def test_a_line_on_a_board_that_casts_a_shadow_does_not_lie_on_the_sheet(width: float) -> None:
    """Nobody stated it: under lamps of 10 to 70 degrees a shadow of 7 mm needs 1.2 to 19.2 mm, one
    of 16 mm 2.8 to 44 mm, all within U.
    """
    source = PhotoSource(ALONE, "line")
    known = beside_shadow(on_thing(before_photos(source), source), Shadow(width), source)
    assert ("by its shadow" in known.words) == (width > 13.4)  # then it may be above 24 mm
    for lamp_deg in (10.0, 70.0):
        true = width * np.tan(np.radians(lamp_deg))
        assert abs(true - known.height) < 2.0 * known.u
