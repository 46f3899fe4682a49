"""Is the dark strip beyond an edge its shadow, or the thing's own arris?

In: a view, and the trace of an edge, normals out of the thing. Out: how wide it
is where that can't be told.

A thing that stands up casts a shadow whose border is softer than the photo, but for a lamp that is
small and far. An arris that is chamfered, scorched or of another colour is a strip as well, with
paper beyond it, and its border is as sharp as any edge. It is narrow beside the thing's height, and
goes along with the edge: equally wide, square to it. A shadow in hard light may be as narrow and as
sharp; but all of it is moved by one vector, so that where the edge turns its width changes.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.behind_shadow import softest
from scribe.capture.edges.profile import fit_step
from scribe.capture.edges.scan import Stations, along, pixel_at, read_scans
from scribe.capture.view import Trace, View

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_EVERY, _MEAN = 4, 2.0  # points of the trace; mm of it that a scan is averaged over
_WIDEST, _OF_HEIGHT = 5.0, 0.5  # mm, and parts of the thing's height: of an arris
_BEYOND = (0.5, 2.0)  # mm past the widest, where paper is read
_STRIP, _REACH = (2.5, 4.0), 5.0  # blurs: from the edge to the strip, about its outer border
_DARK = 0.85  # of the paper's light
_SHARP_PART, _SEEN_PART = 0.5, 0.5  # of the strip's border, of the edge
_FEWEST = 8
_MOVED = 0.7  # of what an even width leaves over: what one vector must not leave


def width_of_own_strip(view: View, trace: Trace) -> float | None:
    """How wide the strip beyond the edge is that may be the thing's own, mm; else None."""
    seen = trace.measured
    points, normals = trace.points[seen][::_EVERY], trace.normals[seen][::_EVERY]
    where = Stations(points, normals, along(points))
    if len(points) < _FEWEST:
        return None
    width, dark = _widths(view, where)
    if dark.mean() < _SEEN_PART:
        return None
    where, width = where[dark], width[dark]
    pixel = pixel_at(view, where)
    t = np.arange(-_REACH, _REACH, 0.5 / view.blur_px) * view.blur_px * pixel
    outer = Stations(where.moved(width), where.normals, where.place)
    fit = fit_step(t, read_scans(view, outer, t, _MEAN), pixel=pixel, near=np.zeros(len(width)))
    sharp = fit.ok & (fit.blur < softest(view) * pixel)
    if sharp.mean() < _SHARP_PART:
        return None
    width = width[sharp] + fit.position[sharp]
    return None if _moved(width, where.normals[sharp]) else float(np.median(width))


def _widths(view: View, where: Stations) -> tuple[Array, Mask]:
    """(N,) mm of the dark strip beyond the edge, roughly, and where there is one."""
    pixel = pixel_at(view, where)
    blur = view.blur_px * pixel
    widest = min(_WIDEST, _OF_HEIGHT * view.height)
    t = np.arange(0.0, widest + _BEYOND[1], 0.5 * pixel)
    rows = np.nan_to_num(read_scans(view, where, t, _MEAN))
    beside = (t > _STRIP[0] * blur) & (t < _STRIP[1] * blur)
    strip = np.median(rows[:, beside], axis=1)
    paper = np.median(rows[:, t > widest + _BEYOND[0]], axis=1)
    past = (rows > 0.5 * (strip + paper)[:, None]) & (t > _STRIP[0] * blur)
    width = t[past.argmax(axis=1)]
    return width, past.any(axis=1) & (strip < _DARK * paper) & (width < widest)


def _moved(width: Array, normals: Array) -> bool:
    """Whether one vector explains the strip's widths (N,) better than that it is evenly wide."""
    vector = np.linalg.lstsq(normals, width, rcond=None)[0]
    left = [np.median(np.abs(width - each)) for each in (normals @ vector, np.median(width))]
    return bool(left[0] < _MOVED * left[1])
