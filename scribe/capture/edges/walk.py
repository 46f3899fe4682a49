"""The light along rays that lead from the paper across an edge, and where it changes sharply.

In: a view, and where rays start and which way they lead. Out: a `Walk`, the light along them in
parts of the paper's, which every ray sees at its beginning.

The border of a shadow is soft: where its light changes, it changes beside that as well. What the
light changes by over a sharp edge's width, less what it changes by beside it on both sides, is
therefore little in a penumbra and much at an edge. It is taken in two ways:

- `sharpness` takes away the larger of both sides' changes. What remains is sharp for sure, also
  where a penumbra begins; of an edge with a steep penumbra beside it a part is lost.
- `steps` takes away their mean. What remains is the whole height of an edge, whatever slopes lie
  beside it; but where a slope begins or ends, a part of the slope remains. Whoever looks for faint
  edges uses this, and has something else that tells them from such kinks.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.scan import Stations, median_seen, read_scans
from scribe.capture.view import View

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

SAMPLE = 0.1  # mm between samples of a walk
LEAST_CHANGE = 0.04  # of the paper's light: a smaller change is no edge
_HALF = 2  # samples: half of what a sharp edge has changed over
_PAPER = 5  # samples at the beginning that show the paper,
_DARKEST = 1e-3  # and its light at least
_STANDS_OUT = 5.0  # times the noise of a change: among 30 000 samples 0.02 are so large by chance


@dataclass(frozen=True)
class Walk:
    """s: (S,) mm along the rays, even, 0 where they start. light: (N, S), the paper's is 1.

    paper: (N, 1) linear light of the paper at the beginning of each ray.
    """

    s: Array
    light: Array
    paper: Array

    def sharpness(self) -> Array:
        """(N, S) change of light beyond the larger of what it changes by on both sides."""
        before, here, after = self._changes()
        return np.asarray(np.abs(here) - np.maximum(np.abs(before), np.abs(after)))

    def steps(self) -> Array:
        """(N, S) change of light, up or down, beyond the mean of what it changes by on both sides.

        Two half widths beside a step it shows another, half as high, that is none.
        """
        before, here, after = self._changes()
        return np.asarray(here - 0.5 * (before + after))

    def _changes(self) -> tuple[Array, Array, Array]:
        """(N, S) each: over a sharp edge's width before every sample, at it, and after it."""
        far, count = 3 * _HALF, len(self.s)
        padded = np.pad(self.light, ((0, 0), (far, far)), mode="edge")
        at = [padded[:, k * _HALF : k * _HALF + count] for k in (0, 2, 4, 6)]
        return at[1] - at[0], at[2] - at[1], at[3] - at[2]

    def sharp(self, apart: int) -> Mask:
        """(N, S) the middles of surely sharp changes, at least so many samples apart."""
        return _crests(self.sharpness(), LEAST_CHANGE, apart)

    def stepped(self, apart: int) -> Mask:
        """(N, S) the middles of steps that stand out from the noise, as `sharp`."""
        height = np.abs(self.steps())
        return _crests(height, _STANDS_OUT * 1.4826 * float(np.median(height)), apart)

    def first(self, found: Mask) -> Array:
        """(N,) mm along each ray to the first sample of a mask (N, S); NaN where there is none."""
        return np.where(found.any(axis=1), self.s[np.argmax(found, axis=1)], np.nan)


def walked(view: View, border: Stations, ahead: Array, s: Array, width: float = 0.0) -> Walk:
    """The walk along rays that cross the border of something on paper.

    ahead: (N, 2) unit vectors, inwards. s: (S,) mm, from before the border to behind it. width: mm
    of the border that are averaged. What the photo doesn't show counts as paper.
    """
    light = read_scans(view, border, s, width, ahead)
    paper = np.maximum(median_seen(light[:, :_PAPER]), _DARKEST)
    return Walk(s, np.nan_to_num(light / paper, nan=1.0), paper)


def _crests(change: Array, least: float, apart: int) -> Mask:
    """(N, S) where a change is the largest so many samples around, and larger than `least`."""
    crest = change > least
    for shift in range(1, apart + 1):
        crest[:, shift:] &= change[:, shift:] >= change[:, :-shift]
        crest[:, :-shift] &= change[:, :-shift] > change[:, shift:]
    return np.asarray(crest)
