"""Where a camera looks back at a board's side: is what was found its arris, or the side's foot?

In: a trace on the plane of the board's face, its normals out of the board. Out: the same trace with
what was the foot moved to the arris.

A camera on the building's side of an edge sees paper, side and face, and the side as a strip: d a
wide on the plane of the face, if it is d high and the line of sight leans over it by a (mm outwards
for each mm up). The foot of an upright side lies straight below the arris and is seen d a further
out. Which border of the strip was found, the other one tells, which must lie just so far inside of
it or outside. Where neither shows, because side and face or side and paper are alike or the strip
is too narrow, the step that was found lies where the mean of the side's light has it: a part

    (paper - side) / (paper - face)

of the strip's width too far out.

The part "side" holds what is not known of that, "squareness" how square the side is.
"""

from __future__ import annotations

from dataclasses import replace
from math import radians, tan

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.scan import along, running_median
from scribe.capture.view import Trace, View

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

# So far saws and planes leave an edge from square (common practice, no source).
SQUARE = tan(radians(0.5))
_LEAST_MM = 0.005  # a narrower strip moves nothing
_SEEN_BLURS = 4.0  # times the photo's blur: a strip as wide has two borders
_BESIDE = np.array([0.15, 0.25, 0.35])  # of the strip's width, before and behind a border
_NEXT = 0.45  # of its width to the next change
_ELSEWHERE = (-1.9, -2.4, -2.9)  # widths further in, where there is no border
_SHOWS = 0.05  # of the step that was found: another one,
_STANDS_OUT = 3.0  # and times what light does elsewhere on the board
_CLEAR_MM = np.array([1.0, 1.5, 2.0])  # beyond the strip, where paper and face are
# Light of a side in parts of the face's, in shade or lit more squarely (an estimate, no source).
_SIDE = np.geomspace(0.4, 2.0, 17)
_LIKE_FACE = 0.2  # doubt below which no side is as light as the paper
_ALIKE = 8.0  # mm along the edge


def side_width(view: View, points: Array, normals: Array) -> Array:
    """(N,) mm by which an upright side below points of an edge is seen; below 0: not at all.

    points: (N, 2) on the plane view.height. normals: (N, 2), out of the board.
    """
    return np.asarray(view.height * (view.lean(points) * normals).sum(axis=1))


def from_foot_to_arris(view: View, trace: Trace) -> Trace:
    """The trace of an edge as its arris. trace: on the plane view.height, normals out of the board.

    The board stands on the sheet and its side is upright.
    """
    width = side_width(view, trace.points, trace.normals)
    facing = width > _LEAST_MM
    if not facing.any():
        return trace
    far, doubt_far = _too_far(view, trace, width, facing)
    share, doubt = np.where(facing, far, 0.0), np.where(facing, doubt_far, 0.0)
    clear = facing & (width > _SEEN_BLURS * view.blur_px * view.pixel(trace.points))
    if clear.any():
        unlike = doubt_far < _LIKE_FACE  # no side is as light as the paper: it is like the face
        foot = _is_foot(view, trace, width, clear)
        share[clear] = np.where(np.isnan(foot), 1.0 if unlike else 0.5, foot)
        doubt[clear] = np.where(np.isnan(foot), 0.0 if unlike else 0.5, 0.0)
    parts = {"side": doubt * np.abs(width), "squareness": share * SQUARE * view.height}
    return replace(
        trace,
        points=trace.points - (share * view.height)[:, None] * view.lean(trace.points),
        u=np.sqrt(trace.u**2 + parts["side"] ** 2 + parts["squareness"] ** 2),
        parts=dict(trace.parts) | parts,
    )


def _is_foot(view: View, trace: Trace, width: Array, clear: Mask) -> Array:
    """1 where what was found is the foot, 0 where it is the arris; NaN where nothing tells.

    For the stations that are clear, from what is alike over some way along the edge.
    """
    points, normals, wide = trace.points[clear], trace.normals[clear], width[clear, None]
    place = along(trace.points)[clear]

    def step(widths: float) -> Array:
        """Size of light's change at so many widths outside of what was found."""
        s = np.concatenate([widths + _BESIDE, widths - _BESIDE]) * wide
        light = view.light(points[:, None] + s[:, :, None] * normals[:, None])
        half = len(_BESIDE)
        change = light[:, :half].mean(axis=1) - light[:, half:].mean(axis=1)
        return np.abs(running_median(change, np.isfinite(change), place, _ALIKE))

    def border(widths: float) -> Array:
        """How much larger it is than beside it: of a shadow that fades, nothing."""
        return np.asarray(step(widths) - np.maximum(step(widths - _NEXT), step(widths + _NEXT)))

    noise = max(float(np.median(border(far))) for far in _ELSEWHERE)
    inside, outside = border(-1.0), border(1.0)
    least = np.maximum(_SHOWS * step(0.0), _STANDS_OUT * noise)
    told = np.maximum(inside, outside) > least
    return np.where(told, np.where(inside > outside, 1.0, 0.0), np.nan)


def _too_far(view: View, trace: Trace, width: Array, facing: Mask) -> tuple[float, float]:
    """The part of the strip's width by which the step may lie too far out, and its u."""

    def light(s: Array) -> float:
        where = trace.points[facing, None] + s[:, :, None] * trace.normals[facing, None]
        return float(np.nanmedian(view.light(where)))

    beyond = width[facing, None] + _CLEAR_MM
    paper, face = light(beyond), light(-beyond)
    if paper <= face:
        return 0.5, 0.5
    parts = np.clip((paper - _SIDE * face) / (paper - face), 0.0, 1.0)
    return float(parts.mean()), float(parts.std())
