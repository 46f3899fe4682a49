"""The sheet as if it were lit evenly, where the shadow of a phone or a person lies across it.

In: a view. Out: the same view, its light in parts of what paper has there.

Such a shadow's border is soft, since what casts it is far away: from one millimetre to the next the
light changes little, and much less than at the edge of anything that lies on the sheet. So paper is
what can be reached from paper without a sharp change of light. What light falls on the rest is
guessed from the paper around.

What it can't even out: borders as sharp as those of things, in the sun, and what only falls on the
thing.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from scribe.capture.edges.bare_paper import even_terms
from scribe.capture.edges.grid import Grid, read_grid
from scribe.capture.through import Through
from scribe.capture.view import View

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_STEP = 1.0  # mm between grid points
_SHARP, _FAINT = 0.1, 0.03  # logarithm of light, from one to the next; if it is faint,
_BESIDE, _TIMES = 2, 2.5  # times as much as so many points before and behind
# Points to each side of an edge; by how much their light may differ; how many may differ by more.
_ACROSS, _OTHER, _FEW = 3, 0.15, 120
_CORNERS = 2, -3  # row and column of a grid point in a corner
_ROUND = 0.5  # of the window's border that paper reaches
_UNEVEN, _PART = 0.08, 0.03  # logarithm of light beyond an even fall, and part of the paper, that
# a shadow across it has at least
_SOME, _FEWEST = 3, 60  # every so many-th grid point; of them
_WIDTHS = 1.5 * 2.0 ** np.arange(7)  # grid points over which light is guessed from paper
_ENOUGH = 0.3  # of what lies within such a width must be paper


@dataclass(frozen=True)
class Evened(Through):
    """field: logarithm of the paper's light over the usual one."""

    field: Grid

    def light(self, points: Array) -> Array:
        """(...) linear light at points (..., 2), as if it fell evenly."""
        return self.view.light(points) / self._shade(points)

    def rough_light(self, points: Array) -> Array:
        """As light, read in the photo at a quarter of its size."""
        return self.view.rough_light(points) / self._shade(points)

    def colour(self, points: Array) -> Array | None:
        """(..., 3) linear red, green and blue, as if light fell evenly."""
        colour = self.view.colour(points)
        return None if colour is None else colour / self._shade(points)[..., None]

    def _shade(self, points: Array) -> Array:
        from scipy.ndimage import map_coordinates

        place = (points - np.array(self.field.corner)) / self.field.step
        row, column = np.moveaxis(place[..., ::-1], -1, 0)
        shade = map_coordinates(self.field.values, [row, column], order=1, mode="nearest")
        return np.asarray(np.exp(shade))


def evened(view: View) -> View:
    """The view with an even light, or itself where no shadow lies across the paper."""
    grid = read_grid(view, _STEP)
    paper = _paper(grid.values)
    if np.mean(np.abs(_beyond_even(grid.values, paper)) > _UNEVEN) < _PART:
        return view
    field = _spread(grid.values, paper)
    return Evened(view, Grid(grid.corner, grid.step, field - float(np.quantile(field, 0.8))))


def _beyond_even(values: Array, paper: Mask) -> Array:
    """(P,) of the paper on every so many-th grid point: what no quadratic surface has."""
    some = (slice(None, None, _SOME), slice(None, None, _SOME))
    on = paper[some]
    terms, seen = even_terms(values.shape)[some][on], values[some][on]
    if len(seen) < _FEWEST:
        return np.zeros(1)
    fitted = np.linalg.lstsq(terms.T @ terms, terms.T @ seen, rcond=None)[0]
    return np.asarray(seen - terms @ fitted)


def _paper(values: Array) -> Mask:
    """(H, W) what is reached from the window's border without a sharp change; nothing where that
    is little.
    """
    sharp = np.zeros(values.shape, bool)
    sharp[:, :-1] |= _sharply(values)
    sharp[:-1] |= _sharply(values.T).T
    # Where a shadow lies beside it an edge is faint here and there: such gaps let nothing through.
    closed = cv2.dilate(sharp.astype(np.uint8), np.ones((3, 3), np.uint8))
    _, labels = cv2.connectedComponents(1 - closed, connectivity=4)
    border = np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]])
    share = np.bincount(border[border > 0], minlength=1) / len(border)
    paper, reached = np.zeros(values.shape, bool), 0.0
    # A board from side to side parts the paper, and reaches the border as well, but no corner.
    corners = {int(labels[row, column]) for row in _CORNERS for column in _CORNERS} - {0}
    for label in sorted(corners, key=lambda each: -share[each]):
        more = paper | (labels == label)
        if _leaks(values, more) + _leaks(values.T, more.T) < _FEW:
            paper, reached = more, reached + float(share[label])
    return paper if reached > _ROUND else np.zeros(values.shape, bool)


def _leaks(values: Array, paper: Mask) -> int:
    """How many points of the rows have paper close by on both sides, but not the same light: there
    the edge of a thing was reached from both, round its end or where a shadow makes it faint.
    """
    before, after = slice(None, -2 * _ACROSS), slice(2 * _ACROSS, None)
    both = paper[:, before] & paper[:, after] & ~paper[:, _ACROSS:-_ACROSS]
    other = np.abs(values[:, before] - values[:, after]) > _OTHER
    return int(np.sum(both & other))


def _sharply(values: Array) -> Mask:
    """(H, W - 1) whether a row changes sharply from one point to the next: by much, or by what it
    doesn't change by beside that.
    """
    change = np.abs(np.diff(values, axis=1))
    padded = np.pad(change, ((0, 0), (_BESIDE, _BESIDE)), mode="edge")
    beside = np.maximum(padded[:, : -2 * _BESIDE], padded[:, 2 * _BESIDE :])
    return np.asarray((change > _SHARP) | ((change > _FAINT) & (change > _TIMES * beside)))


def _spread(values: Array, paper: Mask) -> Array:
    """(H, W) the paper's own values, and elsewhere those of the paper around, the further away the
    smoother.
    """
    from scipy.ndimage import gaussian_filter

    known = np.where(paper, values, 0.0)
    spread, have = np.zeros(values.shape), np.zeros(values.shape)
    for width in _WIDTHS:
        weight = gaussian_filter(paper.astype(np.float64), width)
        mean = gaussian_filter(known, width) / np.maximum(weight, 1e-9)
        here = np.clip(weight / _ENOUGH, 0.0, 1.0)
        spread += (1.0 - have) * here * mean
        have += (1.0 - have) * here
    return spread / np.maximum(have, 1e-9)
