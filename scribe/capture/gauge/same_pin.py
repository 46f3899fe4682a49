"""Is what ends at the edge the pin that lies behind it, or a shadow on the paper beyond its end?

In: a view and the tips found in it. Out: which of them look at their end as they look behind it. A
shadow may be as dark as pins on the whole, but no pin's streaks go on in it. How a pin looks at its
end is judged beside how the others do, since the shape of the ends and the light that comes in
between them make all of them look different there.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.gauge.tips import Tips
from scribe.capture.view import View

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_ACROSS = np.linspace(-0.3, 0.3, 7)  # of the pitch, from a pin's middle
_INSIDE, _BLURS, _STRIP = 0.05, 2.0, 0.25  # mm, and blurs, behind the end where a strip begins
_OWN = (1.2, 2.6)  # mm behind the end, where the pin itself is seen
_STEP = 0.05  # mm between samples
_TIMES, _LEAST = 3.0, 0.02  # the usual difference, and parts of the paper's light besides


def same_pin(view: View, tips: Tips, paper: float) -> Mask:
    """(K,) whether the tips are the ends of the pins behind them. paper: the bare paper's light."""
    across = _ACROSS * tips.pitch
    pixel = float(np.median(view.pixel(tips.frame.sheet(tips.s, tips.t))))
    begin = _INSIDE + _BLURS * view.blur_px * pixel
    near = _light(view, tips, across, np.arange(begin, begin + _STRIP, _STEP))
    own = _light(view, tips, across, np.arange(*_OWN, _STEP))
    change = (near - own) / paper
    change = change - np.median(change, axis=0)
    unlike = np.sqrt(np.mean(change**2, axis=1))
    return np.asarray(unlike < _TIMES * np.median(unlike) + _LEAST)


def _light(view: View, tips: Tips, across: Array, depth: Array) -> Array:
    """(K, A) mean light at (A,) mm from the middles, over (D,) mm behind the ends."""
    s = tips.s[:, None] + across
    t = tips.t[:, None] - tips.shape.drop(across)
    light = view.light(tips.frame.sheet(s[..., None], t[..., None] - depth))
    return np.asarray(np.nan_to_num(light).mean(axis=-1))
