"""What holds for every piece: nothing is lost, nothing is cut too deep, and frames don't matter."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

import scribe.fit.piece
from scribe.datum import Datum
from scribe.fit.piece import fit_piece
from scribe.job import EDGES, EdgeJob, PieceJob
from scribe.outline import Outline
from scribe.piece import Blank, Polygon

LENGTH, WIDTH = 400.0, 120.0
HEIGHTS = st.lists(st.floats(-15, 15), min_size=3, max_size=12)
CLEARANCE = st.sampled_from([0.0, 0.5, 3.0, 12.0])


@pytest.fixture(scope="module", autouse=True)
def geometry_alone() -> Iterator[None]:
    """Which tool takes what, and where to mark the line, isn't looked at here, and takes most of
    a fit's time.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(scribe.fit.piece, "_work", lambda *_: (None, ()))
        yield


def wall(heights, solid="left"):
    x = np.linspace(-5.0, LENGTH + 5.0, len(heights))
    return Outline(np.column_stack([x, heights]), np.full(len(x), 0.1), solid)


def rectangle(length=LENGTH, width=WIDTH):
    return Blank(Polygon(np.array([[0.0, 0], [length, 0], [length, width], [0, width]])))


def fitted(outline, edge="top", blank=None, **more):
    job = PieceJob("p", blank or rectangle(), (EdgeJob("w", edge, **more),))
    return fit_piece(job, {"w": outline})


def polygon(shape):
    return shapely.Polygon(shape.outer, shape.holes)


@settings(max_examples=20)
@given(HEIGHTS, CLEARANCE)
def test_keep_and_waste_are_the_blank(heights, clearance):
    piece = fitted(wall(heights), clearance=clearance)
    keep, blank = polygon(piece.keep), polygon(piece.blank.shape)
    waste = shapely.union_all([polygon(part) for part in piece.waste])
    # Relative to 48000 mm^2, double precision leaves 1e-11; slivers under 1e-6 are dropped.
    assert abs(keep.area + waste.area - blank.area) <= 1e-6 * (1 + len(piece.waste))
    assert keep.intersection(waste).area <= 1e-6
    assert shapely.union_all([keep, waste]).symmetric_difference(blank).area <= 1e-5


@settings(max_examples=20)
@given(HEIGHTS, CLEARANCE)
def test_no_cut_enters_the_room_grown_by_its_clearance(heights, clearance):
    piece = fitted(wall(heights), clearance=clearance)
    face = shapely.LineString(piece.room[0].outline.points)
    # Arcs are drawn by chords that lie at most 2e-4 mm inside.
    assert shapely.distance(polygon(piece.keep), face) >= clearance - 3e-4
    # And the cut is no further off than it need be: each point of the line is that near.
    for cut in piece.cuts:
        gaps = shapely.distance(shapely.points(cut.line), face)
        inner = (cut.line[:, 0] > 1e-6) & (cut.line[:, 0] < LENGTH - 1e-6)
        assert gaps[inner].max(initial=clearance) <= clearance + 3e-4


@settings(max_examples=20)
@given(HEIGHTS, CLEARANCE)
def test_touching_takes_off_as_little_as_possible(heights, clearance):
    removed = fitted(wall(heights), clearance=clearance).cuts[0].removal.remove
    # Zero somewhere, or at a vertex that the table gives as a peak or an end, read 2e-4 mm
    # beside it where the slope is at most 30 * 11 / 410.
    assert removed.min() <= 5e-4
    assert (removed >= 0).all()


@settings(max_examples=15)
@given(HEIGHTS, HEIGHTS, CLEARANCE)
def test_the_border_of_a_piece_is_blank_or_cut_and_nothing_else(back, side, clearance):
    edges = (EdgeJob("back", "top", clearance=clearance), EdgeJob("side", "right", start="top"))
    piece = fit_piece(PieceJob("p", rectangle(), edges), {"back": wall(back), "side": wall(side)})
    border = polygon(piece.keep).boundary
    rest = border.difference(polygon(piece.blank.shape).boundary.buffer(1e-5))
    for cut in piece.cuts:
        rest = rest.difference(shapely.LineString(cut.line).buffer(1e-5))
    assert rest.length <= 1e-3
    # Both outlines meet in a corner; it is one and the same point of both cut lines.
    ends = [cut.line[[0, -1]] for cut in piece.cuts]
    gaps = np.hypot(*(ends[0][:, None] - ends[-1][None]).reshape(-1, 2).T)
    assert gaps.min() <= 1e-9


@settings(max_examples=15)
@given(HEIGHTS, CLEARANCE, st.floats(-180, 180))
def test_the_frame_of_the_outline_does_not_matter(heights, clearance, angle_deg):
    outline = wall(heights)
    angle = np.radians(angle_deg)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    away = np.array([130.0, -70.0])
    elsewhere = outline.with_(
        points=outline.points @ turn + away,
        datum=Datum(away, np.array([1.0, 0.0]) @ turn, "chord"),
    )
    one = fitted(outline, clearance=clearance)
    other = fitted(elsewhere, clearance=clearance)
    assert polygon(one.keep).symmetric_difference(polygon(other.keep)).area <= 1e-3
    assert abs(one.cuts[0].removal.remove.max() - other.cuts[0].removal.remove.max()) <= 1e-6


@settings(max_examples=15)
@given(HEIGHTS, CLEARANCE)
def test_travelled_the_other_way_it_is_the_same_outline(heights, clearance):
    one = fitted(wall(heights), clearance=clearance)
    other = fitted(wall(heights).reversed(), clearance=clearance)
    assert polygon(one.keep).symmetric_difference(polygon(other.keep)).area <= 1e-6


@settings(max_examples=15)
@given(HEIGHTS, CLEARANCE)
def test_a_mirrored_room_makes_a_mirrored_piece(heights, clearance):
    one = fitted(wall(heights), clearance=clearance)
    # Mirrored left to right: the heights in the other order. Stations still count from the left.
    other = fitted(wall(heights[::-1]), clearance=clearance)
    mirrored = other.keep.outer * [-1.0, 1.0] + [LENGTH, 0.0]
    assert polygon(one.keep).symmetric_difference(shapely.Polygon(mirrored)).area <= 1e-3


@settings(max_examples=20)
@given(HEIGHTS, CLEARANCE, st.sampled_from(EDGES))
def test_every_edge_is_cut_alike(heights, clearance, edge):
    """The blank turned so that another of its edges meets the same wall: the same removals."""
    upright = edge in ("left", "right")
    blank = rectangle(WIDTH, LENGTH) if upright else rectangle()
    start = {"top": "left", "bottom": "right", "left": "bottom", "right": "top"}[edge]
    one = fitted(wall(heights), clearance=clearance).cuts
    other = fitted(wall(heights), edge, blank, clearance=clearance, start=start).cuts
    assert len(one) == len(other)
    for here, there in zip(one, other, strict=True):
        np.testing.assert_allclose(there.removal.station, here.removal.station, atol=1e-6)
        np.testing.assert_allclose(there.removal.remove, here.removal.remove, atol=1e-5)
        np.testing.assert_allclose(there.removal.u, here.removal.u, atol=1e-3)
        assert there.keep == here.keep
