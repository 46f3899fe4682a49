"""What is said of a cut that runs out of its blank, or turns back on itself."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.datum import Datum
from scribe.fit.piece import fit_piece
from scribe.geom.region import Area, difference, offset_area
from scribe.job import EdgeJob, PieceJob
from scribe.outline import Outline
from scribe.output.piece.draw_piece import draw
from scribe.output.piece.table import removal_csv, removal_rows
from scribe.piece import Blank, Piece, Polygon


def fitted(points, *edges: EdgeJob, **outlines: Outline) -> Piece:
    wall = along(points)
    blank = Blank(Polygon(np.array([[0.0, 0], [600, 0], [600, 100], [0, 100]])))
    job = PieceJob("panel", blank, (EdgeJob("wall", "top"), *edges))
    return fit_piece(job, {"wall": wall, **outlines})


def along(points) -> Outline:
    datum = Datum(np.zeros(2), np.array([1.0, 0.0]), "two points")
    return Outline(np.array(points, float), np.full(len(points), 0.1), "left", datum=datum)


def test_a_cut_that_runs_out_says_from_where_nothing_is_left() -> None:
    """The wall falls 1 in 4: 100 mm are used up at 400, and a third of the length is lost."""
    piece = fitted([[0, 0], [610, -152.5]])
    assert any("Nothing of the blank is left from station 400 on" in note for note in piece.notes)
    other = fitted([[-10, -152.5], [600, 0]])
    assert any("left before station 200:" in note for note in other.notes)


def test_an_end_that_is_cut_as_well_is_not_lost() -> None:
    """The right wall takes 30 mm of the end; the top cut ends there, as it should."""
    side = along([[-10, -30], [120, -30]])
    piece = fitted([[0, 0], [610, -6]], EdgeJob("side", "right", start="top"), side=side)
    assert not any("Nothing of the blank" in note for note in piece.notes)


def test_a_dovetail_is_told_to_catch() -> None:
    """A boss of the wall 30 mm deep, 80 wide at its root and 120 at its face: 20 on either side."""
    points = [[0, 0], [200, 0], [180, -30], [300, -30], [280, 0], [610, 0]]
    (note,) = (note for note in fitted(points).notes if "turns back" in note)
    assert "at stations 180-200 and 280-300" in note
    assert "up to 20 mm behind the piece" in note
    upright = [[0, 0], [200, 0], [200, -30], [300, -30], [300, 0], [610, 0]]
    assert not any("turns back" in note for note in fitted(upright).notes)


def test_every_file_says_where_a_line_turns_back() -> None:
    """Stations 180-200 and 280-300 of the dovetail: in the table, and beside the line itself."""
    points = [[0, 0], [200, 0], [180, -30], [300, -30], [280, 0], [610, 0]]
    piece = fitted(points)
    head, *rows = (row.split(",") for row in removal_csv(piece).splitlines())
    back = head.index("turns_back")
    stations = [float(row[0]) for row in rows if row[back] == "yes"]
    assert stations
    assert all(180 <= at <= 200 or 280 <= at <= 300 for at in stations)
    said = [row[-1] for row in removal_rows(piece.cuts[0])]
    assert sum("turns back" in words for words in said) == len(stations)
    words = [text.words for text in draw(piece).layer("labels").texts]
    assert "turns back: follow the line" in words  # once a sheet; brackets span both
    upright = fitted([[0, 0], [200, 0], [200, -30], [300, -30], [300, 0], [610, 0]])
    assert "yes" not in [row.split(",")[back] for row in removal_csv(upright).splitlines()]
    assert not any("turns back" in t.words for t in draw(upright).layer("labels").texts)


def test_no_corner_of_an_area_comes_twice() -> None:
    """A cut from corner to corner leaves a triangle of three corners, which can be grown."""
    square = Area(np.array([[0.0, 0], [100, 0], [100, 100], [0, 100]]))
    half = Area(np.array([[0.0, 100], [100, 0], [100, 1e-12], [100, 100]]))
    (rest,) = difference(square, [half])
    gaps = np.hypot(*(rest.outer - np.roll(rest.outer, 1, axis=0)).T)
    assert gaps.min() > 1.0
    # Steiner: A + L d + pi d^2, its chords up to 2e-4 mm inside the arcs.
    (grown,) = offset_area(rest, 1.0)
    x, y = grown.outer.T
    area = 0.5 * float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())
    assert area == pytest.approx(5000.0 + 100.0 * (2.0 + np.sqrt(2.0)) + np.pi, abs=2e-3)


def test_an_outline_that_is_mostly_left_over_is_asked_after() -> None:
    """600 of 1300 mm are less than half; of 1100 more. Where somebody said the station, or the
    outline begins before the blank, it was laid so.
    """

    def asked(points: list[list[float]], station: float = 0.0) -> bool:
        blank = Blank(Polygon(np.array([[0.0, 0], [600, 0], [600, 100], [0, 100]])))
        job = PieceJob("panel", blank, (EdgeJob("wall", "top", station=station),))
        notes = fit_piece(job, {"wall": along(points)}).notes
        return any("Only 600 of the 1300 mm of outline 'wall'" in note for note in notes)

    assert asked([[0, 0], [1300, -6]])
    assert not asked([[0, 0], [1100, -6]])
    assert not asked([[0, 0], [1300, -6]], station=-400.0)
    assert not asked([[-400, 0], [900, -6]])
