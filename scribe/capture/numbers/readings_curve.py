"""Readings with their errors -> Outline: the curve through them, and what lies between them.

The curve doesn't overshoot (monotone cubic Hermite, Fritsch and Carlson 1980, in its
shape-preserving form). What the surface does between the readings nobody saw: its u there follows
from how rough the readings themselves show it to be (`geom.between`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.geom.between import Surface, within
from scribe.geom.line_fit import minimum_zone_line
from scribe.geom.polyline import even_stations, normals, stations
from scribe.outline import Outline, across

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_STEP_MM = 5.0
# So many readings at either end, and those that stand out most, keep their errors apart: chords,
# joints and the minimum zone rest on them. Of hundreds of others each is taken as one of many
# points: what all of them say together is wrong by next to nothing, and work and files grow with
# their number, not with its square.
_APART = 25


@dataclass(frozen=True)
class Readings:
    """points (N, 2) mm. own: name -> (D, N, 2) mm, how a standard uncertainty of each of D causes
    moves every reading by itself. shared: name -> (K, N, 2) mm, how each of K causes moves all of
    them together. noise: (N,) mm, u of a point against its neighbours.
    """

    points: Array
    own: Mapping[str, Array]
    shared: Mapping[str, Array]
    noise: Array


def outline_through(read: Readings, origin: str, surface: Surface | None = None) -> Outline:
    """The curve every 5 mm, building on the left; what readings share goes along with it.

    surface: what it is made of, where somebody says so.
    """
    from scipy.interpolate import PchipInterpolator

    # Where x grows it is what the readings were taken along; else they follow their chords.
    points = read.points
    along_x = bool((np.diff(points[:, 0]) > 0.0).all())
    s = points[:, 0] if along_x else stations(points)
    at = s[0] + even_stations(float(s[-1] - s[0]), _STEP_MM, s[1:-1] - s[0])
    line = np.asarray(PchipInterpolator(s, points)(at), np.float64)
    normal, apart = normals(line), _apart(points)
    shared = {name: _carried(modes, s, at) for name, modes in read.shared.items() if len(modes)}
    alone: dict[str, Array] = {}
    for name, modes in read.own.items():
        shared[name], alone[name] = _each_by_itself(modes, apart, s, at, normal)
    columns = slice(1, 2) if along_x else slice(0, 2)
    total = within(s, points[:, columns], read.noise, at, line[:, columns], surface)
    reading = [across(shared["reading"], line), alone["reading"]] if read.own else [0.0 * at]
    between = np.sqrt(np.maximum(total**2 - sum(part**2 for part in reading), 0.0))
    shared["between"], alone["between"] = _stretches(between, apart, s, at, normal)
    budget = {name: across(modes, line) for name, modes in shared.items()}
    budget |= {f"{name}, alone": part for name, part in alone.items() if part.any()}
    u = np.sqrt(sum(part**2 for part in budget.values()))
    return Outline(line, u, "left", origin=origin, budget=budget, shared=shared)


def _carried(modes: Array, s: Array, at: Array) -> Array:
    """(K, M, 2): modes (K, N, 2) of the readings, carried to the places between them."""
    return np.array(
        [np.column_stack([np.interp(at, s, mode[:, k]) for k in (0, 1)]) for mode in modes]
    )


def _apart(points: Array) -> Mask:
    """(N,) which readings keep their errors apart: all where there are few."""
    if len(points) <= 3 * _APART:
        return np.ones(len(points), bool)
    off = np.abs(minimum_zone_line(points).deviations(points))
    apart = off >= np.sort(off)[-_APART]
    apart[:_APART] = apart[-_APART:] = True
    return np.asarray(apart)


def _each_by_itself(
    modes: Array, apart: Mask, s: Array, at: Array, normal: Array
) -> tuple[Array, Array]:
    """Readings' own errors (D, N, 2) at the places between them: (K, M, 2) modes of those that are
    kept apart, and (M,) mm across of all others.
    """
    before = np.clip(np.searchsorted(s, at, "right") - 1, 0, len(s) - 2)
    share = (at - s[before]) / (s[before + 1] - s[before])
    square = np.zeros(len(at))
    for k, part in ((before, 1.0 - share), (before + 1, share)):
        moves = part * np.einsum("dmk,mk->dm", modes[:, k], normal)
        square += np.where(apart[k], 0.0, (moves**2).sum(axis=0))
    weight = np.array([np.interp(at, s, np.arange(len(s)) == k) for k in np.flatnonzero(apart)])
    told = weight[None, :, :, None] * modes[:, apart, None, :]
    return told.reshape(-1, len(at), 2), np.sqrt(square)


def _stretches(
    between: Array, apart: Mask, s: Array, at: Array, normal: Array
) -> tuple[Array, Array]:
    """What is unseen between two readings errs together, and with nothing else: (K, M, 2) modes of
    the stretches beside readings that are kept apart, and (M,) mm of all others.
    """
    stretch = np.clip(np.searchsorted(s, at, "right") - 1, 0, len(s) - 2)
    beside = apart[:-1] | apart[1:]
    mine = (stretch[None] == np.flatnonzero(beside)[:, None]) * between
    return mine[:, :, None] * normal, np.where(beside[stretch], 0.0, between)
