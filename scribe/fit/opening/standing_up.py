"""Whether a box that lies in the room stands up in its opening, tipped back or to the side.

In: the opening as solved, and a box. Out: what is to spare, with its u, and the tallest that does.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from scribe.geom.rectangles import Rectangle
from scribe.geom.standing import (
    best_tipping,
    highest_stretch,
    lowest_over,
    tallest_to_tip,
    tilt_diagonal,
)
from scribe.opening import Opening, Size
from scribe.sizes import Box, StandUp

Array = npt.NDArray[np.float64]


def ceiling_line(room: Opening) -> Array:
    """(N, 2) the ceiling in the front plane, in order of x."""
    width = room.reference[0]
    nodes = [n[0] for n in room.ceiling if 0.0 < n[0] < width] if room.along == "width" else []
    x = np.array([0.0, *nodes, width])
    return np.column_stack([x, [room.ceiling_y(float(each), 0.0) for each in x]])


def floor_top(room: Opening, depth: float) -> float:
    """The floor's highest y over the depth of the boxes: what a level plinth stands on."""
    width = room.reference[0]
    return max(room.floor_y(x, z) for x in (0.0, width) for z in (0.0, depth))


def stand_up(
    room: Opening, at: Rectangle, depth: float, room_height: float | None = None
) -> StandUp:
    """How a box of that face and depth is best stood up, and what is to spare.

    room_height: of a level ceiling in front; None: the ceiling goes on as it is at the front.
    """
    options = [_tip_back(room, at, depth, room_height), _tip_side(room, at, room_height)]
    return max((each for each in options if each), key=lambda each: each.spare.value)


def _tip_back(room: Opening, at: Rectangle, depth: float, level: float | None) -> StandUp:
    """About a bottom edge along the width: the ceiling above it decides."""
    diagonal = tilt_diagonal(at.height, depth)

    def spare(r: Opening) -> float:
        return _height_over(r, at.width, level)[0] - diagonal

    ceiling, x = _height_over(room, at.width, level)
    tallest = float(tallest_to_tip(ceiling, depth))
    return StandUp("back", diagonal, ceiling, room.size(spare), x, tallest)


def _tip_side(room: Opening, at: Rectangle, level: float | None) -> StandUp | None:
    """About a bottom edge along the depth, lying along the wall."""
    diagonal, width = tilt_diagonal(at.height, at.width), room.reference[0]
    if level is not None:
        spare = Size(level - diagonal, 0.0)
        tallest = float(tallest_to_tip(level, at.width))
        return StandUp("side", diagonal, level, spare, at.x0, tallest)
    span = (0.0, width)
    tip = best_tipping(ceiling_line(room), floor_top(room, 0.0), at.height, at.width, span)
    if tip is None:
        return None

    def left_over(r: Opening) -> float:
        floor = floor_top(r, 0.0)
        found = best_tipping(ceiling_line(r), floor, at.height, at.width, span)
        return -np.inf if found is None else found.spare

    ceiling = float(np.interp(tip.at, *ceiling_line(room).T)) - floor_top(room, 0.0)
    tallest = float(tallest_to_tip(ceiling, at.width))
    return StandUp("side", diagonal, ceiling, room.size(left_over), tip.at, tallest)


def _height_over(room: Opening, width: float, level: float | None) -> tuple[float, float]:
    """The ceiling's height above the floor where a box of that width finds it highest, and x."""
    if level is not None:
        return level, 0.0
    line = ceiling_line(room)
    left, low = highest_stretch(line, width, (0.0, room.reference[0]))
    return low - floor_top(room, 0.0), lowest_over(line, left, left + width)[1]


def tallest_standing(room: Opening, width: float, depth: float, level: float | None) -> float:
    """The tallest box of that width and depth that stands up for certain: U is kept free."""
    ceiling = _height_over(room, width, level)[0]
    spare = _height_U(room) if level is None else 0.0
    back = float(tallest_to_tip(ceiling - spare, depth))
    if level is not None:
        return max(back, float(tallest_to_tip(level, width)))
    return back


def _height_U(room: Opening) -> float:
    return room.height(room.reference[0] / 2, 0.0).U


def tipped_up(box: Box, standing: StandUp) -> Box:
    """A box that the tipping limits: dH = c dc / H, from H^2 = c^2 - foot^2."""
    by_tipping = standing.spare.u * standing.ceiling / box.height.value
    return replace(box, height=Size(box.height.value, max(box.height.u, by_tipping)))
