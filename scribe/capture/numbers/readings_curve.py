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
from scribe.geom.polyline import even_stations, normals, stations
from scribe.outline import Outline, across

Array = npt.NDArray[np.float64]

_STEP_MM = 5.0


@dataclass(frozen=True)
class Readings:
    """points (N, 2) mm. shared: name -> (K, N, 2) mm, how a standard uncertainty of each of K
    causes moves them. noise: (N,) mm, u of a point against its neighbours.
    """

    points: Array
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
    shared = {name: _carried(modes, s, at) for name, modes in read.shared.items() if len(modes)}
    columns = slice(1, 2) if along_x else slice(0, 2)
    total = within(s, points[:, columns], read.noise, at, line[:, columns], surface)
    reading = np.interp(at, s, read.noise)
    alone = across(shared["reading"], line) if "reading" in shared else 0.0 * reading
    between = np.sqrt(np.maximum(total**2 - alone**2, 0.0))
    shared["between"] = _stretches(between, s, at, normals(line))
    budget = {name: across(modes, line) for name, modes in shared.items()}
    u = np.sqrt(sum(part**2 for part in budget.values()))
    return Outline(line, u, "left", origin=origin, budget=budget, shared=shared)


def _carried(modes: Array, s: Array, at: Array) -> Array:
    """(K, M, 2): modes (K, N, 2) of the readings, carried to the places between them."""
    return np.array(
        [np.column_stack([np.interp(at, s, mode[:, k]) for k in (0, 1)]) for mode in modes]
    )


def _stretches(between: Array, s: Array, at: Array, normal: Array) -> Array:
    """(N - 1, M, 2): what is unseen between two readings errs together, and with nothing else."""
    stretch = np.clip(np.searchsorted(s, at, "right") - 1, 0, len(s) - 2)
    mine = stretch[None] == np.arange(len(s) - 1)[:, None]
    return np.asarray((mine * between)[:, :, None] * normal)
