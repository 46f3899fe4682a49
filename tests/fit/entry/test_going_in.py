"""What is said of pieces that are trapped between two walls."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.datum import Datum
from scribe.fit.piece import fit_piece
from scribe.job import EdgeJob, Opening, PieceJob
from scribe.outline import Outline
from scribe.piece import Blank, Polygon
from scribe.side_walls import LeaningWalls

UP = Datum(np.zeros(2), np.array([0.0, 1.0]), "plumb line")


def wall(lean: float, solid: str) -> Outline:
    """A wall seen from above, stations from the front; lean: mm to the right over 1000."""
    points = np.array([[-0.4 * lean, -400.0], [0.4 * lean, 400.0]])
    return Outline(points, np.full(2, 0.05), solid, datum=UP)


def said(
    left: float,
    right: float,
    *,
    thickness: float | None = 18.0,
    walls: LeaningWalls | None = None,
    **last,
) -> str:
    """A shelf of 300 between two walls that lean so far, 1000 apart in front."""
    blank = Blank(Polygon(np.array([[0.0, 0], [1100, 0], [1100, 300], [0, 300]])), thickness)
    edges = (
        EdgeJob("left", "left", clearance=0.5),
        EdgeJob("right", "right", clearance=0.5, placing=Opening(1000.0), **last),
    )
    outlines = {"left": wall(left, "left"), "right": wall(right, "right")}
    notes = fit_piece(PieceJob("shelf", blank, edges, walls=walls), outlines).notes
    return next(note for note in notes if note.startswith("Trapped"))


def test_a_straight_alcove_takes_it() -> None:
    note = said(0.0, 0.0)
    assert "Trapped between left and right" in note
    assert "slides straight in towards top with 1 mm to spare" in note
    # 999 mm tilted: sqrt(999^2 + 18^2) = 999.162, of 1000.
    assert "Tilted in, one end first, it has 0.8 mm to spare" in note


def test_an_alcove_wider_at_the_back_holds_it_back() -> None:
    """10 mm on each side over 1000: over 300 the back is 6 mm longer than the front."""
    note = said(-10.0, 10.0, thickness=None)
    # Straight from the front nothing was looked at, and an infill goes in that way.
    assert "Pushed home square to its face, as an infill is, it goes in where nothing" in note
    assert "Any other way, as it is, it doesn't go in. Give the blank's thickness" in note
    assert "It can't slide straight in: 5 mm too wide" in note  # 6 less the clearances
    # Eased at one end alone, at the back by all of it: 10 in 1000 on each side over 300.
    assert "with up to 5 mm more off its" in note or "with up to 5.1 mm more off its" in note
    assert "It can't swing in either" in note
    # Tilted, it goes: each section is 1 mm shorter than the place it comes to.
    assert "Trapped between left and right. Tilted in" in said(-10.0, 10.0)


def test_walls_that_lean_leave_less_to_tilt_it_in() -> None:
    """Both lean in by 20 mm on a metre going up: from below both open, and when its face looks down
    all of the millimetre is left but the 2 x 0.36 mm that both back corners lose at home. With a
    right wall that may lean by 80 mm on a metre (U) it sticks, and the bevel that cures it is told.
    """
    leaning = LeaningWalls(20.0, 20.0, 0.0, 0.0, "down")
    note = said(0.0, 0.0, walls=leaning)
    assert "Tilted in from below, its " in note
    assert "it has 0.2 mm to spare between walls that lean as they were surveyed" in note
    vague = said(0.0, 0.0, walls=LeaningWalls(0.0, 0.0, 0.0, 40.0))
    assert "its thickness and the walls' lean make it " in vague
    assert "bevel the back of one end until it stands " in vague


def test_a_wall_is_the_one_beside_that_end_whichever_way_its_face_looks() -> None:
    """Nobody knows how the left wall leans, so that the end beside it goes first and never gets far
    from its place. Seen from above that is the left end of a shelf with its back upwards on the
    drawing; seen from below it is the right one.
    """
    for face, end in (("up", "left"), ("down", "right")):
        vague = LeaningWalls(0.0, 0.0, 20.0, 0.0, face)
        assert f"its {end} end first" in said(0.0, 0.0, walls=vague)


def test_a_short_thick_piece_needs_a_bevel_to_be_tilted() -> None:
    """40 mm thick and 999 long: the diagonal is 999.80, and with 0.2 mm clearance in all it sticks:
    sqrt(1000^2 - 40^2) = 999.2, so a back that stands 0.7 mm clear at one end lets 999.8 in.
    """
    blank = Blank(Polygon(np.array([[0.0, 0], [1100, 0], [1100, 300], [0, 300]])), 40.0)
    walls = {"left": wall(0.0, "left"), "right": wall(0.0, "right")}

    def note(bevel: float | None) -> str:
        edges = (
            EdgeJob("left", "left", clearance=0.1),
            EdgeJob("right", "right", clearance=0.1, placing=Opening(1000.0), bevel_deg=bevel),
        )
        made = fit_piece(PieceJob("shelf", blank, edges), walls)
        return next(each for each in made.notes if each.startswith("Trapped"))

    assert "makes it 0.6 mm too long" in note(None) or "makes it 0.61 mm too long" in note(None)
    assert "until it stands 0.7 mm clear" in note(None)
    assert "it has" in note(2.0)  # (40 - 2) tan 2 degrees = 1.3 mm


def pocket(pier: float, *edges: EdgeJob) -> str:
    """A shelf between two walls that lean by 1 in 50 the same way, a pier of 200 mm behind it."""
    behind = [[-500, 0], [400, 0], [400, -pier], [600, -pier], [600, 0], [1600, 0]]
    level = Datum(np.zeros(2), np.array([1.0, 0.0]), "two points")
    walls = {
        "left": wall(20.0, "left"),
        "right": wall(20.0, "right"),
        "back": Outline(np.array(behind, float), np.full(6, 0.05), "left", datum=level),
        "front": Outline(
            np.array([[-500.0, 0], [1600, 0]]), np.full(2, 0.05), "right", datum=level
        ),
    }
    blank = Blank(Polygon(np.array([[0.0, 0], [1100, 0], [1100, 300], [0, 300]])))
    job = PieceJob(
        "shelf",
        blank,
        (
            EdgeJob("left", "left", clearance=0.5),
            EdgeJob("right", "right", clearance=0.5, placing=Opening(1000.0)),
            EdgeJob("back", "top", clearance=0.5),
            *edges,
        ),
    )
    return next(note for note in fit_piece(job, walls).notes if not note.startswith("Station"))


def test_a_pier_behind_keeps_it_from_drifting() -> None:
    """The walls ask for a drift of 1 in 50, 2 mm over a pier of 100; the notch leaves 0.5."""
    assert "In its plane it slides straight in towards top" in pocket(10.0)
    note = pocket(100.0)
    assert "It can't slide straight in: 1 mm too wide" in note or "1.1 mm too wide" in note
    assert "and back behind it holds it there" in note


def test_closed_in_on_all_sides_it_goes_in_with_its_face() -> None:
    assert pocket(10.0, EdgeJob("front", "bottom", placing=Opening(290.0))).startswith("Closed in")


def test_without_a_thickness_nothing_is_said_of_tilting() -> None:
    assert "Tilted" not in said(0.0, 0.0, thickness=None)


def test_a_piece_with_one_wall_is_not_trapped() -> None:
    blank = Blank(Polygon(np.array([[0.0, 0], [600, 0], [600, 60], [0, 60]])), 18.0)
    flat = Outline(np.array([[0.0, 0.0], [600.0, 0.0]]), np.full(2, 0.1), "left")
    piece = fit_piece(PieceJob("strip", blank, (EdgeJob("wall", "top"),)), {"wall": flat})
    assert not any("Trapped" in note for note in piece.notes)


@pytest.mark.parametrize("lean", [1.0, 5.0, 20.0])
def test_one_leaning_wall_can_be_followed_by_drifting(lean: float) -> None:
    """Two walls that lean the same way keep their distance: it slides in along them."""
    assert "with 1 mm to spare" in said(lean, lean) or "with 0.9 mm to spare" in said(lean, lean)
