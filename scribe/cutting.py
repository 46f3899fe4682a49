"""Parts to be sawn, the stock they come from, and how it is sawn up.

Layout frame: mm, origin at a factory corner of the stock, x along its length, y across its
width. Every cut goes right through the piece in hand, as a table or track saw does.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Part:
    """One kind of part: its finished size, and what is left on its edges for fitting, mm.

    length runs with the grain. allowance: at (left, right, top, bottom), left and right being
    the ends of its length. turns: it may lie across the stock's grain. width: None when it is
    cut off a board of that width. stock: the name of what it is cut from.
    """

    name: str
    stock: str
    finished_length: float
    finished_width: float | None = None
    count: int = 1
    allowance: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    turns: bool = False

    @property
    def length(self) -> float:
        """As it leaves the saw, mm."""
        return self.finished_length + self.allowance[0] + self.allowance[1]

    @property
    def width(self) -> float:
        """As it leaves the saw, mm; 0 for what is cut off a board."""
        if self.finished_width is None:
            return 0.0
        return self.finished_width + self.allowance[2] + self.allowance[3]


@dataclass(frozen=True)
class Sheet:
    """A sheet, or a plank that is ripped into strips. length: with the grain. trim: mm lost at
    every factory edge, the saw's cut in it. count: how many there are, None when they can be
    bought.
    """

    name: str
    length: float
    width: float
    trim: float = 0.0
    count: int | None = None


@dataclass(frozen=True)
class Board:
    """A board that is only cut to length. trim: mm lost at either end, the saw's cut in it."""

    name: str
    length: float
    trim: float = 0.0
    count: int | None = None


@dataclass(frozen=True)
class Box:
    """A rectangle of a layout, mm."""

    x: float
    y: float
    length: float
    width: float

    def turned(self) -> Box:
        """With length and width changed for each other."""
        return Box(self.y, self.x, self.width, self.length)


@dataclass(frozen=True)
class Placed:
    """A part in a layout, as it leaves the saw. part: its place in the list of parts."""

    part: int
    box: Box


@dataclass(frozen=True)
class SawCut:
    """One cut, in order. blade: what the saw turns to dust. rips: it runs along the length."""

    blade: Box
    rips: bool


@dataclass(frozen=True)
class Layout:
    """How one sheet or board is sawn; times: how many are sawn alike. width: 0 for a board."""

    length: float
    width: float
    placed: tuple[Placed, ...]
    cuts: tuple[SawCut, ...]
    offcuts: tuple[Box, ...]
    times: int = 1


@dataclass(frozen=True)
class CuttingPlan:
    """What one kind of stock is sawn into. used: sheets or boards; length: of all of them, mm.

    proof: what is known of better plans, as a sentence. proven: there is none.
    """

    stock: str
    layouts: tuple[Layout, ...]
    used: int
    proven: bool
    proof: str
