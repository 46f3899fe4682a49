"""The edge of a coloured thing, which no shadow hides.

In: the view on the plane of the thing's face. Out: the steps along its edge, the thing to the right
of travel, and the border they were found along.

Colours tell where the thing ends and its shadow begins, to some hundredths of a millimetre: a photo
holds them at half of its size. Where its light has a step at the same place, that tells more; where
it has one elsewhere, it is a shadow's.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.bare_paper import largest_part
from scribe.capture.edges.edge_steps import Steps, one_step
from scribe.capture.edges.grid import Grid, inset_grid
from scribe.capture.edges.profile import StepFit, fit_step
from scribe.capture.edges.scan import (
    Stations,
    distance_to,
    keep_steady,
    longest_inside,
    pixel_at,
    read_scans,
    scan_axis,
)
from scribe.capture.edges.sides import sided_stations
from scribe.capture.edges.silhouette import Border, border_of
from scribe.capture.edges.tinted import PAPER, Tinted, tinted
from scribe.capture.edges.wish import Wish, refuse_outside
from scribe.capture.view import Trace, View

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_SHARE = 0.5  # of all that lies on the paper
_STEP = 0.5  # mm between grid points
_SOFTENED = 1.0  # grid points by which the rough look is softened
_REACH = 1.5  # mm to each side that tell a station its direction
_HALF, _PIXELS = 1.2, 5.0  # mm, and pixels, half a scan line at least
_LIGHT_PIXELS = 7.0  # the same for the light
_ROUNDS = 2
_STEADY = 0.8  # mm over which outliers are judged
_BESIDE, _STRAIGHT = 2, 0.95  # stations to each side; cosine: round a corner colours are blurred
_OFF = 0.5  # of the step: how far its sides may be from what they should be
_SEEN = 0.6  # part of the edge that must be measured
_FEWEST = 10  # points
# Colours are kept at half size in encoded values, whose middle isn't the middle of the light: part
# of a pixel by which that may move an edge (about what ten drawn boards showed).
_MOVED_PX = 0.12
_SAME, _NEAR, _ELSEWHERE = 0.04, 0.3, 0.05  # mm usually, and mm beyond which so small a part lies
_AGREE = 2.0  # standard uncertainties by which light and colour may differ


@dataclass(frozen=True)
class ByColour:
    """steps: along the edge, the thing to the right of travel. border: what they run along."""

    steps: Steps
    border: Border

    def bears_out(self, trace: Trace) -> bool:
        """Whether an edge that was found by its light is this one."""
        from scipy.spatial import cKDTree

        points, good = trace.points[trace.measured], self.steps.good
        own, normals = self.steps.points[good], self.steps.where.normals[good]
        nearest = cKDTree(own).query(points)[1]
        beside = ((points - own[nearest]) * normals[nearest]).sum(axis=1)
        elsewhere = np.mean(distance_to(points, own) > _NEAR) > _ELSEWHERE
        return bool(abs(np.median(beside)) < _SAME and not elsewhere)

    def with_light(self, view: View, step: float) -> Steps:
        """The same edge, measured by its light wherever that agrees."""
        where, by_colour = self.steps.where, self.steps.fit
        pixel = pixel_at(view, where)
        t = scan_axis(_LIGHT_PIXELS * pixel, pixel)
        light = one_step(t, read_scans(view, where, t, step), pixel, near=by_colour.position)
        u = np.hypot(np.maximum(by_colour.u, self.steps.spread), light.u)
        same = light.ok & (np.abs(light.position - by_colour.position) < _AGREE * u)
        return _steady(where, by_colour.replaced(same, light))

    def between_ends(self, steps: Steps, view: View, wish: Wish) -> slice:
        """Which of its steps lie where the marks support them, and between the thing's corners."""
        inside = longest_inside(steps.where.points, view.area)
        if not wish.silent:
            return inside
        kept = self.border.corners(steps.points[inside])
        return slice(inside.start + kept.start, inside.start + kept.stop)


def edge_by_colour(view: View, wish: Wish, step: float) -> ByColour | None:
    """The edge of the thing by its colour; None for a thing that has hardly any, or too ragged."""
    refuse_outside(view.area, wish, view.where)
    seen = tinted(view, _SHARE)
    if seen is None:
        return None
    border = border_of(*_rough(seen), wish, view.where)
    way = border.between_corners(border.way) if wish.silent else border.way
    for _ in range(_ROUNDS):
        steps = _by_colour(seen, sided_stations(way, step, _REACH), step)
        if steps.good.sum() < _FEWEST or steps.good.mean() < _SEEN:
            return None
        way = steps.points[steps.good]
    return ByColour(steps, border)


def _rough(seen: Tinted) -> tuple[Grid, Mask]:
    """The window on a grid, and the largest part of it that has the thing's colour."""
    from scipy.ndimage import binary_fill_holes, gaussian_filter

    points = inset_grid(seen.window, _STEP)
    light = gaussian_filter(np.nan_to_num(seen.light(points), nan=PAPER), _SOFTENED)
    largest = largest_part(light < 0.5 * PAPER)
    x, y = points[0, 0]
    return Grid((float(x), float(y)), _STEP, light), np.asarray(binary_fill_holes(largest))


def _by_colour(seen: Tinted, where: Stations, step: float) -> Steps:
    pixel = pixel_at(seen, where)
    t = scan_axis(max(_HALF, _PIXELS * pixel), pixel)
    rows = read_scans(seen, where, t, step)
    fit = fit_step(t, rows, pixel=pixel, near=np.zeros(len(rows)))
    moved = _MOVED_PX * 0.5 * pixel
    turn = np.abs((where.normals[2 * _BESIDE :] * where.normals[: -2 * _BESIDE]).sum(axis=1))
    straight = np.pad(turn > _STRAIGHT, _BESIDE, constant_values=True)
    ok = (
        fit.ok
        & straight
        & (np.abs(fit.low) < _OFF * PAPER)
        & (np.abs(fit.high - PAPER) < _OFF * PAPER)
    )
    return _steady(where, replace(fit, u=np.hypot(fit.u, moved), ok=ok))


def _steady(where: Stations, fit: StepFit) -> Steps:
    good, spread = keep_steady(where.place, fit.position, fit.u, fit.ok, _STEADY)
    return Steps(where, fit, good, spread)
