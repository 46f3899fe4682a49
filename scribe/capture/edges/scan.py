"""Stations along a rough way, scan lines square to it, and what is done to the points found.

Everything in mm on the plane of the view. The normal of a station points to the left of
travel: with x growing that is up, to the building.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.view import View

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_SIDE_BY_SIDE = 3  # scan lines averaged at a station, a step apart in all
_SLOW = 1.6  # mm: what wanders faster than this is the pencil and not the wall
_SHARED = 1.3  # neighbours lean the same way and hide a part of their scatter from it
_COMPANY, _COMPANIONS = 1.2, 0.55  # mm around, and the part there that must agree as well
_LEAST_CURVATURE = 0.01  # 1 / mm: what nobody saw is taken to be no straighter
_STEEPEST = 3.0  # outliers: so many standard deviations off the local line
_REACH, _BLOCK = 6.0, 128  # sigmas beyond which a Gaussian weighs nothing; rows worked on together


@dataclass(frozen=True)
class Stations:
    """Places along a way: points and normals (N, 2), place (N,) mm along it."""

    points: Array
    normals: Array
    place: Array

    @property
    def travel(self) -> Array:
        """(N, 2) unit vectors along the way."""
        return self.normals[:, ::-1] * (1.0, -1.0)

    def __getitem__(self, part: slice | Mask) -> Stations:
        return Stations(self.points[part], self.normals[part], self.place[part])

    def moved(self, offset: Array) -> Array:
        """(N, 2) the points moved along their normals by (N,) mm."""
        return self.points + offset[:, None] * self.normals


def stations(way: Array, step: float, smooth: float, beyond: float = 0.0) -> Stations:
    """Stations a step apart along a way smoothed over `smooth` mm (Gaussian, sigma).

    way: (N, 2) mm. beyond: mm by which both ends are prolonged, straight on.
    """
    place = along(way)
    count = max(2, round((place[-1] + 2 * beyond) / step) + 1)
    wanted = np.linspace(-beyond, place[-1] + beyond, count)
    even = np.arange(0.0, place[-1] + 0.25, 0.25)
    dense = np.stack([np.interp(even, place, way[:, axis]) for axis in (0, 1)], axis=1)
    # The weights of a straight line through the neighbours: ends are not drawn inwards.
    level, slope = local_lines(even, dense, np.ones(len(even)), smooth, at=wanted)
    slope /= np.hypot(*slope.T)[:, None]
    return Stations(level, slope[:, ::-1] * (-1.0, 1.0), wanted)


def along(way: Array) -> Array:
    """(N,) mm travelled from the first point."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(way, axis=0).T))])


def distance_to(points: Array, line: Array) -> Array:
    """(N,) mm from points to the nearest place of a polyline."""
    if len(line) == 1:
        return np.asarray(np.hypot(*(points - line[0]).T))
    a, b = line[:-1], line[1:]
    along = b - a
    length = np.maximum((along**2).sum(axis=1), 1e-12)
    part = np.clip(((points[:, None] - a) * along).sum(axis=2) / length, 0.0, 1.0)
    foot = a + part[:, :, None] * along
    return np.asarray(np.hypot(*(points[:, None] - foot).transpose(2, 0, 1)).min(axis=1))


def read_scans(
    view: View, where: Stations, t: Array, width: float = 0.0, ahead: Array | None = None
) -> Array:
    """(N, S) light along scan lines, the mean over `width` mm of the way.

    t: (S,) mm along the normals, or along `ahead`, (N, 2) unit vectors.
    """
    lines = t[:, None] * (where.normals if ahead is None else ahead)[:, None, :]
    if not width:
        return view.light(where.points[:, None, :] + lines)
    part = (np.arange(_SIDE_BY_SIDE) - (_SIDE_BY_SIDE - 1) / 2) * width / _SIDE_BY_SIDE
    beside = where.points[:, None, :] + part[:, None] * where.travel[:, None, :]
    return np.asarray(view.light(beside[:, :, None, :] + lines[:, None]).mean(axis=1))


def pixel_at(view: View, where: Stations) -> float:
    """mm to a pixel, usually, at the stations."""
    return float(np.median(view.pixel(where.points[:: max(1, len(where.points) // 16)])))


def scan_axis(half: float, pixel: float) -> Array:
    """(S,) mm from -half to half, half a pixel apart."""
    count = math.ceil(half / (0.5 * pixel))
    return np.linspace(-half, half, 2 * count + 1)


def local_lines(
    place: Array, values: Array, weight: Array, sigma: float, at: Array | None = None
) -> tuple[Array, Array]:
    """Value and slope of straight lines fitted round each place with Gaussian weights.

    place: (N,) mm; values: (N,) or (N, D); weight: (N,) >= 0; at: (M,) mm, or the places
    themselves. Where the weights nearly vanish the widest neighbourhood counts alone.
    """
    at = place if at is None else at
    columns = values[:, None] if values.ndim == 1 else values
    sigmas = np.maximum(sigma, 0.7 * _to_nearest(at, place[weight > 0]))
    level, slope = np.empty((2, len(at), columns.shape[1]))
    for first in range(0, len(at), _BLOCK):
        rows = slice(first, first + _BLOCK)
        reach = _REACH * sigmas[rows]
        near = slice(
            int(np.searchsorted(place, (at[rows] - reach).min())),
            int(np.searchsorted(place, (at[rows] + reach).max(), "right")),
        )
        offset = place[None, near] - at[rows, None]
        share = weight[near] * np.exp(-0.5 * (offset / sigmas[rows, None]) ** 2)
        turning = share * offset
        zero, one = share.sum(axis=1)[:, None], turning.sum(axis=1)[:, None]
        two = np.einsum("ij,ij->i", turning, offset)[:, None]
        plain, turned = share @ columns[near], turning @ columns[near]
        determinant = zero * two - one * one + 1e-12 * zero * zero
        level[rows] = (two * plain - one * turned) / determinant
        slope[rows] = (zero * turned - one * plain) / determinant
    return (level[:, 0], slope[:, 0]) if values.ndim == 1 else (level, slope)


def _to_nearest(at: Array, known: Array) -> Array:
    """(M,) mm from each place to the nearest of the known ones (sorted); 0 where there is none."""
    if not len(known):
        return np.zeros(len(at))
    after = np.clip(np.searchsorted(known, at), 1, len(known) - 1) if len(known) > 1 else 0
    before = np.maximum(np.asarray(after) - 1, 0)
    return np.asarray(np.minimum(np.abs(known[after] - at), np.abs(known[before] - at)))


def _within(place: Array, values: Array, reach: float) -> Array:
    """(N,) sum of the values at places (sorted) no further than reach from each place."""
    total = np.concatenate([[0.0], np.cumsum(values)])
    first = np.searchsorted(place, place - reach)
    last = np.searchsorted(place, place + reach, "right")
    return np.asarray(total[last] - total[first])


def keep_steady(
    place: Array, offset: Array, u: Array, ok: Mask, sigma: float
) -> tuple[Mask, Array]:
    """Which offsets agree with their neighbours, and how much those scatter (N,) mm.

    Straight lines over `sigma` mm with Tukey's weights; scatter is the local median of the
    residuals, as a standard deviation.
    """
    if not ok.any():
        return ok, np.zeros(len(place))
    weight = ok.astype(float)
    spread = np.full(len(place), 1.0)
    residual = np.zeros(len(place))
    for _ in range(4):
        level, _ = local_lines(place, np.where(ok, offset, 0.0), weight, sigma)
        residual = np.where(ok, offset, level) - level
        spread = 1.4826 * running_median(np.abs(residual), ok, place, 6.0 * sigma)
        limit = 2.0 * _STEEPEST * np.hypot(spread, np.minimum(u, 10.0 * spread))
        weight = ok * np.clip(1.0 - (residual / np.maximum(limit, 1e-9)) ** 2, 0.0, None) ** 2
    limit = _STEEPEST * np.hypot(spread, np.minimum(u, spread)) + 0.02
    steady = ok & (np.abs(residual) < limit)
    # A single one that seems to fit amid a gap is a speck.
    company = _within(place, np.ones(len(place)), _COMPANY)
    steady &= _within(place, steady.astype(float), _COMPANY) >= _COMPANIONS * company
    return steady, _scatter(place, offset, steady if steady.any() else ok)


def _scatter(place: Array, offset: Array, steady: Mask) -> Array:
    """(N,) mm standard deviation of the offsets about a curve that bends only slowly."""
    weight, held = steady.astype(float), np.where(steady, offset, 0.0)
    once, _ = local_lines(place, held, weight, _SLOW)
    twice, _ = local_lines(place, held, weight, _SLOW * 2**0.5)
    square = weight * (held - (2.0 * once - twice)) ** 2  # what is curved evenly cancels
    count = _within(place, weight, 6.0 * _SLOW)
    mean = np.maximum(_within(place, square, 6.0 * _SLOW), 0.0) / np.maximum(count, 1.0)
    return np.asarray(_SHARED * np.sqrt(mean))


def running_median(values: Array, ok: Mask, place: Array, reach: float) -> Array:
    """(N,) median of the values that count within reach of each place."""
    known, held = place[ok], values[ok]
    first = np.searchsorted(known, place - reach)
    last = np.searchsorted(known, place + reach, "right")
    widest = max(int((last - first).max()), 1)
    column = first[:, None] + np.arange(widest)
    inside = column < last[:, None]
    window = np.where(inside, held[np.minimum(column, len(held) - 1)], np.inf)
    window.sort(axis=1)
    count = np.maximum(last - first, 1)
    rows = np.arange(len(place))
    middle = 0.5 * (window[rows, (count - 1) // 2] + window[rows, count // 2])
    return np.where(last > first, middle, float(np.median(held)))


def median_seen(light: Array) -> Array:
    """(..., 1) median along the last axis of what the photo shows; NaN where it shows nothing."""
    unseen = np.isnan(light).all(axis=-1, keepdims=True)
    median = np.nanmedian(np.where(unseen, 0.0, light), axis=-1, keepdims=True)
    return np.where(unseen, np.nan, median)


def bridged(where: Stations, offset: Array, u: Array, good: Mask) -> tuple[Array, Array]:
    """Offsets and u with the holes filled in: straight across, u grown by what may hide there.

    Between two points a distance g apart a curve of curvature k leaves the straight line by
    k x (g - x) / 2; k is the root mean square of what the outline shows elsewhere.
    """
    place = where.place
    known = place[good]
    level = np.interp(place, known, offset[good])
    doubt = np.interp(place, known, u[good])
    after = np.clip(np.searchsorted(known, place), 1, len(known) - 1)
    before = np.clip(place - known[after - 1], 0.0, None)
    behind = np.clip(known[after] - place, 0.0, None)
    grown = np.hypot(doubt, 0.5 * _curvature(where) * before * behind)
    return np.where(good, offset, level), np.where(good, u, grown)


def _curvature(where: Stations) -> float:
    """Root mean square of the curvature, 1 / mm, its corners left out."""
    angle = np.unwrap(np.arctan2(where.normals[:, 1], where.normals[:, 0]))
    square = np.gradient(angle, where.place) ** 2
    usual = np.minimum(square, np.quantile(square, 0.9))
    return max(_LEAST_CURVATURE, float(np.sqrt(usual.mean())))


def longest_inside(points: Array, box: tuple[float, float, float, float]) -> slice:
    """The longest run of points inside a box."""
    x0, y0, x1, y1 = box
    x, y = points.T
    inside = (x >= x0) & (x <= x1) & (y >= y0) & (y <= y1)
    return longest_run(inside)


def longest_run(mask: Mask) -> slice:
    """The longest run of True; an empty slice where there is none."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], mask.astype(np.int8), [0]])))
    starts, ends = edges[::2], edges[1::2]
    if not len(starts):
        return slice(0, 0)
    best = int(np.argmax(ends - starts))
    return slice(int(starts[best]), int(ends[best]))
