"""Which pins are covered by something that lies across the comb: a finger, a thumb, a tool?

In: the edge that was found, the light below it, and the beat of the comb. Out: the pins below whose
ends nothing of a pin is seen. The edge goes on round the tip of a finger as sharp as round pins;
but where the other pins show lines between them a finger shows none, and it covers several of them.
Notches don't tell: flat pins that touch level have none either.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.gauge.beat import CLEAR, Beat, cells_of, plain
from scribe.capture.gauge.edge import Edge

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_LEAST_MM = 4.0  # what lies across is wider; and so many pins at least
_FEWEST = 4


def covered(edge: Edge, light: Array, beat: Beat) -> Mask:
    """(K,) whether a pin is covered. light: (N,) below the edge."""
    if beat.texture <= CLEAR:
        return np.zeros(len(beat.middles), bool)
    which, found = cells_of(edge, beat)
    least = max(_FEWEST, round(_LEAST_MM / beat.pitch))
    return _in_runs(plain(light[which], found), least)


def _in_runs(mask: Mask, least: int) -> Mask:
    """Those that stand in runs of at least so many, where one other in between doesn't count."""
    closed = mask.copy()
    closed[1:-1] |= mask[:-2] & mask[2:]
    edges = np.flatnonzero(np.diff(np.concatenate([[0], closed.astype(np.int8), [0]])))
    runs = np.zeros(len(mask), bool)
    for first, after in zip(edges[::2], edges[1::2], strict=True):
        runs[first:after] = after - first >= least
    return runs
