"""How far this photo moves an edge between dark and light.

The true tone curve of a phone is never quite sRGB, sharpening bends it further, and ink
spreads. All of it moves the edges of the target's own squares, and their places are known:
the distance by which black seems to grow is what an edge of a dark thing on the white sheet
may be off by. Tone and ink can't be told apart here, so it is no correction: it goes into
the budget. A grey thing uses another stretch of the curve than black squares do, and sharpening
and tone may cancel on the one and not on the other: a part of the blur is added for that.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.profile import fit_step
from scribe.capture.photo_view import PhotoView

Array = npt.NDArray[np.float64]

UNKNOWN_MM = 0.03  # half a pixel of an ordinary photo: what a tone curve may well do
# Of the blur: what a curve that leaves sRGB by 2.5 % of its range moves an edge of a grey thing
# by (0.03 px at a blur of 0.7 px, 0.05 px at 1.1 px), taken as the half width of a rectangle.
UNLIKE = 0.05 / 3**0.5
_REACH = 0.1  # of a square's side, to either side of an edge: well inside the marker's margin
_SAMPLES = 41
_MOST_EDGES = 160
_FEWEST_EDGES = 8


def black_growth(view: PhotoView) -> float:
    """mm by which each edge of a black square seems to lie outwards of where it is, >= 0.

    The view must be at height 0. A board without squares doesn't tell: then it is UNKNOWN_MM.
    """
    oriented = view.oriented
    if not len(oriented.target.squares):
        return UNKNOWN_MM
    middle, into_black = _edges(oriented.points[oriented.used], view)
    if len(middle) < _FEWEST_EDGES:
        return UNKNOWN_MM
    side = oriented.target.square_mm
    t = np.linspace(-_REACH * side, _REACH * side, _SAMPLES)
    rows = view.light(middle[:, None, :] + t[:, None] * into_black[:, None, :])
    fit = fit_step(t, rows, pixel=view.pixel(middle))
    if fit.ok.sum() < _FEWEST_EDGES:
        return UNKNOWN_MM
    blur = view.blur_px * float(np.median(view.pixel(middle)))
    return float(np.hypot(np.median(fit.position[fit.ok]), UNLIKE * blur))


def _edges(points: Array, view: PhotoView) -> tuple[Array, Array]:
    """Middles (N, 2) mm between neighbouring crossings, and unit vectors (N, 2) into the black."""
    target, scale = view.oriented.target, np.array(view.oriented.scale)
    side = target.square_mm
    cells = np.rint((points / scale - target.crossings[0]) / side).astype(int)
    known = {(int(i), int(j)) for i, j in cells}
    middles, inwards = [], []
    for along, across in (
        (np.array([1, 0]), np.array([0, 1])),
        (np.array([0, 1]), np.array([1, 0])),
    ):
        for cell in known:
            if (cell[0] + along[0], cell[1] + along[1]) in known:
                middle = target.crossings[0] + (np.array(cell) + 0.5 * along) * side
                middles.append(middle)
                black = _is_black(target.squares, middle + 0.5 * side * across)
                inwards.append(across if black else -across)
    if not middles:
        return np.zeros((0, 2)), np.zeros((0, 2))
    chosen = np.linspace(0, len(middles) - 1, min(len(middles), _MOST_EDGES)).astype(int)
    return (np.array(middles) * scale)[chosen], np.array(inwards, float)[chosen]


def _is_black(squares: Array, point: Array) -> bool:
    return bool(((squares[:, :2] < point) & (point < squares[:, 2:])).all(axis=1).any())
