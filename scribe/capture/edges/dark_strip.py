"""Is the dark strip beyond an edge its shadow, or a part of the thing?

In: a view, and the trace of an edge, normals out of the thing. Out: how wide the strip is where it
may be a part of the thing.

A thing that stands up casts a shadow whose border is softer than the photo, but for a lamp that is
small and far. What is a part of the thing, its arris that is chamfered or scorched, its face beside
a strip of tape, has a border as sharp as any edge. In hard light shadows have one as well. But they
are the edge moved by one vector, and no wider than the lowest lamp makes them; an arris is narrow,
and as wide square to the edge wherever the edge turns.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.behind_shadow import softest
from scribe.capture.edges.cast_shadow import LOWEST_LAMP_DEG
from scribe.capture.edges.profile import fit_step
from scribe.capture.edges.scan import Stations, along, pixel_at, read_scans
from scribe.capture.view import Trace, View

Array = npt.NDArray[np.float64]

_EVERY, _MEAN = 4, 2.0  # points of the trace; mm of it that a scan is averaged over
_WIDEST, _LIGHT = 20.0, 0.9  # mm beyond an edge that are looked at; quantile: paper
_ARRIS, _OF_HEIGHT = 5.0, 0.5  # mm, and parts of the thing's height: the widest arris
_STRIP, _REACH = (2.5, 4.0), 5.0  # blurs: from the edge to the strip, about its outer border
_DARK = 0.94  # of the paper's light
_SHARP_PART, _SEEN_PART = 0.5, 0.2  # of the strip's border, of the edge
_FEWEST = 8
_LOWEST_LAMP = float(np.tan(np.deg2rad(LOWEST_LAMP_DEG)))
_NEXT_MM, _SLANT = 4.0, 0.5  # between points of one border; cosine: slanted no more than that
# A shadow should show where it would be wider than this part of its usual width: the part of the
# stations at which it may be missing.
_OF_USUAL, _LIT = 0.5, 0.2
_MOVED = 0.7  # of what an even width leaves over: what one vector must not leave
# mm by which nearly all widths differ from one vector's at most, and so much for each mm of width.
_STRAY_MM, _STRAY, _NEARLY_ALL = 0.25, 0.02, 0.9


def width_of_own_strip(view: View, trace: Trace) -> float | None:
    """How wide the strip beyond the edge is that may be the thing's own, mm; else None."""
    seen = trace.measured
    points, normals = trace.points[seen][::_EVERY], trace.normals[seen][::_EVERY]
    where = Stations(points, normals, along(points))
    if len(points) < _FEWEST:
        return None
    strip, paper = _lights(view, where)
    dark = strip < _DARK * paper
    if dark.mean() < _SEEN_PART:
        return None
    lit, where = where[~dark], where[dark]
    width = _widths(view, where, 0.5 * (strip + paper)[dark])
    pixel = pixel_at(view, where)
    t = np.arange(-_REACH, _REACH, 0.5 / view.blur_px) * view.blur_px * pixel
    along_edge = Stations(where.moved(width), where.normals, where.place)
    for outer in (along_edge, _squared(along_edge)):  # as wide all along, or slanted
        rows = read_scans(view, outer, t, _MEAN)
        fit = fit_step(t, rows, pixel=pixel, near=np.zeros(len(width)))
        sharp = fit.ok & (fit.blur < softest(view) * pixel)
        if sharp.mean() >= _SHARP_PART:
            break
    else:
        return None
    # Along the edge's normals, from where the border was found square to itself.
    slant = (outer.normals * where.normals).sum(axis=1)
    width = (width + fit.position / slant)[sharp]
    border, normals = where[sharp].moved(width), where.normals[sharp]
    # A shadow lies on the sheet, and is seen on the plane of the thing's face.
    cast = width - view.height * (view.lean(border) * normals).sum(axis=1)
    shadow = _is_shadow(width, cast, normals, lit.normals, view.height)
    return None if shadow else float(np.median(width))


def _is_shadow(width: Array, cast: Array, normals: Array, lit: Array, height: float) -> bool:
    """Whether a strip (N,) wide along normals (N, 2), and so far on the sheet from the edge above
    it, can only be the shadow of a thing so high. lit: (M, 2) normals where there is no strip.
    """
    usual = float(np.median(width))
    vector = np.linalg.lstsq(normals, cast, rcond=None)[0]
    if np.sum(lit @ vector > _OF_USUAL * usual) > _LIT * (len(width) + len(lit)):
        return False
    away = np.abs(cast - normals @ vector)
    if np.quantile(away, _NEARLY_ALL) > _STRAY_MM + _STRAY * usual:
        return False
    if np.median(cast) * _LOWEST_LAMP > height:
        return False
    if usual > min(_ARRIS, _OF_HEIGHT * height):
        return True
    return float(np.median(away)) < _MOVED * float(np.median(np.abs(width - usual)))


def _squared(outer: Stations) -> Stations:
    """The stations of a strip's border with its own normals, which the edge's needn't be."""
    travel = np.gradient(outer.points, axis=0)
    length = np.maximum(np.hypot(*travel.T), 1e-9)[:, None]
    normals = travel[:, ::-1] * (-1.0, 1.0) / length
    slant = (normals * outer.normals).sum(axis=1)[:, None]
    near = (length < _NEXT_MM) & (np.abs(slant) > _SLANT)  # else the border begins anew there
    own = np.where(near, np.sign(slant) * normals, outer.normals)
    return Stations(outer.points, own, outer.place)


def _lights(view: View, where: Stations) -> tuple[Array, Array]:
    """(N,) light just beyond the edge, and of the paper."""
    blur = view.blur_px * pixel_at(view, where)
    strip = read_scans(view, where, np.linspace(*_STRIP, 5) * blur)
    beyond = read_scans(view, where, np.linspace(_STRIP[1] * blur, _WIDEST, 20))
    return np.median(np.nan_to_num(strip), axis=1), np.quantile(
        np.nan_to_num(beyond), _LIGHT, axis=1
    )


def _widths(view: View, where: Stations, middle: Array) -> Array:
    """(N,) mm from the edge to where the light passes the middle (N,) of strip and paper."""
    pixel = pixel_at(view, where)
    t = np.arange(_STRIP[0] * view.blur_px * pixel, _WIDEST, 0.5 * pixel)
    past = np.nan_to_num(read_scans(view, where, t)) > middle[:, None]
    return np.asarray(t[past.argmax(axis=1)])
