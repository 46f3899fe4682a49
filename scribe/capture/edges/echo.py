"""Whether an edge that was found is the border of a shadow, by the faint edge that cast it.

In: a view, and the trace of an edge, normals out of the thing. Out: yes or no.

In hard light the border of a shadow is as sharp as an edge, and a board may be as light as paper in
its shadow. Too little then differs at any one place behind the border to be told from unevenness.
But the border is an image of the board's edge: lying on the sheet, it is seen on the plane of the
face where the line of sight has it, and from there to the edge every point is moved by the same
vector, by the light. So the change of light square to the border is added up along the border as it
would lie for each such vector; at the right one it is the same all along, and stands out.
"""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from scribe.capture.edges.behind_shadow import softest
from scribe.capture.view import Trace, View

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]
Picture = npt.NDArray[np.float32]

_CELL = 0.2  # mm
_FINE, _COARSE = 1.0, 6.0  # cells: what is sharper and what is wider is left out
_ALONG, _ACROSS = 12.0, 18.0  # mm by which light and line of sight may have moved the border
_WITHIN, _BLURS = 0.6, 4.0  # mm, and times its blur, that what was found reaches inwards
_OVERLAP = 0.6  # part of the border that must come to lie on the thing
_MOST = 5.0  # times the usual change of light
_STANDS_OUT = 7.0  # times the scatter of other vectors
_LINE = 0.5  # of the peak on its other side close by: then it is a line on the board
_BESIDE = 1.5  # mm
_SHADE = (0.2, 0.93)  # light of what may be paper in shadow, in parts of the paper's
_LIKE = 0.25  # of the step that was found, by which thing and shadow differ at most
_DEEP = np.array([1.0, 2.0, 3.0])  # mm inside and outside where both are read


def echoed(view: View, trace: Trace) -> bool:
    """Whether behind the trace a faint edge repeats it as the edge that cast its shadow would."""
    points, normals = trace.points[trace.measured], trace.normals[trace.measured]
    across = _DEEP[:, None, None] * normals
    inner, outer = (float(np.nanmedian(view.light(points + k * across))) for k in (-1, 1))
    if not _SHADE[0] * outer < inner < _SHADE[1] * outer:
        return False
    out = normals.mean(axis=0) / np.hypot(*normals.mean(axis=0))
    frame = np.array([[out[1], -out[0]], out])  # along the trace, and out of the thing
    start = (points - view.height * view.lean(points)) @ frame.T
    pixel = float(np.median(view.pixel(points)))
    within = max(_WITHIN, _BLURS * softest(view) * pixel)
    like = inner - _LIKE * (outer - inner), inner + _LIKE * (outer - inner)
    changes, inside, low = _changes(view, frame, points @ frame.T, start.max(axis=0), within, like)
    added = _added_up(changes, inside, (start - low) / _CELL, normals @ frame.T)
    if not np.isfinite(added).any():
        return False
    added = np.nan_to_num(added - np.nanmedian(added))
    scatter = 1.4826 * float(np.median(np.abs(added[added != 0.0])))
    row, column = np.unravel_index(np.argmax(np.abs(added)), added.shape)
    peak, side = added[row, column], round(_BESIDE / _CELL)
    beside = added[max(row - side, 0) : row + side + 1, max(column - side, 0) : column + side + 1]
    is_line = (-np.sign(peak) * beside).max() > _LINE * abs(peak)
    return bool(abs(peak) > _STANDS_OUT * scatter and not is_line)


def _changes(
    view: View,
    frame: Array,
    points: Array,
    furthest: Array,
    within: float,
    like: tuple[float, float],
) -> tuple[Array, Mask, Array]:
    """Changes of light (2, H, W) along the trace and across, cells (H, W) well on the thing, and
    the middle (2,) of the first cell; the last lies beyond the points and the furthest.

    frame: (2, 2) along and across, in rows; all else is in it. within: mm. like: between which
    light the thing and paper in its shadow are; beyond a thing's far side it isn't.
    """
    low = points.min(axis=0) - [0.0, _ACROSS]
    high = np.maximum(points.max(axis=0), furthest) + 2.0 * _CELL
    x, y = (np.arange(low[k], high[k], _CELL) for k in (0, 1))
    places = np.stack(np.meshgrid(x, y), axis=-1) @ frame
    light = np.nan_to_num(view.light(places)).astype(np.float32)
    x0, y0, x1, y1 = view.window
    in_window = np.all((places > [x0, y0]) & (places < [x1, y1]), axis=-1)
    order = np.argsort(points[:, 0])
    border = np.interp(x, points[order, 0], points[order, 1])
    ends = (x > points[:, 0].min() + 1.0) & (x < points[:, 0].max() - 1.0)
    on_thing = in_window & ends & (y[:, None] < border)
    even = _blurred(light, _FINE)
    on_thing &= (even > like[0]) & (even < like[1])
    deep = cv2.distanceTransform(on_thing.astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    # In full precision: many distances are whole numbers of cells, and so may the limit be.
    inside = (deep.astype(np.float64) > within / _CELL).astype(np.float32)
    weight = _blurred(inside, _FINE)
    fine = _blurred(light * inside, _FINE) / np.maximum(weight, 1e-3)
    coarse = _blurred(light * inside, _COARSE) / np.maximum(_blurred(inside, _COARSE), 1e-3)
    band = inside * (fine - coarse)
    well = weight > 0.98
    changes = np.stack([np.gradient(band, axis=k) for k in (1, 0)]) * well
    # A mark or a corner here or there must not outweigh all the rest.
    most = _MOST * float(np.median(np.abs(changes[:, well]))) if well.any() else 0.0
    return np.clip(changes, -most, most), well, low


def _blurred(picture: Picture, cells: float) -> Picture:
    """A picture blurred by a Gaussian of so many cells."""
    blurred = cv2.GaussianBlur(picture, (0, 0), cells, borderType=cv2.BORDER_REFLECT)
    return np.asarray(blurred, np.float32)


def _added_up(changes: Array, inside: Mask, start: Array, normals: Array) -> Array:
    """(V, U) mean change square to the border, moved by each vector; NaN where too little of it
    lies on the thing, or where it isn't moved. start: (N, 2) cells.
    """
    rows, columns = inside.shape
    along, across = round(_ALONG / _CELL), round(_ACROSS / _CELL)
    shape = cv2.getOptimalDFTSize(rows + across), cv2.getOptimalDFTSize(columns + along)
    at = np.round(start).astype(int)
    within = np.all((at >= 0) & (at < [columns, rows]), axis=1)
    at, normals = at[within], normals[within]
    light, kernel = np.zeros((2, 3, *shape), np.float32)  # half the memory, and enough
    light[:, :rows, :columns] = np.concatenate([changes, inside[None]])
    for each, weight in zip(kernel, (*normals.T, np.ones(len(normals))), strict=True):
        np.add.at(each, (at[:, 1], at[:, 0]), weight)
    both = np.stack([_correlated(*pair) for pair in zip(light, kernel, strict=True)])
    right, up = np.meshgrid(np.arange(-along, along + 1), np.arange(-across, 1))
    both = both[:, up, right]
    added, count = both[0] + both[1], both[2]
    still = np.hypot(right, up) * _CELL < _WITHIN
    enough = (count > _OVERLAP * len(normals)) & ~still
    return np.where(enough, added / np.maximum(count, 1.0), np.nan)


def _correlated(one: Picture, other: Picture) -> Picture:
    """The sum of one over the other moved by every vector, round the corner as well."""
    spectrum = cv2.mulSpectrums(cv2.dft(one), cv2.dft(other), 0, conjB=True)
    return np.asarray(cv2.idft(spectrum, flags=cv2.DFT_SCALE | cv2.DFT_REAL_OUTPUT), np.float32)
