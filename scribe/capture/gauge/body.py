"""Which tips of a comb lie on the upper side of the gauge's body?

In: the edge along scan lines, the light below it, and the tips found there. Out: those that are
none. A lamp mirrored in a part of the pins makes them as light as the paper, and the first that is
dark there is the body. It runs straight between its corners, which stick out of the comb to both
sides; the other pins end far above that line and show lines between them.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.gauge.edge import Edge

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

FAR_MM = 5.0  # from the body to the ends of pins
_CORNER, _ON_BODY_MM = 10, 0.6  # samples at both ends of the edge; off the line between them
_ACROSS, _PLAIN = np.linspace(-0.5, 0.5, 13), 0.4  # of the pitch; of how uneven light is below pins


def of_body(edge: Edge, light: Array, s: Array, t: Array, pitch: float) -> Mask:
    """(K,) which tips at s, t (K,) mm lie on the body. light: (N,) below the edge."""
    seen = np.flatnonzero(np.isfinite(edge.t))
    corners = [float(np.median(edge.t[part])) for part in (seen[:_CORNER], seen[-_CORNER:])]
    body = np.interp(s, edge.s[seen[[0, -1]]], corners)
    far = t > body + FAR_MM
    if not far.any():
        return np.zeros(len(s), bool)
    uneven = np.interp(s[:, None] + _ACROSS * pitch, edge.s, light).std(axis=1)
    return np.asarray((np.abs(t - body) < _ON_BODY_MM) & (uneven < _PLAIN * np.median(uneven[far])))
