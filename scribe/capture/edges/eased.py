"""What an arris that is eased, and seen to be, may hide of a board's side.

In: the trace of its silhouette on the plane of its face, normals out of the board. Out: the same
trace, what isn't known of where the side runs added to its u as "arris".

A camera on the board's side, whose line of sight leans over by a (mm outwards for each mm down),
touches an arris of radius r at r (1 + a - sqrt(1 + a^2)) inside of the side. What is seen of the
arris is a strip r (sqrt(1 + a^2) - a) wide, often darker than the face. As dark a strip may also be
grain along a sharp edge, which hides nothing, or a chamfer, which hides up to twice as much: so the
trace stays where it is, and U reaches to the chamfer.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.scan import Stations, along, pixel_at, read_scans
from scribe.capture.edges.upright import side_width
from scribe.capture.view import Trace, View

Array = npt.NDArray[np.float64]

_MEAN, _STEP = 2.0, 0.04  # mm of the edge that a scan is averaged over; between its samples
_WIDEST, _DEEP = 1.5, 3.0  # mm inside of the edge: the widest strip, and to where the face is read
_BLURS = 1.5  # inside of the edge from which on the paper doesn't show
_DARKER = 0.1  # of the face's light
_LEANING = 0.1  # mm outwards for each mm down, at least


def arris_doubted(view: View, trace: Trace) -> Trace:
    """The trace of a board's edge on the plane view.height, which stands above the sheet."""
    if view.height <= 0.0:
        return trace
    lean = -side_width(view, trace.points, trace.normals) / view.height
    over = trace.measured & (lean > _LEANING)
    strip = _strip(view, trace, over) if over.any() else 0.0
    if not strip:
        return trace
    usual = float(np.median(lean[over]))
    radius = strip / (np.hypot(1.0, usual) - usual)
    lean = np.maximum(lean, 0.0)
    hidden = radius * (1.0 + lean - np.hypot(1.0, lean))
    return replace(trace, u=np.hypot(trace.u, hidden), parts=dict(trace.parts) | {"arris": hidden})


def _strip(view: View, trace: Trace, over: npt.NDArray[np.bool_]) -> float:
    """How wide the strip along the edge is that is darker than the face, mm; 0 without one."""
    points, normals = trace.points[over], trace.normals[over]
    where = Stations(points, normals, along(points))
    t = np.arange(_STEP, _DEEP, _STEP)
    rows = np.nan_to_num(read_scans(view, where, -t, _MEAN))
    face = np.median(rows[:, t > _WIDEST], axis=1)
    light = np.median(rows / np.maximum(face, 1e-3)[:, None], axis=0)
    inside = t > _BLURS * view.blur_px * float(np.median(pixel_at(view, where)))
    darkest = int(np.argmin(np.where(inside & (t < _WIDEST), light, np.inf)))
    if light[darkest] > 1.0 - _DARKER:
        return 0.0
    again = light[darkest:] > 0.5 * (1.0 + light[darkest])
    return float(t[darkest + np.argmax(again)]) if again.any() else 0.0
