"""Does what lies on the sheet stand up from it? Its shadow tells.

In: the view on the sheet's plane. Out: how wide the shadow is that lies beside the thing.

Paper, then the border of the thing: beside something flat light changes once, within the photo's
blur. Beside a thing that stands up it changes twice, first softly from paper to shadow, then
sharply to the thing; or from paper to the side that faces the camera, and then to the face. How
high it is that doesn't say, since nobody knows where the lamp is; but a lamp stands higher than
`LOWEST_LAMP_DEG`, since a lower one hardly lights the sheet, and so a shadow w wide needs a
thing at least w tan(lowest) high (right triangle).

What it can't see: shadows that fall where the thing hides them, or that are as dark as the thing,
and a thing in light from all round.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.bare_paper import UNLIKE_PAPER
from scribe.capture.edges.thing import Thing
from scribe.capture.edges.walk import LEAST_CHANGE, SAMPLE, walked
from scribe.capture.view import View

Array = npt.NDArray[np.float64]

LOWEST_LAMP_DEG, USUAL_LAMP_DEG = 10.0, 45.0  # above the sheet (common practice, no source)
_OUTSIDE, _INSIDE = 4.0, 22.0  # mm looked at before the border and behind it
_PAPER = 15  # samples outside that show it, lit
_LASTING = 5  # samples by which it stays dark: what is shorter is noise
_NOISES = 4.0  # standard deviations of what noise does to the mean of so many
_BACK = 3  # samples before it grows dark, where the edge itself may begin
_TOGETHER = 21  # neighbouring places, about a millimetre apart, that are judged together
_WIDE_PX = 6.0  # narrower than this is blur
_LEAST_MM = 0.8
_FEWEST = 40  # places
_PART = 0.08  # of the border beside which a shadow must lie


@dataclass(frozen=True)
class Shadow:
    """width: mm, the usual one where there is any."""

    width: float

    @property
    def lowest(self) -> float:
        """Mm of the lowest thing that casts it."""
        return self.width * float(np.tan(np.deg2rad(LOWEST_LAMP_DEG)))

    @property
    def height(self) -> float:
        """Mm of a thing that casts it under the usual lamp."""
        return self.width * float(np.tan(np.deg2rad(USUAL_LAMP_DEG)))

    @property
    def u(self) -> float:
        """Standard uncertainty of that, mm: U reaches past the lowest, and up to a lamp of 70
        degrees.
        """
        return 0.9 * self.height

    @property
    def words(self) -> str:
        """What a person may call it."""
        return f"about {max(self.width, 1.0):.0f} mm wide"

    def denies(self, height: float) -> bool:
        """Whether a thing of that height casts no such shadow."""
        return height < self.lowest


def shadow_seen(view: View, thing: Thing) -> Shadow | None:
    """The shadow beside a thing; None where there is none to see."""
    border = thing.border
    if len(border.place) < _FEWEST:
        return None
    walk = walked(view, border, -border.normals, np.arange(-_OUTSIDE, _INSIDE, SAMPLE))
    dark = _darker(walk.light)
    first = np.where(dark.any(axis=1), dark.argmax(axis=1), 0)
    change = walk.sharpness()
    begun = np.arange(len(walk.s)) >= first[:, None] - _BACK
    own = np.argmax(np.where(begun, change, -1.0), axis=1)
    clear = dark.any(axis=1) & (np.take_along_axis(change, own[:, None], 1)[:, 0] > LEAST_CHANGE)
    width = np.where(clear, (own - first) * SAMPLE, 0.0)
    around = np.pad(width, _TOGETHER // 2, mode="wrap")
    usual = np.median(np.lib.stride_tricks.sliding_window_view(around, _TOGETHER), axis=1)
    wide = usual > np.maximum(_WIDE_PX * view.pixel(border.points), _LEAST_MM)
    return Shadow(float(np.median(usual[wide]))) if wide.mean() > _PART else None


def _darker(light: Array) -> npt.NDArray[np.bool_]:
    """(N, S) where it begins to be darker than the paper, 1, and stays so for a while.

    Darker alone: a phone that sharpens makes the paper lighter beside an edge.
    """
    padded = np.pad(light, ((0, 0), (0, _LASTING - 1)), mode="edge")
    ahead = np.lib.stride_tricks.sliding_window_view(padded, _LASTING, axis=1)
    mean = ahead.mean(axis=2)
    noise = 1.4826 * float(np.median(np.abs(mean[:, :_PAPER] - 1.0)))
    least = 1.0 - np.exp(-UNLIKE_PAPER)
    return np.asarray((mean < 1.0 - max(least, _NOISES * noise)) & (light < 1.0 - 0.5 * least))
