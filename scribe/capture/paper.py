"""The paper's own edges: was the page printed at the size it says?

A page printed "to fit" is smaller than its paper says. The marks can't know, but the
paper's edges can: from the outer marks outwards, the photo is read along short lines for
the step from paper to table. ISO 216 lets a sheet of 297 mm be off by 2 mm, so this tells
99 % from 100 %. What is nearer is not refused, but not overlooked: where nobody measured the
print, its uncertainty reaches as far as the paper's edges say.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.capture.photo_view import PhotoView
from scribe.errors import ScribeError
from scribe.standards import PAPER_MM, PAPER_TOLERANCE_MM

Array = npt.NDArray[np.float64]
Point = tuple[float, float]

_LINES = 40  # scan lines to each side
_STEP_MM = 0.25
_BEYOND_MM = 24.0  # how far past the nominal edge to look: all of 6 % on one side
_CLEAR = 0.25  # part of the paper's brightness that must be lost at the edge
_AGREE_MM = 0.6  # scan lines of a side that agree with its straight edge
_WRONG = 0.0025  # of the size, beside the paper's own tolerance: how well its edges are seen


@dataclass(frozen=True)
class PaperSize:
    """width, height: mm as the marks measure the paper; None unless two opposite edges show.

    print_x, print_y: printed over stated length, if the paper had its nominal size exactly.
    """

    width: float | None
    height: float | None
    print_x: float | None = None
    print_y: float | None = None


def paper_size(view: PhotoView) -> PaperSize:
    """Measure the paper of one of our window sheets. The view must be at height 0."""
    width, height = view.oriented.target.size
    sx, sy = view.oriented.scale
    width, height = width * sx, height * sy
    x0, y0, x1, y1 = view.area
    left = _edge(view, (x0, y0), (x0, y1), np.array([-1.0, 0.0]), x0)
    right = _edge(view, (x1, y0), (x1, y1), np.array([1.0, 0.0]), width - x1)
    below = _edge(view, (x0, y0), (x1, y0), np.array([0.0, -1.0]), y0)
    above = _edge(view, (x0, y1), (x1, y1), np.array([0.0, 1.0]), height - y1)
    return PaperSize(
        x1 - x0 + left + right if left is not None and right is not None else None,
        y1 - y0 + below + above if below is not None and above is not None else None,
    )


def check_print_size(view: PhotoView) -> PaperSize:
    """Refuse a page whose paper shows that it was printed at another size than stated."""
    target = view.oriented.target
    if target.form != "window":
        return PaperSize(None, None)
    seen = paper_size(view)
    nominal = PAPER_MM[target.paper]
    pairs = list(zip(nominal, (seen.width, seen.height), strict=True))
    found = [None if size is None else side / size for side, size in pairs]
    if seen.width is None or seen.height is None:
        return replace(seen, print_x=found[0], print_y=found[1])
    # A sheet cut to a neighbouring format shows too: each axis is compared by itself.
    ratios = [nominal[0] / seen.width, nominal[1] / seen.height]
    slack = [_WRONG + _tolerance(side) / side for side in nominal]
    if any(abs(ratio - 1.0) > more for ratio, more in zip(ratios, slack, strict=True)):
        x, y = (100 * r * s for r, s in zip(ratios, view.oriented.scale, strict=True))
        raise ScribeError(
            "print-scale-wrong",
            what=f"the paper's edges say that the target was printed at about {x:.1f} x {y:.1f} %"
            f" of its size (the sheet would be {seen.width:.0f} x {seen.height:.0f} mm)",
            where=view.where,
            do="print it again at 100 %, or measure both check bars and give --bars X,Y",
        )
    return replace(seen, print_x=ratios[0], print_y=ratios[1])


def _tolerance(side: float) -> float:
    return next(allowed for limit, allowed in PAPER_TOLERANCE_MM if side <= limit)


def _edge(
    view: PhotoView,
    start: Point,
    end: Point,
    outward: Array,
    nominal: float,
) -> float | None:
    """mm from the outer row of crossings to the paper's edge along `outward`; None if not seen.

    nominal: where the edge should be, mm from the start line.
    """
    part = np.linspace(0.02, 0.98, _LINES)[:, None]
    base = np.array(start) + part * (np.array(end) - np.array(start))
    reach = np.arange(0.0, nominal + _BEYOND_MM, _STEP_MM)
    light = view.rough_light(base[:, None, :] + reach[:, None] * outward)
    margin = (reach > nominal - 4.0) & (reach < nominal - 1.5)
    paper = _median(light[:, margin])
    with np.errstate(invalid="ignore"):
        changed = np.abs(light - paper) > _CLEAR * paper
    changed[:, reach < nominal - 3.0] = False
    # the change must last, so that a check bar's tick is not an edge
    lasting = changed[:, :-4] & changed[:, 1:-3] & changed[:, 2:-2] & changed[:, 4:]
    seen = lasting.any(axis=1) & np.isfinite(paper[:, 0])
    if seen.sum() < _LINES // 2:
        return None
    along, found = part[seen, 0], reach[lasting[seen].argmax(axis=1)]
    return _straight(along, found)


def _median(light: Array) -> Array:
    """(L, 1) median of what each line shows of the paper; NaN where it shows nothing."""
    seen = np.isfinite(light).any(axis=1)
    middle = np.full((len(light), 1), np.nan)
    middle[seen, 0] = np.nanmedian(light[seen], axis=1)
    return middle


def _straight(along: Array, found: Array) -> float | None:
    """The middle of the straight line most scan lines agree on (median of slopes, Theil-Sen)."""
    i, j = np.triu_indices(len(along), 1)
    apart = along[j] - along[i]
    slope = float(np.median((found[j] - found[i])[apart > 0.2] / apart[apart > 0.2]))
    level = float(np.median(found - slope * along))
    agree = np.abs(found - slope * along - level) < _AGREE_MM
    if agree.sum() < _LINES // 2:
        return None
    return level + 0.5 * slope
