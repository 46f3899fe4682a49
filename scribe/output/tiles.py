"""Which part of a drawing goes on which page, in full size.

Pages overlap; where the upper one ends, two match marks cross from it to the lower one. What
must be on paper is the cut, its stations and the way from check mark to check mark: pages on
which none of that would lie are left out, and words never cost a page. The paper stands or lies,
whichever takes fewer pages.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import count
from math import ceil

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.output.drawing import Box, Drawing, text_box
from scribe.output.free_space import FreeSpace, rectangle
from scribe.output.match_marks import HALF_MM, REACH_MM, MatchMark
from scribe.standards import TEMPLATE_PAPER_MM

Array = npt.NDArray[np.float64]
Place = tuple[int, int]  # row from the top, column from the left

FOOT_MM = 11.0  # above the lower margin, for the check bar and the page's name
_VITAL = ("cut", "stations", "check")
_BEYOND = 11.0  # mm for words between the stations and the frame, if a page has them to spare
_ROUND = REACH_MM + 2.0  # mm on either side of a joint looked at for its marks
_STEP_MM = 2.0  # between points looked at along a vital path


@dataclass(frozen=True)
class Tile:
    """One page.

    number: from 1, along rows from the upper left. box: of the drawing shown on it.
    left, right, above, below: numbers of the neighbours that share a strip with it, or None.
    """

    number: int
    row: int
    column: int
    box: Box
    marks: tuple[MatchMark, ...]
    left: int | None
    right: int | None
    above: int | None
    below: int | None

    def own(self, overlap: float) -> Box:
        """The part of the box that no neighbour shows."""
        x0, y0, x1, y1 = self.box
        return (
            x0 + (overlap if self.left else 0.0),
            y0 + (overlap if self.below else 0.0),
            x1 - (overlap if self.right else 0.0),
            y1 - (overlap if self.above else 0.0),
        )


@dataclass(frozen=True)
class TilePlan:
    """size: (width, height) mm of the page as laid out; margin mm; tiles in order of number."""

    size: tuple[float, float]
    margin: float
    overlap: float
    tiles: tuple[Tile, ...]


def plan_tiles(drawing: Drawing, *, paper: str, margin: float, overlap: float) -> TilePlan:
    """Lay the drawing out on the paper; refuses margins that leave no room."""
    short, long = TEMPLATE_PAPER_MM[paper]
    plans = [
        _plan(drawing, size, margin, overlap)
        for size in ((short, long), (long, short))
        if min(size) - 2 * margin - FOOT_MM > 2 * overlap
    ]
    if not plans:
        raise ScribeError(
            "template-margins",
            what=f"margin {margin:g} mm and overlap {overlap:g} mm leave no room on {paper}",
            where=drawing.name,
            do="choose a smaller margin or overlap under [print], or a larger paper",
        )
    return min(plans, key=lambda plan: (len(plan.tiles), -_shown(plan, drawing.box())))


def _shown(plan: TilePlan, box: Box) -> float:
    """mm2 of the drawing's box that lie on the pages, overlaps counted twice."""
    tiles = np.array([tile.box for tile in plan.tiles])
    sides = np.minimum(tiles[:, 2:], box[2:]) - np.maximum(tiles[:, :2], box[:2])
    return float(np.maximum(sides, 0.0).prod(axis=1).sum())


def _plan(drawing: Drawing, size: tuple[float, float], margin: float, overlap: float) -> TilePlan:
    vital, whole = _vital(drawing), np.array(drawing.box())
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
    number = {place: k for k, place in enumerate(kept, start=1)}
    marks = _marks(drawing, kept, number)
    tiles = tuple(
        Tile(
            number[row, column],
            row,
            column,
            box,
            tuple(marks.get((row, column), ())),
            left=number.get((row, column - 1)),
            right=number.get((row, column + 1)),
            above=number.get((row - 1, column)),
            below=number.get((row + 1, column)),
        )
        for (row, column), box in kept.items()
    )
    return TilePlan(size, margin, overlap, tiles)


def _vital(drawing: Drawing) -> Array:
    """(N, 2) points that must lie on a page: vital paths, stations' words, the check's way."""
    points = []
    for name in _VITAL:
        layer = drawing.layer(name)
        for path in layer.paths:
            ring = np.vstack([path.points, path.points[:1]]) if path.closed else path.points
            place = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
            at = np.linspace(0.0, place[-1], max(2, ceil(place[-1] / _STEP_MM) + 1))
            points.append(np.column_stack([np.interp(at, place, ring[:, k]) for k in (0, 1)]))
    for text in drawing.layer("stations").texts:
        a, b, c, d = text_box(text)
        points.append(np.array([[a, b], [c, b], [c, d], [a, d]]))
    points.append(np.linspace(drawing.check.start, drawing.check.end, 50))
    return np.vstack(points)


def strip_space(drawing: Drawing, strip: Box) -> FreeSpace:
    """What a shared strip has free beside the lines and the stations' words on it."""
    space = FreeSpace(rectangle(strip), strip)
    for name in ("cut", "blank", "stations", "datum", "check"):
        for path in drawing.layer(name).paths:
            ring = np.vstack([path.points, path.points[:1]]) if path.closed else path.points
            space.take_line(ring, 1.0)
    for text in drawing.layer("stations").texts:
        space.take(text_box(text), 1.0)
    return space


def _marks(
    drawing: Drawing, kept: Mapping[Place, Box], number: Mapping[Place, int]
) -> dict[Place, list[MatchMark]]:
    """Two marks on each joint of neighbouring pages, far apart along it, clear of lines."""
    found: dict[Place, list[MatchMark]] = {}
    letters = map(_letter, count())
    for (row, column), (x0, y0, x1, y1) in kept.items():
        joints = {
            (row, column + 1): ((x1 - _ROUND, y0, x1 + _ROUND, y1), 1),
            (row + 1, column): ((x0, y0 - _ROUND, x1, y0 + _ROUND), 0),
        }
        for other, (strip, axis) in joints.items():
            if other not in kept:
                continue
            space = strip_space(drawing, strip)
            low, high = np.array(strip[:2]), np.array(strip[2:])
            size = (2 * HALF_MM, 2 * REACH_MM) if axis == 0 else (2 * REACH_MM, 2 * HALF_MM)
            for part in (0.2, 0.8):
                at = (low + high) / 2
                at[axis] = low[axis] + part * (high - low)[axis]
                clear = space.place(size, at)
                if clear is not None:
                    at[axis] = clear[axis]
                middle = (float(at[0]), float(at[1]))
                mark = MatchMark(next(letters), middle, axis == 1, number[row, column])
                space.take(mark.box, 1.0)
                found.setdefault((row, column), []).append(mark)
                found.setdefault(other, []).append(mark)
    return found


def _letter(number: int) -> str:
    """A, B ... Z, A2, B2 ..."""
    turn, letter = divmod(number, 26)
    return chr(ord("A") + letter) + (str(turn + 1) if turn else "")
