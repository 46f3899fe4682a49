"""Which part of a drawing goes on which page, in full size.

Pages overlap; on every overlap two match marks are drawn on both pages, so that they lie on
each other only if the pages do. Pages on which nothing vital would lie are left out. The
paper stands or lies, whichever takes fewer pages.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.output.drawing import Drawing
from scribe.output.svg import full_box, text_box
from scribe.standards import PAPER_MM

Array = npt.NDArray[np.float64]
Box = tuple[float, float, float, float]

FOOT_MM = 9.0  # above the lower margin, for the check bar and the page's name
_VITAL = ("cut", "stations", "check")
_STEP_MM = 2.0  # between points looked at along a vital path


@dataclass(frozen=True)
class MatchMark:
    """A cross that lies on two pages. letter: the same on both; at: mm of the drawing."""

    letter: str
    at: tuple[float, float]


@dataclass(frozen=True)
class Tile:
    """One page. number: from 1, along rows from the upper left; box: of the drawing shown on it."""

    number: int
    row: int
    column: int
    box: Box
    marks: tuple[MatchMark, ...]


@dataclass(frozen=True)
class TilePlan:
    """size: (width, height) mm of the page as laid out; margin mm; tiles in order of number."""

    size: tuple[float, float]
    margin: float
    overlap: float
    tiles: tuple[Tile, ...]


def plan_tiles(drawing: Drawing, *, paper: str, margin: float, overlap: float) -> TilePlan:
    """Lay the drawing out on the paper; refuses margins that leave no room."""
    short, long = PAPER_MM[paper]
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
    return min(plans, key=lambda plan: (len(plan.tiles), -_shown(plan, full_box(drawing))))


def _shown(plan: TilePlan, box: Box) -> float:
    """mm2 of the drawing's box that lie on the pages, overlaps counted twice."""
    tiles = np.array([tile.box for tile in plan.tiles])
    sides = np.minimum(tiles[:, 2:], box[2:]) - np.maximum(tiles[:, :2], box[:2])
    return float(np.maximum(sides, 0.0).prod(axis=1).sum())


def _plan(drawing: Drawing, size: tuple[float, float], margin: float, overlap: float) -> TilePlan:
    x0, y0, x1, y1 = full_box(drawing)
    inner = size[0] - 2 * margin, size[1] - 2 * margin - FOOT_MM
    columns, rows = (
        max(1, ceil((extent - overlap) / (side - overlap) - 1e-9))
        for extent, side in zip((x1 - x0, y1 - y0), inner, strict=True)
    )
    step = inner[0] - overlap, inner[1] - overlap
    left = (x0 + x1) / 2 - (columns * step[0] + overlap) / 2
    low = (y0 + y1) / 2 - (rows * step[1] + overlap) / 2
    vital = _vital(drawing)
    kept: dict[tuple[int, int], Box] = {}
    for row in range(rows):
        for column in range(columns):
            x, y = left + column * step[0], low + (rows - 1 - row) * step[1]
            box = (x, y, x + inner[0], y + inner[1])
            if ((vital >= box[:2]) & (vital <= box[2:])).all(axis=1).any():
                kept[row, column] = box
    marks = _marks(kept, overlap)
    tiles = tuple(
        Tile(number, row, column, box, tuple(marks.get((row, column), ())))
        for number, ((row, column), box) in enumerate(kept.items(), start=1)
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


def _marks(
    kept: dict[tuple[int, int], Box], overlap: float
) -> dict[tuple[int, int], list[MatchMark]]:
    """Two marks on each overlap of neighbouring pages, far apart along it."""
    found: dict[tuple[int, int], list[MatchMark]] = {}
    count = 0
    for (row, column), (x0, y0, x1, y1) in kept.items():
        for other in ((row, column + 1), (row + 1, column)):
            if other not in kept:
                continue
            for part in (0.2, 0.8):
                if other[0] == row:
                    at = (x1 - overlap / 2, y0 + part * (y1 - y0))
                else:
                    at = (x0 + part * (x1 - x0), y0 + overlap / 2)
                mark = MatchMark(_letter(count), at)
                count += 1
                found.setdefault((row, column), []).append(mark)
                found.setdefault(other, []).append(mark)
    return found


def _letter(count: int) -> str:
    """A, B ... Z, A2, B2 ..."""
    turn, letter = divmod(count, 26)
    return chr(ord("A") + letter) + (str(turn + 1) if turn else "")
