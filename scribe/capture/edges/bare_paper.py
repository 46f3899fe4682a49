"""The bare paper of a window, and what doesn't look like it.

In: a grid of logarithms of light. What differs from the paper's own light, which may change
slowly across the sheet, is the thing on it and its shadow.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.grid import Grid

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

UNLIKE_PAPER = 0.08  # logarithm of light
_FOLD = 2.0  # mm: a fold is no wider


def largest_thing(grid: Grid) -> Mask:
    """(H, W) the largest connected part of the grid that is no bare paper."""
    return largest_part(_without_folds(np.abs(against_paper(grid.values)) > UNLIKE_PAPER, grid))


def _without_folds(mask: Mask, grid: Grid) -> Mask:
    """A mask without what is as thin as a line: the folds of a sheet that run up to the thing."""
    import cv2

    thick, again = (np.ones((2 * round(mm / grid.step / 2) + 1,) * 2) for mm in (_FOLD, 2 * _FOLD))
    core = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, thick)
    return np.asarray(mask & (cv2.dilate(core, again) > 0))


def largest_part(mask: Mask) -> Mask:
    """(H, W) the largest connected part of a mask; nothing of an empty one."""
    import cv2

    _, labels, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=4)
    areas = stats[1:, cv2.CC_STAT_AREA]
    return np.asarray(labels == 1 + int(np.argmax(areas))) if len(areas) else mask


def against_paper(values: Array, about: float | None = None) -> Array:
    """(H, W) logarithm of light over that of the bare paper (a quadratic surface).

    about: what the paper has, roughly; left out, what the lighter part of the grid has.
    """
    terms = even_terms(values.shape)
    few, seen = terms[::4, ::4].reshape(-1, 6), values[::4, ::4].ravel()
    bright = seen > np.quantile(seen, 0.7) - 0.05
    surface: Array = np.zeros(6)
    surface[0] = np.median(seen[bright]) if about is None else about
    for limit in (0.3, 0.12, 0.06, 0.04, 0.04):
        paper = np.abs(seen - few @ surface) < limit
        if paper.sum() < 50:
            break
        # Six terms of a square from -1 to 1: its normal equations are as good, and quick.
        on = few[paper]
        fitted = np.linalg.lstsq(on.T @ on, on.T @ seen[paper], rcond=None)[0]
        surface = np.asarray(fitted, np.float64)
    return np.asarray(values - terms @ surface)


def even_terms(shape: tuple[int, ...]) -> Array:
    """(H, W, 6) terms of a quadratic surface over a grid: how light falls evenly."""
    height, width = shape
    y, x = np.meshgrid(np.linspace(-1, 1, height), np.linspace(-1, 1, width), indexing="ij")
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)
