"""Tilted in, one end first: a piece between two walls that need not be plumb.

Sections across the piece, square to its face, level by level along its depth, in a frame with x
from its left end to its right one and n out of the face. At home its face lies in n = 0 and its
back in n = -t; the left wall stands at near + c n and the right one at far - c' n, where c and c'
say how far each closes in on the face's side (negative: opens).

Turned by q about the end that goes first, which rests in its place while the other is still out
of it, on the side from which the piece comes, all corners of all sections move together sideways
and square to the face. What is left between the walls is the least over q, from 0 to free, of

    min over corners of (far - c' n - x)  -  max over corners of (near + c n - x)

A plain board between plumb walls spans at most its diagonal, sqrt(L^2 + t^2). A wall that closes
in by c beside the end that comes last makes the board as good as c L thicker.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Pair = tuple[float, float]

_TURNS = 200  # looked at; between two of them no board spans a thousandth of a mm more
_FURTHER = 3.0  # times the turn at which a section spans most
_HALVINGS = 10  # until a bevel is known to a thousandth of itself


@dataclass(frozen=True)
class Closing:
    """How far a wall closes in on the face's side, mm on a mm, and its standard uncertainty."""

    in_front: float = 0.0
    u: float = 0.0

    def reach(self, n: Array) -> Array:
        """mm by which it may stand further in, n mm out of the face: the worse end of U (k = 2)."""
        return np.asarray(self.in_front * n + 2.0 * self.u * np.abs(n))


PLUMB = (Closing(), Closing())


@dataclass(frozen=True)
class Sections:
    """west, east: (N,) mm, x of the piece's ends at its face, level by level; near, far: (N,) of
    the walls beside them. thickness: mm. bevels: mm that the back stands clear at the left and the
    right end; lands: mm that stay square there at the face.
    """

    west: Array
    east: Array
    near: Array
    far: Array
    thickness: float
    bevels: Pair = (0.0, 0.0)
    lands: Pair = (0.0, 0.0)

    def corners(self) -> Array:
        """(6, N, 2) x and n of each level's corners, once round."""
        (a, b), (h, k), t = self.bevels, self.lands, self.thickness
        west, east = self.west, self.east
        x = np.array([west, east, east, east - b, west + a, west])
        n = np.array([0.0, 0.0, -min(k, t), -t, -t, -min(h, t)])
        return np.stack([x, np.broadcast_to(n[:, None], x.shape)], axis=-1)

    def at(self, level: int) -> Sections:
        """One of them."""
        west, east, near, far = (
            each[level : level + 1] for each in (self.west, self.east, self.near, self.far)
        )
        return replace(self, west=west, east=east, near=near, far=far)

    def swung(self, turn: Array, first: int, *, face: bool) -> Array:
        """(6, N, T, 2) the corners while the end `first` rests at home and the other is still out
        by turn (T,) rad: x, and mm towards the side that the piece comes from. At home what comes
        last lies in 0 there, and what goes first at minus the thickness.
        """
        x, n = self.corners().transpose(2, 0, 1)[..., None]
        if not face:  # from behind: the face goes first
            n = -self.thickness - n
        about = float(self.west.min() if first == 0 else self.east.max())
        cosine, sine = np.cos(turn), np.sin(turn if first == 0 else -turn)
        out = (x - about) * sine + n * cosine
        out = out - out.min(axis=(0, 1)) - self.thickness
        return np.stack([about + (x - about) * cosine - n * sine, out], axis=-1)


@dataclass(frozen=True)
class Tilt:
    """spare: mm between the walls at the tightest, negative where it doesn't go. levels: indices
    of the sections that are tight at the left and at the right end. turn: rad by which it is then
    tilted. first: 0 where its left end goes first, else 1. face: it comes from the face's side.
    """

    spare: float
    levels: tuple[int, int]
    turn: float
    first: int
    face: bool


def tilted(sections: Sections, closing: tuple[Closing, Closing] = PLUMB) -> Tilt:
    """The best of the four ways: either end first, from the face's side or from behind."""
    ways = [_one_way(sections, closing, first, face) for face in (True, False) for first in (0, 1)]
    return max(ways, key=lambda way: way.spare)


def relief(sections: Sections, closing: tuple[Closing, Closing] = PLUMB) -> float:
    """mm that the back of one end must stand clear in all, so that a piece goes in that sticks:
    the end that takes less; infinite where neither cures it.
    """
    return min(_relief(sections, closing, end) for end in (0, 1))


def _relief(sections: Sections, closing: tuple[Closing, Closing], end: int) -> float:
    def spare(clear: float) -> float:
        left, right = sections.bevels
        bevels = (clear, right) if end == 0 else (left, clear)
        return tilted(replace(sections, bevels=bevels), closing).spare

    low = sections.bevels[end]
    high = low + max(-spare(low), 1e-6)
    while spare(high) < 0.0:
        low, high = high, 2.0 * high
        if high > float((sections.east - sections.west).min()) / 2.0:
            return float("inf")
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        low, high = (low, middle) if spare(middle) >= 0.0 else (middle, high)
    return high


def _one_way(sections: Sections, closing: tuple[Closing, Closing], first: int, face: bool) -> Tilt:
    """The end `first` stays, the other swings into its place."""
    left, right = closing
    length = float((sections.east - sections.west).min())
    closes = max(abs(each.in_front) + 2.0 * each.u for each in closing)
    most = _FURTHER * (sections.thickness / length + closes)
    turn = np.linspace(0.0, min(most, np.pi / 2), _TURNS)
    across, out = np.moveaxis(sections.swung(turn, first, face=face), -1, 0)
    n = out if face else -sections.thickness - out  # out of the face, where the walls are known
    stops = (sections.near[:, None] + left.reach(n) - across).max(axis=0)  # (N, T)
    ends = (sections.far[:, None] - right.reach(n) - across).min(axis=0)
    spare = ends.min(axis=0) - stops.max(axis=0)
    at = int(spare.argmin())
    levels = int(stops[:, at].argmax()), int(ends[:, at].argmin())
    return Tilt(float(spare[at]), levels, float(turn[at]), first, face)
