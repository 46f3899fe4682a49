"""What lies on the white sheet, roughly: where its border runs, and whether it carries something.

In: the view on the sheet's plane. Out: stations a millimetre apart along the border of the largest
thing. Its shadow belongs to it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.bare_paper import largest_thing
from scribe.capture.edges.grid import Grid, inset_grid, read_grid
from scribe.capture.edges.scan import Stations, along
from scribe.capture.edges.tinted import PAPER, tinted
from scribe.capture.view import View

Array = npt.NDArray[np.float64]

_GRID = 1.0  # mm between grid points
_THINNEST = 15  # grid points: what is narrower is a line or a rule, and no board
_COLOURED = 0.5  # part of what lies there that has one colour
_TANGENT = 5  # points of the border to each side that tell where it faces


@dataclass(frozen=True)
class Thing:
    """border: along it, normals out of the thing, without what lies at the window's own border.

    where: 1 on the grid where the thing lies.
    """

    border: Stations
    where: Grid

    def carries(self, points: Array) -> bool:
        """Whether most of the points (N, 2) lie on it."""
        return bool(self.where.at(points).mean() > 0.5)


def thing_on(view: View) -> Thing | None:
    """The largest thing in the window; None where nothing as wide as a board lies there."""
    import cv2

    grid = read_grid(view, _GRID)
    square = np.ones((_THINNEST, _THINNEST), np.uint8)
    lies = largest_thing(grid)
    tint = tinted(view, _COLOURED)
    if tint is not None:  # it may be as light as paper
        lies = lies | (tint.light(inset_grid(view.window, _GRID)) < 0.5 * PAPER)
    mask = cv2.morphologyEx(lies.astype(np.uint8), cv2.MORPH_OPEN, square)
    found, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not found:
        return None
    cells = max(found, key=len)[:, 0, :]
    border = cells * grid.step + np.array(grid.corner)
    ahead = np.roll(border, -_TANGENT, axis=0) - np.roll(border, _TANGENT, axis=0)
    following = np.roll(border, -1, axis=0)
    turns = np.sum(border[:, 0] * following[:, 1] - following[:, 0] * border[:, 1])
    outwards = np.stack([ahead[:, 1], -ahead[:, 0]], axis=1) * np.sign(turns)
    length = np.hypot(*outwards.T)
    height, width = mask.shape
    column, row = cells.T
    free = (column > 1) & (row > 1) & (column < width - 2) & (row < height - 2) & (length > 0)
    where = Grid(grid.corner, grid.step, mask.astype(np.float64))
    outline = Stations(border[free], outwards[free] / length[free, None], along(border)[free])
    return Thing(outline, where)
