"""The small picture of a piece in place: it says what the piece says, inside its frame."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scribe.fit.piece import fit_piece
from scribe.job import Edge, EdgeJob, PieceJob
from scribe.outline import Outline
from scribe.output.piece.draw_piece import draw
from scribe.output.piece.drawing import Path, text_box
from scribe.output.piece.pictogram import Picture, in_place, turned_over
from scribe.piece import Blank, Piece, Polygon

SIZE = (62.0, 46.0)
# With the building on the left, stations run clockwise round a piece seen from its face.
START: dict[Edge, Edge] = {"left": "bottom", "top": "left", "right": "top", "bottom": "right"}


def said(picture: Picture) -> set[str]:
    return {text.words for text in picture.texts}


def hatches(picture: Picture) -> list[Path]:
    return [path for path in picture.paths if path.kind == "thin" and len(path.points) == 2]


@pytest.mark.parametrize("edge", ["left", "right", "top", "bottom"])
@pytest.mark.parametrize("size", [(600.0, 100.0), (100.0, 600.0), (220.0, 115.0), (80.0, 80.0)])
def test_blanks_of_every_form_lie_inside_the_frame(edge: Edge, size: tuple[float, float]) -> None:
    """The words beside the arrow too, whichever way the piece is pushed."""
    x = np.linspace(0.0, 600.0, 301)
    wall = Outline(np.column_stack([x, 2.0 * np.sin(x / 30.0)]), np.full(301, 0.05), "left")
    wide, high = size
    blank = Blank(Polygon(np.array([[0.0, 0.0], [wide, 0.0], [wide, high], [0.0, high]])))
    made = fit_piece(
        PieceJob("board", blank, (EdgeJob("wall", edge, start=START[edge]),)), {"wall": wall}, ()
    )
    test_everything_lies_inside_its_frame(made)


def test_everything_lies_inside_its_frame(piece: Piece) -> None:
    for picture in (in_place(piece, SIZE), turned_over(piece, SIZE)):
        boxes = [text_box(text) for text in picture.texts]
        points = np.vstack([path.points for path in picture.paths])
        low = np.min([*points.tolist(), *(box[:2] for box in boxes)], axis=0)
        high = np.max([*points.tolist(), *(box[2:] for box in boxes)], axis=0)
        assert (low >= -0.01).all(), low
        assert (high <= np.array(SIZE) + 0.01).all(), high


def test_every_scribed_edge_is_named_thick_and_backed_by_solid(piece: Piece) -> None:
    picture = in_place(piece, SIZE)
    assert {cut.name for cut in piece.cuts} <= said(picture)
    thick = [path for path in picture.paths if path.kind == "cut" and len(path.points) > 3]
    assert len(thick) >= len(piece.cuts)
    assert hatches(picture)


def test_the_faces_can_not_be_taken_for_each_other(piece: Piece) -> None:
    """Only the face is shown in its place; the back is the board by itself, turned over."""
    face, back = in_place(piece, SIZE), turned_over(piece, SIZE)
    assert "FACE" in said(face)
    assert "BACK" not in said(face)
    assert "BACK" in said(back)
    assert "FACE" not in said(back)
    assert not hatches(back)
    # Turned round a plumb line: what was left is right, up stays up.
    middle = SIZE[0] / 2.0
    for one, other in zip(
        (p for p in face.paths if p.kind == "thin" and p.closed),
        (p for p in back.paths if p.kind == "thin" and p.closed),
        strict=True,
    ):
        turned = [[2 * middle - x, y] for x, y in one.points.tolist()]
        assert np.array(sorted(turned)) == pytest.approx(np.array(sorted(other.points.tolist())))


def test_the_solid_stands_outside_of_the_piece(made: dict[str, Piece]) -> None:
    """A strip scribed at its top: all hatching lies above its lower side, beyond the cut."""
    picture = in_place(made["long strip"], SIZE)
    border = next(path for path in picture.paths if path.closed).points
    top = border[:, 1].max()
    assert min(path.points[:, 1].min() for path in hatches(picture)) > border[:, 1].min()
    assert max(path.points[:, 1].max() for path in hatches(picture)) > top
    assert "push home" in said(picture)
    trapped = said(in_place(made["trapped shelf"], SIZE))
    assert "push home" not in trapped
    assert "its way in is drawn" in trapped


def test_what_lies_level_has_no_edge_that_points_up(piece: Piece) -> None:
    """On template and pictures the arrow leads to the top edge; else it says UP."""
    level = replace(piece, level=True)
    for made, arrow, never in ((piece, "UP", "TOP"), (level, "TOP", "UP")):
        drawn = {text.words for text in draw(made).layer("labels").texts}
        shown = said(turned_over(made, SIZE)) | said(in_place(made, SIZE))
        assert arrow in drawn
        assert never not in drawn | shown
    if "as you see it fitted" in said(in_place(piece, SIZE)):  # else there is no room for it
        assert "seen from above" in said(in_place(level, SIZE))
