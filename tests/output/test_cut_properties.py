"""What holds for every piece on its way out: no number too large, no line in the wood that stays,
and a mirror image of a mirror image is the piece itself. Shapely measures.
"""

from __future__ import annotations

import csv
import io

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from scribe.fit.piece import fit_piece
from scribe.job import EdgeJob, PieceJob
from scribe.outline import Outline
from scribe.output.piece.mirror import mirror
from scribe.output.piece.passes import mark_rows
from scribe.output.piece.table import removal_csv, removal_rows
from scribe.piece import Blank, Piece, Polygon
from scribe.quantity import format_u

LENGTH, WIDTH = 400.0, 120.0
HEIGHTS = st.lists(st.floats(-12, 12), min_size=3, max_size=10)
CLEARANCE = st.sampled_from([0.0, 0.5, 4.0])


def fitted(heights: list[float], clearance: float) -> Piece:
    x = np.linspace(-5.0, LENGTH + 5.0, len(heights))
    wall = Outline(np.column_stack([x, heights]), np.full(len(x), 0.07), "left")
    blank = Blank(Polygon(np.array([[0.0, 0], [LENGTH, 0], [LENGTH, WIDTH], [0, WIDTH]])), 18.0)
    edge = EdgeJob("wall", "top", clearance=clearance)
    return fit_piece(PieceJob("p", blank, (edge,), step=37.0), {"wall": wall})


def taken_off(piece: Piece, station: float) -> float:
    """mm from the blank's upper edge down to the wood that stays, as shapely has it."""
    line = shapely.LineString([(station, -1.0), (station, WIDTH + 1.0)])
    kept = shapely.intersection(shapely.Polygon(piece.keep.outer), line)
    return WIDTH - float(shapely.bounds(kept)[3])


@settings(max_examples=8)
@given(HEIGHTS, CLEARANCE)
def test_no_number_takes_more_than_there_is(heights: list[float], clearance: float) -> None:
    piece = fitted(heights, clearance)
    (cut,) = piece.cuts
    exact = cut.removal.remove
    inner = np.clip(cut.removal.station, 1e-3, LENGTH - 1e-3)
    measured = np.array([taken_off(piece, float(s)) for s in inner])
    # The end rows are read 1e-3 mm beside, and slopes are 24 * 9 / 410 at most.
    np.testing.assert_allclose(exact, measured, atol=1e-3)
    rows = list(csv.DictReader(io.StringIO(removal_csv(piece))))
    assert all(float(row["remove_mm"]) <= r for row, r in zip(rows, exact, strict=True))
    # U is up to the hundredth, but for what a computer's rounding adds.
    U = 2.0 * cut.removal.u
    assert all(float(row["u95_mm"]) >= each - 1e-9 for row, each in zip(rows, U, strict=True))
    printed = [float(row[1]) for row in removal_rows(cut)]
    assert all(p <= r for p, r in zip(printed, exact, strict=True))
    # Nor does the width that is left, measured from the other edge: up to a step more.
    left = cut.removal.width_left
    told = [(float(row["width_left_mm"]), float(by_hand[3]))
            for row, by_hand in zip(rows, removal_rows(cut), strict=True)]  # fmt: skip
    for (in_file, on_paper), there in zip(told, left, strict=True):
        assert -1e-9 <= in_file - there <= 0.01
        assert -1e-9 <= on_paper - there <= 0.1
    said = format_u(float(exact.max()), 2 * float(cut.removal.u.max()), down=True)
    assert float(said.split(" ")[0]) <= exact.max()
    for marks in cut.marks:
        for station, marked in mark_rows(marks):
            at = min(max(float(station), 1e-3), LENGTH - 1e-3)
            # A station that isn't a whole mm is written to a tenth: 0.05 mm on that slope.
            slack = 0.0 if float(station) == round(float(station)) else 0.05 * 24 * 9 / 410
            assert float(marked) <= taken_off(piece, at) + slack + 1e-3


@settings(max_examples=8)
@given(HEIGHTS, CLEARANCE)
def test_no_cut_enters_the_wood_that_stays(heights: list[float], clearance: float) -> None:
    piece = fitted(heights, clearance)
    keep = shapely.Polygon(piece.keep.outer)
    for cut in piece.cuts:
        assert keep.buffer(-1e-6).intersection(shapely.LineString(cut.line)).length == 0.0
        # And the side that is said to be kept is: a step to that side lies in the piece.
        middle = (cut.line[:-1] + cut.line[1:]) / 2.0
        along = np.diff(cut.line, axis=0)
        long = np.hypot(*along.T) > 0.1
        left = np.column_stack([-along[:, 1], along[:, 0]]) / np.hypot(*along.T)[:, None]
        step = 1e-3 * (left if cut.keep == "left" else -left)
        assert shapely.contains_xy(keep, *(middle + step)[long].T).all()
        assert not shapely.contains_xy(keep, *(middle - step)[long].T).any()


@settings(max_examples=5)
@given(HEIGHTS, CLEARANCE)
def test_mirrored_twice_is_the_same(heights: list[float], clearance: float) -> None:
    piece = fitted(heights, clearance)
    once, twice = mirror(piece), mirror(mirror(piece))
    assert not np.array_equal(once.keep.outer, piece.keep.outer)
    np.testing.assert_array_equal(twice.keep.outer, piece.keep.outer)
    np.testing.assert_array_equal(twice.up, piece.up)
    for one, other in zip(twice.waste, piece.waste, strict=True):
        np.testing.assert_array_equal(one.outer, other.outer)
    for one, other in zip(twice.cuts, piece.cuts, strict=True):
        for name in ("line", "start", "along", "out"):
            np.testing.assert_array_equal(getattr(one, name), getattr(other, name))
        assert (one.keep, one.edge, one.from_end) == (other.keep, other.edge, other.from_end)
    for one, other in zip(twice.room, piece.room, strict=True):
        np.testing.assert_array_equal(one.outline.points, other.outline.points)
        assert one.outline.solid == other.outline.solid
