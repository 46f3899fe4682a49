"""Pieces drawn: what the words say is true where they stand, from the face and from the back."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.output.piece.drawing import text_box, text_size
from scribe.output.piece.mirror import mirror
from scribe.piece import Piece
from tests.output.drawn import drawn, is_inside, views, words


@pytest.mark.parametrize("mirrored", [False, True])
def test_keep_and_waste_stand_where_they_are_true(piece: Piece, mirrored: bool) -> None:
    """A label on the wrong side is the classic disaster: each lies inside the area it names."""
    flip = np.array([-1.0, 1.0]) if mirrored else np.ones(2)
    kept, fallen = (
        [flip * frame.inverse().apply(at) for frame, view in views(piece, mirrored=mirrored)
         for at in words(view, said)]
        for said in ("KEEP", "WASTE")
    )  # fmt: skip
    assert kept
    assert all(is_inside(piece.keep, at) for at in kept)
    assert all(any(is_inside(part, at) for part in piece.waste) for at in fallen)


@pytest.mark.parametrize("mirrored", [False, True])
def test_words_inside_touch_neither_each_other_nor_a_cut(piece: Piece, mirrored: bool) -> None:
    for _, view in views(piece, mirrored=mirrored):
        lines = np.vstack([path.points for path in view.layer("cut").paths])
        boxes = [(t.words, text_box(t)) for t in view.layer("labels").texts]
        for k, (name, (a, b, c, d)) in enumerate(boxes):
            hit = ((lines > [a, b]) & (lines < [c, d])).all(axis=1)
            assert not hit.any() or name == "WASTE", name
            for other, (e, f, g, h) in boxes[k + 1 :]:
                assert c <= e or g <= a or d <= f or h <= b, (name, other)


def test_mirrored_is_unmistakable_and_exact(piece: Piece) -> None:
    face, back = drawn(piece), drawn(piece, mirrored=True)
    for one, two in zip(face.layer("cut").paths, back.layer("cut").paths, strict=True):
        assert two.points == pytest.approx(one.points * [-1, 1])
    assert not words(face, "MIRRORED")
    for _, view in views(piece, mirrored=True):
        assert words(view, "MIRRORED")
        assert words(view, "BACK")
        assert not words(view, "FACE")


def test_mirrored_twice_is_the_piece(piece: Piece) -> None:
    again = mirror(mirror(piece))
    assert np.array_equal(again.keep.outer, piece.keep.outer)
    for one, two in zip(again.cuts, piece.cuts, strict=True):
        assert np.array_equal(one.line, two.line)
        assert (one.keep, one.name, one.edge) == (two.keep, two.name, two.edge)
    assert np.array_equal(again.up, piece.up)


def test_check_distance_is_between_its_crosses(piece: Piece) -> None:
    check = drawn(piece).check
    start, end = np.array(check.start), np.array(check.end)
    assert np.hypot(*(end - start)) == pytest.approx(check.length)
    assert check.length == int(check.length)
    assert is_inside(piece.keep, start)
    assert is_inside(piece.keep, end)


def test_text_size_is_on_the_generous_side() -> None:
    """Against reportlab's own metrics of Helvetica: never narrower than the ink."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    from scribe.output.pages.on_canvas import CAP
    from scribe.output.piece.drawing import Text

    for said, bold in (("KEEP", True), ("FACE - seen when fitted", True), ("notched panel", False),
                       ("120: 13.4", False), ("WALL SIDE: chimney", True)):  # fmt: skip
        font = "Helvetica-Bold" if bold else "Helvetica"
        true = stringWidth(said, font, 5.0 / CAP)
        width, _ = text_size(Text((0, 0), said, 5.0, bold=bold))
        assert true <= width <= 1.45 * true, said
