"""Sizes of a room's opening and of what is built into it. Opening frame, mm; see `scribe.opening`.

`scribe.fit` makes them, `scribe.output` shows them. Every size has its standard uncertainty.
"""

from __future__ import annotations

from dataclasses import dataclass

from scribe.build_plan import Strip
from scribe.geom.rectangles import Rectangle
from scribe.opening import Size


@dataclass(frozen=True)
class Solid:
    """A box in the way: a pipe, a socket, a beam. low, high: (x, y, z) of two corners."""

    name: str
    low: tuple[float, float, float]
    high: tuple[float, float, float]


@dataclass(frozen=True)
class Extreme:
    """The least or greatest of something. where: in words, with mm."""

    name: str
    size: Size
    where: str


@dataclass(frozen=True)
class StandUp:
    """Whether a box that lies can be tipped up.

    way: about which bottom edge. diagonal: mm it needs. ceiling: mm above the floor, where it is
    tightest. spare: what is left there, negative when it doesn't go. at: x of that place.
    tallest: mm, the tallest box of the same foot that would just go.
    """

    way: str
    diagonal: float
    ceiling: float
    spare: Size
    at: float
    tallest: float

    @property
    def goes(self) -> bool:
        """Surely: by more than U."""
        return self.spare.value > self.spare.U


@dataclass(frozen=True)
class Box:
    """The largest level and plumb box. at: its face in the front plane."""

    at: Rectangle
    width: Size
    height: Size
    depth: float


@dataclass(frozen=True)
class OpeningSizes:
    """rectangle: at the worst over the depth. box: one that can be stood up as well; None where
    none does. standing: of a box as large as the rectangle.
    """

    extremes: tuple[Extreme, ...]
    depth: Size
    rectangle: Box
    box: Box | None
    standing: StandUp


@dataclass(frozen=True)
class Carcass:
    """One bay's carcass. left: x of its left side. foot: y it stands on (the plinth's top)."""

    name: str
    left: float
    foot: float
    width: float
    height: float
    depth: float
    standing: StandUp


@dataclass(frozen=True)
class StripSize:
    """A scribe strip and what to buy for it.

    strip: which one; name: its piece's. length, buy: mm, the blank's. narrowest, widest: its face
    when fitted, clearance not taken off. allowance: what lies between the face where it is
    narrowest and the width to buy. unseen: mm of it for what nobody measured. start: mm from the
    visible edge to the building's least-squares line at the strip's start (floor, or left end);
    lean: mm per metre by which that line runs away from there on. beyond_reach: block and compass
    don't bridge the widest gap.
    """

    strip: Strip
    name: str
    length: float
    narrowest: Size
    widest: Size
    buy: float
    unseen: float
    start: Size
    lean: Size
    beyond_reach: bool

    @property
    def allowance(self) -> float:
        """mm of the blank's width that are there to be cut."""
        return self.buy - self.narrowest.value

    @property
    def spread(self) -> float:
        """mm from where the strip is narrowest to where it is widest."""
        return self.widest.value - self.narrowest.value


@dataclass(frozen=True)
class Built:
    """The carcasses from left to right, the strips round them, and what to look out for."""

    carcasses: tuple[Carcass, ...]
    strips: tuple[StripSize, ...]
    notes: tuple[str, ...]
