"""The plain grid of sheets: the page cut into rows and columns, those left out that show
nothing of the cut or its stations.
"""

from __future__ import annotations

from itertools import count

import numpy as np
import numpy.typing as npt

from scribe.output.piece.drawing import Box, Drawing
from scribe.output.sheets.sheets import FOOT_MM, Joint, Sheet, SheetPlan

Array = npt.NDArray[np.float64]
Place = tuple[int, int]  # row from the top, column from the left

_BEYOND = 11.0  # mm for words between the stations and the frame, if a page has them to spare


def grid_plan(
    drawing: Drawing, vital: Array, size: tuple[float, float], margin: float, overlap: float
) -> SheetPlan:
    """The drawing on paper of this size, laid as it is. vital: (N, 2) what must be shown."""
    whole = np.array(drawing.box())
    low, high = vital.min(axis=0), vital.max(axis=0)
    inner = np.array([size[0] - 2 * margin, size[1] - 2 * margin - FOOT_MM])
    step = inner - overlap
    sheets = np.maximum(np.ceil((high - low - overlap) / step - 1e-9), 1.0)
    span = sheets * step + overlap
    # As much of the rest as there is room for, but what is vital stays on the pages, with
    # some space for words beyond the stations.
    beyond = np.minimum(_BEYOND, (span - high + low) / 2)
    start = np.clip((whole[:2] + whole[2:] - span) / 2, high + beyond - span, low - beyond)
    columns, rows = int(sheets[0]), int(sheets[1])
    kept: dict[Place, Box] = {}
    for row in range(rows):
        for column in range(columns):
            x, y = (start + step * [column, rows - 1 - row]).tolist()
            box = (x, y, x + float(inner[0]), y + float(inner[1]))
            if ((vital >= box[:2]) & (vital <= box[2:])).all(axis=1).any():
                kept[row, column] = box
    group = _groups(list(kept))
    pages = [
        Sheet(number, size, 0.0, box, group[place])
        for number, (place, box) in enumerate(kept.items(), start=1)
    ]
    return SheetPlan("grid", margin, overlap, tuple(pages), tuple(_joints(kept)), len(pages))


def shown(plan: SheetPlan, box: Box) -> float:
    """mm2 of the drawing's box that lie on the sheets of a grid, overlaps counted twice."""
    boxes = np.array([sheet.box for sheet in plan.sheets])
    sides = np.minimum(boxes[:, 2:], box[2:]) - np.maximum(boxes[:, :2], box[:2])
    return float(np.maximum(sides, 0.0).prod(axis=1).sum())


def _joints(kept: dict[Place, Box]) -> list[Joint]:
    """Every sheet lies on its neighbours to the right and below, trimmed along its frame."""
    number = {place: k for k, place in enumerate(kept, start=1)}
    joints = []
    for (row, column), (x0, y0, x1, y1) in kept.items():
        for other, trim in (
            ((row, column + 1), np.array([[x1, y0], [x1, y1]])),
            ((row + 1, column), np.array([[x0, y0], [x1, y0]])),
        ):
            if other in number:
                joints.append(Joint(number[row, column], number[other], trim))
    return joints


def _groups(places: list[Place]) -> dict[Place, int]:
    """Places that hang together by their sides get the same number."""
    group: dict[Place, int] = {}
    numbers = count(1)
    for place in places:
        if place in group:
            continue
        number, reached = next(numbers), [place]
        while reached:
            row, column = at = reached.pop()
            group[at] = number
            beside = [(row, column + 1), (row, column - 1), (row + 1, column), (row - 1, column)]
            reached += [other for other in beside if other in places and other not in group]
    return group
