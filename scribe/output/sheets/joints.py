"""Where the match marks of a joint lie, and what words still find room beside them."""

from __future__ import annotations

from itertools import count

import numpy as np
import numpy.typing as npt

from scribe.output.piece.drawing import Box, Drawing, text_corners
from scribe.output.piece.free_space import FreeSpace, rectangle
from scribe.output.sheets.match_marks import HALF_MM, REACH_MM, MatchMark
from scribe.output.sheets.sheets import Joint, SheetPlan

Array = npt.NDArray[np.float64]

_ROUND = REACH_MM + 2.0  # mm on either side of a joint looked at for its marks
_END_MM = HALF_MM + 4.0  # from a joint's end to the middle of its mark, where it can


def with_marks(plan: SheetPlan, drawing: Drawing) -> SheetPlan:
    """Two marks on each joint, far apart along it, clear of lines and of the stations' words."""
    letters = map(_letter, count())
    # Where rows and columns meet, a third sheet covers what is nearer to the end than the overlap.
    ways = {tuple(np.abs(joint.along).round(3).tolist()) for joint in plan.joints}
    end = _END_MM + (plan.overlap if plan.layout == "grid" and len(ways) > 1 else 0.0)
    found = []
    for joint in plan.joints:
        length = float(np.hypot(*(joint.trim[1] - joint.trim[0])))
        space = joint_space(drawing, joint, (0.0, -_ROUND, length, _ROUND))
        marks = []
        for wanted in (end, length - end):
            at = np.array([wanted, 0.0])
            clear = space.place((2 * HALF_MM, 2 * REACH_MM), at)
            if clear is not None:
                at[0] = clear[0]
            x = float(at[0])
            space.take((x - HALF_MM, -REACH_MM, x + HALF_MM, REACH_MM), 1.0)
            marks.append(MatchMark(next(letters), joint.frame.apply(at), joint.along))
        found.append(tuple(marks))
    return plan.with_marks(found)


def joint_space(drawing: Drawing, joint: Joint, strip: Box) -> FreeSpace:
    """What is free beside lines and stations' words in a strip, in the frame of the trim line."""
    space = FreeSpace(rectangle(strip), strip)
    inverse = joint.frame.inverse()
    for name in ("cut", "blank", "stations", "datum", "check"):
        for path in drawing.layer(name).paths:
            ring = np.vstack([path.points, path.points[:1]]) if path.closed else path.points
            space.take_line(inverse.apply(ring), 1.0)
    for text in drawing.layer("stations").texts:
        corners = inverse.apply(text_corners(text))
        (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
        space.take((x0, y0, x1, y1), 1.0)
    return space


def _letter(number: int) -> str:
    """A, B ... Z, A2, B2 ..."""
    turn, letter = divmod(number, 26)
    return chr(ord("A") + letter) + (str(turn + 1) if turn else "")
