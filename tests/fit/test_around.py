"""A cut that takes a whole end of the blank: by hand, each part along its own edge."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from scribe.datum import Datum
from scribe.fit.piece import fit_piece
from scribe.job import Distance, EdgeJob, PieceJob
from scribe.outline import Outline
from scribe.piece import Blank, Piece, Polygon

# A ceiling that falls from the wall with 1 in 50, a wall along the datum, and the front of a
# skirting 15 mm thick whose face leans by 1 in 100; then its own face.
SIDE = [[-10.0, -200.0], [-6.0, 0.0], [300.0, 0.0], [300.15, -15.0], [420.0, -15.0]]


def fitted(points=SIDE, **more) -> Piece:
    outline = Outline(
        np.array(points, float),
        np.full(len(points), 0.1),
        "left",
        datum=Datum(np.zeros(2), np.array([1.0, 0.0]), "two points", "left"),
    )
    blank = Blank(Polygon(np.array([[0.0, 0], [400, 0], [400, 100], [0, 100]])))
    edge = EdgeJob("side", "top", placing=Distance(98.0), station=10.0, **more)
    return fit_piece(PieceJob("fascia", blank, (edge,), step=50.0), {"side": outline})


def test_the_end_is_measured_along_the_end() -> None:
    """The ceiling's line passes (-6, 0) and falls 4 on 200: on the blank, with station 10 and the
    datum at 98, it is x = 4 - (98 - y) / 50: at the foot 2.04 come off, at 98 it is 4.
    """
    top, left = fitted().cuts
    assert (top.edge, top.from_end, left.edge, left.from_end) == ("top", "left", "left", "bottom")
    inner = left.removal.station <= 98.0
    expected = 4.0 - (98.0 - left.removal.station) / 50.0
    np.testing.assert_allclose(left.removal.remove[inner], expected[inner], atol=1e-4)
    # GUM 5.1.2: u sqrt(1 + 0.02^2), where all of it lay at one station it was 50 times as much.
    np.testing.assert_allclose(left.removal.u, 0.1 * np.sqrt(1.0004), rtol=1e-3)
    assert left.removal.width_left[0] == pytest.approx(400.0 - 2.04, abs=1e-3)


def test_both_parts_are_the_border_and_meet_in_one_point() -> None:
    piece = fitted()
    top, left = piece.cuts
    np.testing.assert_array_equal(left.line[-1], top.line[0])
    border = shapely.Polygon(piece.keep.outer).boundary
    for cut in piece.cuts:
        assert border.buffer(1e-6).contains(shapely.LineString(cut.line))
        inside = cut.line.mean(axis=0) - 5.0 * cut.out
        (ax, ay), (bx, by) = cut.line[-1] - cut.line[0], inside - cut.line[0]
        assert (ax * by - ay * bx > 0.0) == (cut.keep == "left")


def test_the_width_of_the_rest_is_that_beside_the_notch() -> None:
    """With the end in the same table nothing would be left at its first station."""
    assert len(fitted(minimum_width=83.0).cuts) == 2
    assert not fitted().cuts[0].removal.steep.any()


def test_a_leaning_face_of_a_skirting_is_one_corner_of_two_rows() -> None:
    """Between 310 and 310.15 the cut falls 15 mm: 2 come off before and 17 after, and the slope of
    100 makes no U of tens of mm.
    """
    table = fitted().cuts[0].removal
    corner = np.array([kind == "corner" for kind in table.kind])
    np.testing.assert_allclose(table.station[corner], [310.0, 310.15], atol=1e-6)
    np.testing.assert_allclose(table.remove[corner], [2.0, 17.0], atol=1e-3)
    assert table.u.max() < 0.11


def test_a_row_on_a_long_steep_part_says_so() -> None:
    """72 degrees over 100 mm of depth: stations 350 lies on it; U is that across the cut."""
    points = [[-20.0, 0.0], [325.0, 0.0], [350.0, -75.0], [420.0, -75.0]]
    table = fitted(points).cuts[0].removal
    steep = table.steep
    assert table.station[steep] == pytest.approx([350.0])
    assert table.remove[steep] == pytest.approx([2.0 + 45.0], abs=1e-3)
    assert table.u[steep] == pytest.approx([0.1])


def test_an_end_that_is_there_still_is_no_edge_of_its_own() -> None:
    """A notch of 90 mm at the end leaves 10 mm of the blank's own end: one table has both."""
    points = [[-30.0, -88.0], [30.0, -88.0], [30.0, 0.0], [420.0, 0.0]]
    (cut,) = fitted(points).cuts
    assert cut.removal.remove[0] == pytest.approx(90.0, abs=1e-3)
