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
from numpy.lib.stride_tricks import sliding_window_view

from scribe.capture.photo_view import PhotoView
from scribe.errors import ScribeError
from scribe.print_scale import BAR_MM, PrintScale
from scribe.quantity import SCALE_RANGE
from scribe.standards import PAPER_MM, PAPER_TOLERANCE_MM

Array = npt.NDArray[np.float64]
Point = tuple[float, float]

_LINES = 40  # scan lines to each side
_STEP_MM = 0.25
_BEYOND_MM = 24.0  # how far past the nominal edge to look: all of 6 % on one side
# Beside the marks: where the margin's own light is read off (its upper quartile: words and
# ticks are dark), from where on the edge is looked for, and how far it must stay another light.
_MARGIN_MM, _FROM_MM, _STAYS_MM = (0.5, 4.0), 2.0, 5.0
_LIGHTEST, _STAYS = 0.75, 0.9
_CLEAR = 0.25  # part of the paper's brightness that must be lost at the edge
_AGREE_MM = 0.6  # scan lines of a side that agree with its straight edge
_WRONG = 0.0025  # of the size, beside the paper's own tolerance: how well its edges are seen
_ENLARGED = 0.025  # from here on both sides of a page must say it: something may lie on its margin
_FITS = 0.008  # by which a page's scale may miss the one it is taken for: trim, and the edges
_WIDEST_MARGIN_MM = 10.0  # that printers leave blank (common practice, no source)


@dataclass(frozen=True)
class PaperSize:
    """width, height: mm as the marks measure the paper; None unless two opposite edges show.

    print_x, print_y: printed over stated length, if the paper had its nominal size exactly.
    """

    width: float | None
    height: float | None
    print_x: float | None = None
    print_y: float | None = None

    def may_be_off(self) -> tuple[float, float]:
        """Parts by which the print may be off along x and y, for paper of exactly its size.

        As far as its edges are seen; 0 where none are. Printers scale both axes alike: an axis
        whose edges don't show goes with the other.
        """
        x, y = self.print_x or self.print_y, self.print_y or self.print_x
        if x is None or y is None:
            return 0.0, 0.0
        return abs(x - 1.0) + _WRONG, abs(y - 1.0) + _WRONG


def paper_size(view: PhotoView) -> PaperSize:
    """Measure the paper of one of our window sheets. The view must be at height 0."""
    width, height = view.oriented.target.size * np.array(view.oriented.scale)
    x0, y0, x1, y1 = view.area
    left = _edge(view, (x0, y0), (x0, y1), np.array([-1.0, 0.0]), x0)
    right = _edge(view, (x1, y0), (x1, y1), np.array([1.0, 0.0]), width - x1)
    below = _edge(view, (x0, y0), (x1, y0), np.array([0.0, -1.0]), y0)
    above = _edge(view, (x0, y1), (x1, y1), np.array([0.0, 1.0]), height - y1)
    seen = (
        x1 - x0 + left + right if left is not None and right is not None else None,
        y1 - y0 + below + above if below is not None and above is not None else None,
    )
    return PaperSize(None, None) if _covered((width, height), seen) else PaperSize(*seen)


def _covered(nominal: Point, seen: tuple[float | None, float | None]) -> bool:
    """Whether it isn't the paper that ends there, but tape, cloth or a hand that begins.

    A page that was enlarged lacks the same part along x and y.
    """
    over = [side / size - 1.0 for side, size in zip(nominal, seen, strict=True) if size]
    return max(over, default=0.0) > _ENLARGED and (len(over) < 2 or abs(over[0] - over[1]) > _FITS)


def check_print_size(view: PhotoView, *, checked: bool) -> PaperSize:
    """Refuse a page whose paper shows that it was printed at another size than stated.

    checked: somebody measured the print; then it is that measurement the paper contradicts.
    """
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
    # Nor is one side cut too long by all of its tolerance and the other too short.
    square = abs(ratios[0] / ratios[1] - 1.0) <= np.hypot(slack[0], slack[1])
    if square and all(abs(r - 1.0) <= more for r, more in zip(ratios, slack, strict=True)):
        return replace(seen, print_x=ratios[0], print_y=ratios[1])
    paper, factors = _printed_on(target.paper, seen.width, seen.height)
    x, y = (factor * s for factor, s in zip(factors, view.oriented.scale, strict=True))
    size = f"about {100 * x:.1f} x {100 * y:.1f} % of its size{_fitted(target.paper, paper, x, y)}"
    if checked:
        raise ScribeError(
            "print-scale-contradicts",
            what=f"the paper's edges say that the target was printed at {size}, which isn't the"
            " print scale that was given",
            where=view.where,
            do="measure both check bars of this very sheet again and give {bars}",
        )
    raise ScribeError(
        "print-scale-wrong",
        what=f"the paper's edges say that the target was printed at {size}",
        where=view.where,
        do="print it again at 100 %; or measure both check bars and give {bars} (they should"
        f" read about {x * BAR_MM:.1f},{y * BAR_MM:.1f}){{or by paper}}",
    )


def paper_scale(view: PhotoView) -> PrintScale:
    """The print scale that gives the paper its nominal size, as well as ISO 216 ties that down.

    The view at height 0, in lengths that the sheet states.
    """
    target = view.oriented.target
    seen = paper_size(view) if target.form == "window" else PaperSize(None, None)
    if seen.width is None or seen.height is None:
        raise ScribeError(
            "paper-not-seen",
            what="the paper's four edges can't be seen, so they can't tell the print scale",
            where=view.where,
            do="lay the whole sheet on something darker or coloured and take in all of it; or"
            " measure the check bars and give {bars}",
        )
    paper, (x, y) = _printed_on(target.paper, seen.width, seen.height)
    u_x, u_y = (
        float(np.hypot(_tolerance(side) / side, _WRONG) / 3**0.5) for side in PAPER_MM[paper]
    )
    words = f"{x:.4f} x {y:.4f} by the edges of the {paper} paper in {view.where}"
    return PrintScale(x, y, u_x, u_y, words)


def _printed_on(layout: str, width: float, height: float) -> tuple[str, tuple[float, float]]:
    """The paper the page is on, and printed over stated length along x and y.

    Printers scale both axes alike: of the papers by which they are, its own comes first. If
    there is none, it was its own.
    """
    own = (PAPER_MM[layout][0] / width, PAPER_MM[layout][1] / height)
    for paper in (layout, *(name for name in PAPER_MM if name != layout)):
        x, y = PAPER_MM[paper][0] / width, PAPER_MM[paper][1] / height
        slack = sum(_WRONG + _tolerance(side) / side for side in PAPER_MM[paper])
        if abs(x / y - 1.0) < slack and SCALE_RANGE[0] < x < SCALE_RANGE[1]:
            return paper, (x, y)
    return layout, own


def _fitted(layout: str, paper: str, x: float, y: float) -> str:
    """In words: what a printer does that is told to fit a page."""
    own, there = PAPER_MM[layout], PAPER_MM[paper]
    whole = min(there[0] / own[0], there[1] / own[1])
    if paper != layout and abs((x + y) / 2.0 - whole) < _FITS:
        return f", as when {layout} is fitted to {paper} paper ({100 * whole:.1f} %)"
    least = min((side - 2.0 * _WIDEST_MARGIN_MM) / side for side in own)
    if paper == layout and least < min(x, y) and max(x, y) < 1.0 and abs(x - y) < _FITS:
        return ", as when a page is fitted into the printer's margins"
    return ""


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
    marks = view.oriented.target.square_mm
    margin = (reach > marks + _MARGIN_MM[0]) & (reach < marks + _MARGIN_MM[1])
    paper = np.quantile(np.nan_to_num(light[:, margin]), _LIGHTEST, axis=1)[:, None]
    changed = np.abs(light - paper) > _CLEAR * paper
    changed[:, reach < marks + _FROM_MM] = False
    # What lies beyond the paper goes on: words and check bars in its margin don't.
    steps = round(_STAYS_MM / _STEP_MM)
    stays = sliding_window_view(changed, steps, axis=1).mean(axis=2) > _STAYS
    lasting = changed[:, : stays.shape[1]] & stays
    seen = lasting.any(axis=1)
    if seen.sum() < _LINES // 2:
        return None
    along, found = part[seen, 0], reach[lasting[seen].argmax(axis=1)]
    return _straight(along, found)


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
