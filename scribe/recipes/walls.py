"""The side walls beside a piece that lies level, as a survey has them."""

from __future__ import annotations

from dataclasses import replace

from scribe.job import PieceJob
from scribe.opening import Opening, Plane, Side
from scribe.side_walls import LeaningWalls, SurveyedWalls

_ABOUT_MM = 50.0  # of height above and below the piece, over which a lean is taken


def with_walls(piece: PieceJob) -> PieceJob:
    """The same piece with its walls told by their survey, where the job names one."""
    walls = piece.walls
    if not isinstance(walls, SurveyedWalls):
        return piece
    from scribe.recipes.survey import solved_opening

    opening = solved_opening(walls.survey)
    (left, left_u), (right, right_u) = (
        _lean(opening, side, walls.level) for side in ("left", "right")
    )
    return replace(piece, walls=LeaningWalls(left, right, left_u, right_u, walls.face))


def _lean(opening: Opening, side: Side, level: float) -> tuple[float, float]:
    """mm on a metre into the opening at a level, and u: halfway between front and back, with half
    of what they differ by in u (a wall that twists leans between the two; rectangular half width,
    JCGM 100, 4.3.7).
    """
    inwards = 1.0 if side == "left" else -1.0

    def lean(room: Opening, plane: Plane) -> float:
        middle = room.reference[0] / 2.0
        z = room.depth_of(plane, middle, level)
        low, high = (room.wall_x(side, level + at, z) for at in (-_ABOUT_MM, _ABOUT_MM))
        return inwards * (high - low) / (2.0 * _ABOUT_MM) * 1000.0

    front, back = lean(opening, "front"), lean(opening, "back")
    middle = opening.size(lambda room: (lean(room, "front") + lean(room, "back")) / 2.0)
    return middle.value, float((middle.u**2 + (front - back) ** 2 / 12.0) ** 0.5)
