"""Outlines shaped as a job says, and no turn of a sheet or drawing taken for another."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from scribe.errors import ScribeError
from scribe.facing import Building, axis_facing, side_facing
from scribe.fit.piece import fit_piece
from scribe.job import DatumChoice, EdgeJob, OutlineJob, PieceJob
from scribe.outline import Outline
from scribe.piece import Blank, Polygon
from scribe.recipes.shaping import SHEET_END, shaped
from scribe.source import FileSource, PhotoSource

PHOTO = PhotoSource((Path("wall.jpg"),), "gauge", building="above")
BLANK = Blank(Polygon(np.array([[0.0, 0], [300, 0], [300, 60], [0, 60]])))
CHORD = DatumChoice("chord")


def drawn(points: list[list[float]], building: Building = "above") -> Outline:
    array = np.array(points, float)
    return Outline(
        array,
        np.full(len(array), 0.1),
        side_facing(array, building, "drawing"),
        datum=axis_facing(building),
    )


def csv(building: Building) -> FileSource:
    return FileSource(Path("wall.csv"), building)


def fit(outline: Outline, edge: str, **more: object) -> object:
    job = PieceJob("p", BLANK, (EdgeJob("wall", edge, **more),))
    return fit_piece(job, {"wall": outline})


def test_a_photo_takes_its_chord_and_names_no_end() -> None:
    raw = drawn([[20, 30], [100, 45], [320, 70]])
    outline = shaped(raw, OutlineJob("wall", PHOTO))
    assert outline.datum.association == "chord"
    assert outline.datum.end == SHEET_END
    np.testing.assert_allclose(outline.points[[0, -1], 1], 0.0, atol=1e-9)
    # hypot(300, 40), from the first point.
    np.testing.assert_allclose(outline.points[[0, -1], 0], [0, np.hypot(300, 40)], atol=1e-9)
    # Which way up the sheet lay says nothing about the room: it fits a floor as well.
    fit(outline, "top")
    fit(outline, "bottom")


def test_the_fitter_names_the_end() -> None:
    outline = shaped(drawn([[0, 0], [300, 5]]), OutlineJob("wall", PHOTO, end="left"))
    fit(outline, "top")
    with pytest.raises(ScribeError) as caught:
        fit(outline, "bottom")
    assert caught.value.kind == "outline-faces-away"


@pytest.mark.parametrize("datum", [None, DatumChoice("sheet axis"), CHORD])
@pytest.mark.parametrize(
    ("building", "edge", "other"), [("above", "top", "bottom"), ("below", "bottom", "top")]
)
def test_a_drawing_is_not_turned_upside_down(
    datum: DatumChoice | None, building: Building, edge: str, other: str
) -> None:
    raw = drawn([[0, 0], [150, 4], [300, 0]], building)
    outline = shaped(raw, OutlineJob("wall", csv(building), datum=datum))
    fit(outline, edge)
    with pytest.raises(ScribeError) as caught:
        fit(outline, other)
    assert caught.value.kind == "outline-faces-away"


@pytest.mark.parametrize("datum", [None, CHORD])
def test_the_datum_changes_no_shape(datum: DatumChoice | None) -> None:
    # 5 mm of hollow in the middle of a floor, drawn from the left; nothing comes off there.
    raw = drawn([[0, 0], [150, -5], [300, 0]], "below")
    piece = fit(shaped(raw, OutlineJob("wall", csv("below"), datum=datum)), "bottom")
    table = piece.cuts[0].removal
    np.testing.assert_allclose(
        np.interp([1, 150, 299], table.station, table.remove),
        [5 - 1 / 30, 0, 5 - 1 / 30],
        atol=1e-3,
    )


def test_washer_and_block_are_undone_along_the_datum_that_was_chosen() -> None:
    slope = drawn([[0, 0], [300, 300]])
    # A block held square to the sheet's axis: the wall lies 20 higher everywhere.
    block = shaped(slope, OutlineJob("w", csv("above"), block=20.0))
    np.testing.assert_allclose(block.points, slope.points + np.array([0, 20]), atol=1e-9)
    # A washer: 20 square to the slope, that is 20 * sqrt(2) higher at the same station.
    washer = shaped(slope, OutlineJob("w", csv("above"), washer=20.0))
    rise = washer.points[:, 1] - washer.points[:, 0]
    np.testing.assert_allclose(rise, 20 * np.sqrt(2), atol=1e-9)
    # The block held square to the chord shifts along it like the washer.
    chord = shaped(slope, OutlineJob("w", csv("above"), block=20.0, datum=CHORD))
    np.testing.assert_allclose(chord.points[:, 1], 20.0, atol=1e-9)


def test_two_points_and_smoothing() -> None:
    x = np.linspace(0, 300, 601)
    raw = drawn(np.column_stack([x, 0.1 * x + 0.2 * np.sin(2 * np.pi * x / 2)]).tolist())
    choice = DatumChoice("two points", ((0.0, 0.0), (100.0, 10.0)))
    outline = shaped(raw, OutlineJob("w", csv("above"), smooth=20.0, datum=choice))
    # A wave of 2 mm at a cutoff of 20 mm is gone (ISO 16610-21: 2^-(10^2)); the slope is level.
    inner = np.abs(outline.points[:, 0] - 150) < 100
    np.testing.assert_allclose(outline.points[inner, 1], 0.0, atol=0.01)
