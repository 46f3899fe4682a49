"""Back bevels: how far the back stands clear."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.errors import ScribeError
from scribe.fit.bevel import back_bevel, bevel_note
from scribe.fit.entry.tilting import Sections, tilted
from scribe.fit.piece import fit_piece
from scribe.job import EdgeJob, PieceJob
from scribe.outline import Outline
from scribe.piece import Blank, Polygon


# t tan(q) by a table of tangents: 18 mm at 2, 5, 10 and 45 degrees, 22 mm at 5.
@pytest.mark.parametrize(
    ("thickness", "angle", "clear"),
    [(18, 2, 0.629), (18, 5, 1.575), (18, 10, 3.174), (18, 45, 18.0), (22, 5, 1.925)],
)
def test_without_a_land_it_is_the_tangent(thickness: float, angle: float, clear: float) -> None:
    found = back_bevel(EdgeJob("wall", "top", bevel_deg=angle, land=0.0), thickness)
    assert found is not None
    assert found.clear == pytest.approx(clear, abs=5e-4)


def test_the_land_stays_square() -> None:
    found = back_bevel(EdgeJob("wall", "top", bevel_deg=5.0, land=2.0), 18.0)
    assert found is not None
    assert found.clear == pytest.approx(16.0 * 0.0874887, abs=1e-5)
    assert "stands 1.4 mm clear" in bevel_note(found, EdgeJob("wall", "top"), "top")


@pytest.mark.parametrize(("thickness", "land"), [(None, 2.0), (18.0, 18.0)])
def test_a_bevel_of_nothing_is_refused(thickness: float | None, land: float) -> None:
    with pytest.raises(ScribeError) as caught:
        back_bevel(EdgeJob("wall", "top", bevel_deg=5.0, land=land), thickness)
    assert caught.value.kind == "bevel-thickness"


def test_the_piece_carries_it() -> None:
    points = np.array([[0.0, 0.0], [600.0, -4.0]])
    wall = Outline(points, np.full(2, 0.1), "left")
    blank = Blank(Polygon(np.array([[0.0, 0], [600, 0], [600, 60], [0, 60]])), 18.0)
    job = PieceJob("strip", blank, (EdgeJob("wall", "top", bevel_deg=3.0),))
    piece = fit_piece(job, {"wall": wall})
    assert piece.cuts[0].bevel is not None
    assert any("Back bevel on the top edge: 3 degrees" in note for note in piece.notes)


def bevelled(seen, edge: str = "top") -> tuple[tuple[float, float], ...]:
    points = np.array([[-1.0, 0.0], [601.0, -4.0]])
    solid = "left" if edge == "top" else "right"
    wall = Outline(points if edge == "top" else points * [1, -1], np.full(2, 0.1), solid)
    blank = Blank(Polygon(np.array([[0.0, 0], [600, 0], [600, 60], [0, 60]])), 18.0)
    job = PieceJob("strip", blank, (EdgeJob("wall", edge, bevel_deg=3.0, seen=seen),))
    piece = fit_piece(job, {"wall": wall})
    assert piece.cuts[0].bevel is not None
    return piece.cuts[0].bevel.square


@pytest.mark.parametrize("edge", ["top", "bottom"])
def test_it_stops_before_an_end_that_is_seen(edge: str) -> None:
    """The last 30 mm of 600 (common practice, no source)."""
    assert bevelled((), edge) == ()
    assert bevelled(("left",), edge) == ((0.0, 30.0),)
    assert bevelled(("left", "right"), edge) == ((0.0, 30.0), (570.0, 600.0))


def test_the_land_counts_when_a_piece_is_tilted() -> None:
    """A back that stands clear far enough still leaves the land: sqrt(1000^2 + 20^2) = 1000.2.
    That end first or the other: sqrt(1000^2 + 40^2) = 1000.8 with the square end.
    """
    west, east = np.zeros(1), np.array([1000.0])
    found = tilted(Sections(west, east, west, east, 40.0, (0.0, 5.0), (0.0, 20.0)))
    assert -found.spare == pytest.approx(np.hypot(1000.0, 20.0) - 1000.0, abs=1e-4)
