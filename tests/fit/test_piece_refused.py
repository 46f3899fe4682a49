"""Pieces that can't be fitted, and what is said of them."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.job import Distance, EdgeJob
from scribe.piece import Blank, Polygon
from tests.fit.by_hand import fit, outline, rectangle, refusal, rows


def test_a_blank_too_small_says_by_how_much_and_where():
    wall = outline([[0, 0], [410, 3.2], [600, 0]])
    error = refusal(
        rectangle(600, 60), EdgeJob("wall", "top", placing=Distance(60)), outlines={"wall": wall}
    )
    assert error.kind == "blank-too-small"
    assert "3.2 mm more is needed at station 410 from the left end" in error.what


def test_an_outline_that_would_have_to_be_mirrored_is_refused():
    # Said to begin at the left, with the building below: it can't lie along a top edge.
    wall = outline([[0, 0], [600, -6]], "right")
    error = refusal(rectangle(600, 60), EdgeJob("wall", "top"), outlines={"wall": wall})
    assert error.kind == "outline-faces-away"
    assert "bottom" in error.do
    turned = fit(rectangle(600, 60), EdgeJob("wall", "top", start="right"), outlines={"wall": wall})
    # Turned by half a turn: its station 0 at the right, where 6 - 6 = 0 mm ... 6 at the left.
    assert rows(turned.cuts[0])[0.0, "end"][0] == pytest.approx(6.0, abs=1e-3)


@pytest.mark.parametrize(("beyond", "fits"), [(None, False), (39.0, False), (40.0, True)])
def test_past_the_measured_part_the_job_must_allow_it(beyond, fits):
    wall = outline([[0, 0], [560, 0]])
    edge = EdgeJob("wall", "top", beyond=beyond)
    if fits:
        piece = fit(rectangle(600, 60), edge, outlines={"wall": wall})
        assert any("last 40 mm" in note for note in piece.notes)
        assert not piece.cuts[0].removal.measured[-1]
        assert piece.cuts[0].removal.measured[0]
    else:
        error = refusal(rectangle(600, 60), edge, outlines={"wall": wall})
        assert error.kind == "outline-too-short"
        assert "40 mm beyond" in error.what
        assert "station 560" in error.what
        assert "{beyond:40}" in error.do


def test_an_outline_that_lies_elsewhere_is_brought_to_the_edge():
    """Drawn from -1000 to -400: station 1000 brings its beginning to the left end, and it fits."""
    wall = outline([[-1000, 0], [-400, 0]])
    error = refusal(rectangle(600, 60), EdgeJob("wall", "top"), outlines={"wall": wall})
    assert error.kind == "outline-too-short"
    assert "reaches from -1000 to -400 there: {station:1000} to bring" in error.do
    assert fit(rectangle(600, 60), EdgeJob("wall", "top", station=1000.0), outlines={"wall": wall})


def test_a_table_in_the_wrong_unit_is_asked_after_rather_than_gone_on_with():
    """60 typed for 60 cm: ten times as much as was measured would have to go straight on."""
    wall = outline([[0, 0], [60, 0]])
    error = refusal(rectangle(600, 60), EdgeJob("wall", "top"), outlines={"wall": wall})
    assert error.kind == "outline-too-short"
    assert "look at its unit, for only 60 mm were measured" in error.do
    assert "beyond" not in error.do


def test_too_narrow_a_piece_is_refused():
    wall = outline([[0, 0], [300, -20], [600, 0]])
    edge = EdgeJob("wall", "top", minimum_width=45.0)
    error = refusal(rectangle(600, 60), edge, outlines={"wall": wall})
    assert error.kind == "piece-too-narrow"
    assert "only 40 mm is left at station 300" in error.what
    assert "5 mm wider" in error.do
    fit(rectangle(600, 60), EdgeJob("wall", "top", minimum_width=40.0), outlines={"wall": wall})


def test_too_wide_a_piece_is_refused():
    wall = outline([[0, 0], [300, -20], [600, 0]])
    error = refusal(
        rectangle(600, 60),
        EdgeJob("wall", "top", placing=Distance(60.0), maximum_width=55.0),
        outlines={"wall": wall},
    )
    assert error.kind == "piece-too-wide"
    assert "60 mm is left at station" in error.what
    assert "5 mm narrower" in error.do
    fit(rectangle(600, 60), EdgeJob("wall", "top", maximum_width=60.0), outlines={"wall": wall})


def test_a_cut_right_through_is_refused():
    wall = outline([[0, 0], [300, -100], [600, 0]])
    error = refusal(rectangle(600, 60), EdgeJob("wall", "top"), outlines={"wall": wall})
    assert error.kind == "piece-falls-apart"
    gone = refusal(
        rectangle(600, 60), EdgeJob("wall", "top", placing=Distance(-200)), outlines={"wall": wall}
    )
    assert gone.kind == "piece-all-waste"


@pytest.mark.parametrize(
    ("points", "kind"),
    [
        ([[0, 0], [300, 10], [200, -10], [200, 30], [600, 0]], "outline-crosses-itself"),
        ([[0, 0], [1, 300]], "outline-square-to-datum"),
    ],
)
def test_an_outline_that_bounds_nothing_is_refused(points, kind):
    error = refusal(rectangle(600, 60), EdgeJob("wall", "top"), outlines={"wall": outline(points)})
    assert error.kind == kind


def test_a_blank_that_bounds_nothing_is_refused():
    blank = Blank(Polygon(np.array([[0.0, 0], [600, 60], [600, 0], [0, 50]])))
    error = refusal(blank, EdgeJob("wall", "top"), outlines={"wall": outline([[0, 0], [600, 0]])})
    assert error.kind == "blank-crosses-itself"


def test_an_edge_the_blank_does_not_have_is_refused():
    gable = Blank(Polygon(np.array([[0.0, 0], [600, 0], [300, 200]])))
    error = refusal(gable, EdgeJob("wall", "left"), outlines={"wall": outline([[0, 0], [600, 0]])})
    assert error.kind == "blank-edge"


def test_an_edge_of_which_the_others_leave_nothing_is_refused():
    outlines = {"left": outline([[0, 0], [60, 0]]), "top": outline([[0, 0], [600, 0]])}
    error = refusal(
        rectangle(600, 60),
        EdgeJob("left", "left", placing=Distance(-10.0)),
        EdgeJob("top", "top"),
        outlines=outlines,
    )
    assert error.kind == "edge-all-waste"
