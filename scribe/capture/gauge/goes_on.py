"""Do pins go on beyond what was taken for their ends?

In: a view and the tips found in it. Out: nothing, or a refusal. Pins as light as paper aren't seen
on it as a whole, and the first thing that is dark is the gauge's body: but the gaps between the
pins are seen, and paper has none.
"""

from __future__ import annotations

import numpy as np

from scribe.capture.gauge.edge import SCAN
from scribe.capture.gauge.find import DARK, no_contrast
from scribe.capture.gauge.spectrum import ROW, repeats
from scribe.capture.gauge.tips import Tips
from scribe.capture.view import View

# mm beyond the ends. Nearer to them, and in low sun, the shadows of pins repeat as pins do.
_BEYOND = np.arange(4.0, 8.0, 0.3)
_GAPS = 0.03  # part of the light that changes between pins and gaps at least
_HALF_PITCH = round(0.5 / SCAN)


def refuse_going_on(view: View, tips: Tips, paper: float) -> None:
    """Refuse tips beyond which a row of pins is seen ("gauge-no-contrast"). paper: its light."""
    s = np.arange(tips.s[0], tips.s[-1], SCAN)
    t = np.interp(s, tips.s, tips.t)
    rows = np.nan_to_num(view.light(tips.frame.sheet(s, t + _BEYOND[:, None])))
    light = np.median(rows, axis=0)  # of which one or two may lie on a shadow's border
    gaps = np.median(np.abs(light[_HALF_PITCH:] - light[:-_HALF_PITCH]))
    as_paper = np.median(light) > DARK * paper  # and no shadow of pins
    if as_paper and gaps > _GAPS * np.median(light) and repeats(light[None]) > ROW:
        raise no_contrast(view)
