"""Tilted in, one end first: a section of a piece between two walls that need not be plumb.

A section across the piece, square to its face, in a frame with x from its left end to its right
one and n out of the face. At home its face lies in n = 0 and its back in n = -t; the left wall
stands at x = c n and the right one at x = W - c' n, where c and c' say how far each closes in on
the face's side (negative: opens).

Turned by q, one end stays in its place while the other is still out of it, on the side from
which the piece comes, so that the corners of the section move sideways and square to the face.
What is left between the walls is the least over q, from 0 to free, of

    min over corners of (W - c' n - x)  -  max over corners of (c n - x)

Without bevels between plumb walls the section spans at most its diagonal, W - sqrt(L^2 + t^2). A
wall that closes in by c beside the end that comes last makes the board as good as c L thicker.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Pair = tuple[float, float]

_TURNS = 400  # looked at; between two of them no board spans a ten-thousandth of a mm more
_FURTHER = 3.0  # times the turn at which a section spans most
_HALVINGS = 20  # of a section's length, until a bevel is known


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
class Section:
    """length, between: (N,) mm of the piece at its face and of the walls there, level by level
    along its depth. thickness: mm. bevels: mm that the back stands clear at the left and the right
    end; lands: mm that stay square there at the face.
    """

    length: Array
    between: Array
    thickness: float
    bevels: Pair = (0.0, 0.0)
    lands: Pair = (0.0, 0.0)

    def corners(self) -> Array:
        """(6, N, 2) x and n of each level's corners, once round."""
        (a, b), (h, k), t = self.bevels, self.lands, self.thickness
        x = np.multiply.outer(self.length, [0.0, 1.0, 1.0, 1.0, 0.0, 0.0])
        x[:, 3] -= b
        x[:, 4] += a
        n = np.broadcast_to([0.0, 0.0, -min(k, t), -t, -t, -min(h, t)], x.shape)
        return np.stack([x, n], axis=-1).transpose(1, 0, 2)

    def at(self, level: int) -> Section:
        """One level of it."""
        one = slice(level, level + 1)
        return Section(self.length[one], self.between[one], self.thickness, self.bevels, self.lands)


@dataclass(frozen=True)
class Tilt:
    """spare: mm between the walls at the tightest, negative where it doesn't go. level: the index
    of the section that is tight. turn: rad by which it is tilted there. first: 0 where its left
    end goes first, else 1. face: it comes from the face's side.
    """

    spare: float
    level: int
    turn: float
    first: int
    face: bool


def tilted(section: Section, closing: tuple[Closing, Closing] = PLUMB) -> Tilt:
    """The best of the four ways: either end first, from the face's side or from behind."""
    ways = [_one_way(section, closing, first, face) for face in (True, False) for first in (0, 1)]
    return max(ways, key=lambda way: way.spare)


def relief(section: Section, closing: tuple[Closing, Closing] = PLUMB) -> float:
    """mm that the back of one end must stand clear in all, so that the tightest level goes in."""
    tight = section.at(tilted(section, closing).level)
    return min(_relief(tight, closing, end) for end in (0, 1))


def _relief(tight: Section, closing: tuple[Closing, Closing], end: int) -> float:
    low, high = tight.bevels[end], float(tight.length[0])
    for _ in range(_HALVINGS):
        clear = (low + high) / 2.0
        bevels = (clear, tight.bevels[1]) if end == 0 else (tight.bevels[0], clear)
        land = tight.lands[end] if tight.bevels[end] else 0.0
        lands = (land, tight.lands[1]) if end == 0 else (tight.lands[0], land)
        goes = tilted(Section(tight.length, tight.between, tight.thickness, bevels, lands), closing)
        low, high = (low, clear) if goes.spare >= 0.0 else (clear, high)
    return high


def _one_way(section: Section, closing: tuple[Closing, Closing], first: int, face: bool) -> Tilt:
    """The end `first` stays, the other swings into its place."""
    left, right = closing
    x, n = section.corners().transpose(2, 0, 1)[..., None]  # (6, N, 1)
    if not face:  # seen from behind: the back lies in n = 0, and comes last
        n = -section.thickness - n
    longest = float(section.length.max())
    closes = max(abs(each.in_front) + 2.0 * each.u for each in closing)
    most = _FURTHER * (section.thickness / float(section.length.min()) + closes)
    turn = np.linspace(0.0, min(most, np.pi / 2), _TURNS) * (1.0 if first == 0 else -1.0)
    about = 0.0 if first == 0 else longest
    cosine, sine = np.cos(turn), np.sin(turn)
    across = about + (x - about) * cosine - n * sine
    out = (x - about) * sine + n * cosine
    out = out - out.min(axis=0) - section.thickness  # the end that stays rests at home
    before = out if face else -section.thickness - out  # the face, where the walls are known
    spare = (section.between[:, None] - right.reach(before) - across).min(axis=0)
    spare -= (left.reach(before) - across).max(axis=0)
    level, at = np.unravel_index(int(spare.argmin()), spare.shape)
    return Tilt(float(spare[level, at]), int(level), abs(float(turn[at])), first, face)
