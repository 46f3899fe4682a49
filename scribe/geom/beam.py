"""Deflection of straight beams over one or more spans: bending and shear, exact for its loads.

Timoshenko's beam by the stiffness method: one element between neighbouring nodes, with the
shear parameter phi = 12 EI / (GA L^2), and the fixed-end forces of an even load and of a point
load in the middle. Nodes are the supports and the middle of each span, so what the nodes do is
exact; between them the element's own shapes give the deflection. Newton and millimetre;
deflection counts downwards. Ends are held against sinking, and "clamped" against turning too.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Ends = Literal["supported", "clamped"]

_LOOKED_AT = 41  # points along half of a span; the largest of a smooth curve is then met to 1e-3


@dataclass(frozen=True)
class Load:
    """On one span: evenly N/mm, and N at its middle."""

    even: float = 0.0
    middle: float = 0.0


@dataclass(frozen=True)
class Sag:
    """deflection: mm downwards at `at` mm from the left end, the largest of all spans."""

    deflection: float
    at: float
    span: int


def largest_sag(
    spans: tuple[float, ...], loads: tuple[Load, ...], ei: float, ga: float, ends: Ends
) -> Sag:
    """The largest deflection of a beam over supports at the ends of its spans (mm).

    ei: bending stiffness N mm^2. ga: shear stiffness N (area times G times its factor);
    infinite leaves shear out. ends: of the whole beam; inner supports let it turn.

    One span, even load: 5 w L^4 / (384 EI):

    >>> sag = largest_sag((1000.0,), (Load(0.3),), 2.9e9, float("inf"), "supported")
    >>> round(sag.deflection / (5 * 0.3 * 1000.0**4 / (384 * 2.9e9)), 6), sag.at
    (1.0, 500.0)
    """
    halves = np.repeat(np.array(spans) / 2.0, 2)
    moved = _nodes(halves, loads, ei, ga, ends)
    best = Sag(0.0, 0.0, 0)
    for number, length in enumerate(halves):
        even = loads[number // 2].even
        curve = _between(moved[2 * number : 2 * number + 4], float(length), even, ei, ga)
        deepest = int(np.argmax(curve))
        if curve[deepest] > best.deflection:
            place = float(halves[:number].sum()) + length * deepest / (_LOOKED_AT - 1)
            best = Sag(float(curve[deepest]), float(place), number // 2)
    return best


def _nodes(halves: Array, loads: tuple[Load, ...], ei: float, ga: float, ends: Ends) -> Array:
    """(2N,) deflection and slope at every node: supports and middles of spans in turn."""
    count = len(halves) + 1
    stiffness, force = np.zeros((2 * count, 2 * count)), np.zeros(2 * count)
    for number, length in enumerate(halves):
        where = slice(2 * number, 2 * number + 4)
        stiffness[where, where] += _element(float(length), ei, ga)
        even = loads[number // 2].even
        force[where] += even * length / 2 * np.array([1, length / 6, 1, -length / 6])
    for number, load in enumerate(loads):
        force[4 * number + 2] += load.middle
    held = {4 * number for number in range(len(loads) + 1)}
    if ends == "clamped":
        held |= {1, 2 * count - 1}
    free = [k for k in range(2 * count) if k not in held]
    moved = np.zeros(2 * count)
    moved[free] = np.linalg.solve(stiffness[np.ix_(free, free)], force[free])
    return moved


def _element(length: float, ei: float, ga: float) -> Array:
    """(4, 4) stiffness for (deflection, slope) at both ends (Przemieniecki's, from memory)."""
    phi, s = 12.0 * ei / (ga * length**2), length
    return (
        ei
        / (s**3 * (1.0 + phi))
        * np.array(
            [
                [12, 6 * s, -12, 6 * s],
                [6 * s, (4 + phi) * s**2, -6 * s, (2 - phi) * s**2],
                [-12, -6 * s, 12, -6 * s],
                [6 * s, (2 - phi) * s**2, -6 * s, (4 + phi) * s**2],
            ]
        )
    )


def _between(moved: Array, length: float, even: float, ei: float, ga: float) -> Array:
    """(M,) deflection along an element: what its ends do, and its load between held ends."""
    phi, t = 12.0 * ei / (ga * length**2), np.linspace(0.0, 1.0, _LOOKED_AT)
    bulge = phi / 2 * (t - t**2)
    shapes = np.array(
        [
            1 - 3 * t**2 + 2 * t**3 + phi * (1 - t),
            length * (t - 2 * t**2 + t**3 + bulge),
            3 * t**2 - 2 * t**3 + phi * t,
            length * (t**3 - t**2 - bulge),
        ]
    )
    x, y = length * t, length * (1 - t)
    own = even * (x * y) ** 2 / (24 * ei) + even * x * y / (2 * ga)
    return np.asarray(moved @ shapes / (1 + phi) + own)
