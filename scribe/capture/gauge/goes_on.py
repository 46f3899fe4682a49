"""Does the gauge go on beyond what was taken for its pins' ends?

In: a view and the tips found in it. Out: nothing, or a refusal. Beyond pins lies paper, and beyond
their shadow it is lit. Pins as light as paper aren't seen on it as a whole, and the first thing
that is dark is the gauge's body: but the gaps between the pins are seen, and paper has none.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.scan import median_seen
from scribe.capture.gauge.edge import SCAN
from scribe.capture.gauge.find import DARK, no_contrast, not_found
from scribe.capture.gauge.spectrum import ROW, repeats
from scribe.capture.gauge.tips import Tips
from scribe.capture.view import View

Array = npt.NDArray[np.float64]

# mm beyond the ends. Nearer to them, and in low sun, the shadows of pins repeat as pins do.
_BEYOND = np.arange(4.0, 8.0, 0.3)
_GAPS = 0.03  # part of the light that changes between pins and gaps at least
_HALF_PITCH = round(0.5 / SCAN)
_FAR = np.arange(10.0, 14.0, 0.5)  # mm: beyond the shadow of pins as well
_LIT, _SOME = 0.5, 0.1  # part of the paper's light; of the pins beyond which there may be less


def refuse_going_on(view: View, tips: Tips, paper: float) -> None:
    """Refuse tips beyond which pins or the body are seen. paper: the light of bare paper.

    With gauge-no-contrast, gauge-not-found.
    """
    s = np.arange(tips.s[0], tips.s[-1], SCAN)
    t = np.interp(s, tips.s, tips.t)
    rows = _read(view, tips, s, t, _BEYOND)
    # Of the rows one or two may lie on a shadow's border.
    light = np.nan_to_num(median_seen(rows.T)[:, 0], nan=paper)
    as_paper = np.median(light) > DARK * paper  # and no shadow of pins
    gaps = np.median(np.abs(light[_HALF_PITCH:] - light[:-_HALF_PITCH]))
    if as_paper and gaps > _GAPS * np.median(light) and repeats(light[None]) > ROW:
        raise no_contrast(view)
    far = median_seen(_read(view, tips, s, t, _FAR).T)[:, 0]
    if np.mean(far < _LIT * paper) > _SOME:
        raise not_found(view, "beyond what looks like pins' ends lies no white paper")


def _read(view: View, tips: Tips, s: Array, t: Array, beyond: Array) -> Array:
    """(D, N) light so many mm beyond the ends; NaN outside of the window."""
    points = tips.frame.sheet(s, t + beyond[:, None])
    x0, y0, x1, y1 = view.window
    inside = np.all((points > [x0, y0]) & (points < [x1, y1]), axis=-1)
    return np.where(inside, view.light(points), np.nan)
