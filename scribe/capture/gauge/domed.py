"""Are the pins' ends domed? Then their light changes towards the end.

In: a view, and the middles of the pins on the edge that was found. Out: yes, or not that it shows.
A rod or a blade looks alike up to its end; a ball turns from the camera and from the light there.
Shadow that fills the notches between balls makes their edge look like that of rods, and this
doesn't go by the edge.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.gauge.find import Frame
from scribe.capture.view import View

Array = npt.NDArray[np.float64]

_ACROSS = np.linspace(-0.1, 0.1, 3)  # of the pitch: beside the middle light comes in from gaps
_INSIDE, _BLURS, _STRIP = 0.05, 2.0, 0.25  # mm, and blurs, behind the end where a strip begins
_OWN, _DEEP = (1.2, 2.6), (2.6, 4.0)  # mm behind the end, where the pin itself is seen
_STEP = 0.05  # mm between samples
_CHANGED, _TIMES = 0.012, 2.0  # of the paper's light, and times what it changes by further in


def domed(view: View, frame: Frame, s: Array, t: Array, pitch: float, paper: float) -> bool:
    """Whether those of pins that end at s, t (K,) mm are. paper: the bare paper's light."""
    blur = view.blur_px * float(np.median(view.pixel(frame.sheet(s, t))))
    begin = _INSIDE + _BLURS * blur

    def light(near: float, far: float) -> Array:
        depth = np.arange(near, far, _STEP)
        points = frame.sheet((s[:, None] + _ACROSS * pitch)[..., None], t[:, None, None] - depth)
        return np.asarray(np.nan_to_num(view.light(points)).mean(axis=-1))

    def change(outer: Array, inner: Array) -> float:
        return float(np.sqrt(np.mean(np.median(outer - inner, axis=0) ** 2))) / paper

    own = light(*_OWN)
    usual = change(own, light(*_DEEP))
    return change(light(begin, begin + _STRIP), own) > max(_CHANGED, _TIMES * usual)
