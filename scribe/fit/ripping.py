"""Strips right across a sheet: which parts go into which strip, and how the saw makes them.

A strip is filled along its length with sections; a section holds one part, or a stack of the
same part side by side that is ripped apart at the end. Strips of every width that a part or a
stack needs are offered, and those that take the least width together are chosen.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from scribe.cutting import Box, Layout, Placed, SawCut
from scribe.fit.patterns import Stock, Way, best_plan

_THIN = 1e-6  # mm, rounding
_CLASSES = 40  # widths of strips that are offered at most; beyond, stacks define none


class Size(NamedTuple):
    """One way a part may lie: mm along the strip, and across it."""

    item: int
    along: float
    across: float


class Section(NamedTuple):
    """So many parts of one size, side by side across the strip."""

    size: Size
    stacked: int

    def width(self, kerf: float) -> float:
        """Across the strip, mm."""
        return self.stacked * self.size.across + (self.stacked - 1) * kerf


@dataclass(frozen=True)
class Strip:
    """width: mm. sections: from the trimmed end, the widest first."""

    width: float
    sections: tuple[Section, ...]


def best_strips(
    demand: Sequence[int], sizes: Sequence[Size], length: float, width: float, kerf: float
) -> tuple[list[Strip], float]:
    """Strips for all parts on a usable length and width, and the least width that any need.

    The least width counts one cut for each strip. sizes: only such as fit.
    """
    single = {size.across for size in sizes}
    stacks = {
        n * size.across + (n - 1) * kerf
        for size in sizes
        for n in range(2, demand[size.item] + 1)
        if n * size.across + (n - 1) * kerf <= width + _THIN
    }
    classes = sorted(single | stacks if len(single | stacks) <= _CLASSES else single)
    offered = [
        [Section(size, _stack(size, demand, wide, kerf)) for size in sizes
         if size.across <= wide + _THIN]
        for wide in classes
    ]  # fmt: skip
    stocks = [
        Stock(
            length + kerf,
            wide + kerf,
            tuple(Way(each.size.item, each.stacked, each.size.along + kerf) for each in sections),
        )
        for wide, sections in zip(classes, offered, strict=True)
    ]
    plan = best_plan(demand, stocks, prove=False)
    left = list(demand)
    strips = []
    for (kind, counts), times in plan.patterns:
        for _ in range(times):
            sections = _filled(offered[kind], counts, left)
            if sections:
                sections.sort(key=lambda each: (-each.width(kerf), -each.size.along))
                strips.append(Strip(sections[0].width(kerf), tuple(sections)))
    return strips, plan.bound


def _stack(size: Size, demand: Sequence[int], wide: float, kerf: float) -> int:
    return max(1, min(demand[size.item], int((wide + kerf + _THIN) / (size.across + kerf))))


def _filled(offered: list[Section], counts: tuple[int, ...], left: list[int]) -> list[Section]:
    """The sections of one strip, without what is handed out already."""
    sections = []
    for section, times in zip(offered, counts, strict=True):
        for _ in range(times):
            stacked = min(section.stacked, left[section.size.item])
            left[section.size.item] -= stacked
            if stacked:
                sections.append(Section(section.size, stacked))
    return sections


class Bench:
    """Saws one sheet, cut after cut; x runs along the strips."""

    def __init__(self, length: float, width: float, trim: float, kerf: float) -> None:
        self.length, self.width, self.trim, self.kerf = length, width, trim, kerf
        self.placed: list[Placed] = []
        self.cuts: list[SawCut] = []
        self.offcuts: list[Box] = []

    def saw(self, strips: Sequence[Strip], places: Sequence[int]) -> Layout:
        """The whole sheet. places: of the parts in the list, by item."""
        y = self._trim(lambda a, b: Box(0.0, a, self.length, b - a), rips=True)
        rows = []
        for strip in strips:
            rows.append((y, strip))
            y = self._rip(y, 0.0, self.length, strip.width, self.width)
        self._keep(0.0, y, self.length, self.width - y)
        for low, strip in rows:
            self._strip(low, strip, places)
        return Layout(
            self.length, self.width, tuple(self.placed), tuple(self.cuts), tuple(self.offcuts)
        )

    def _strip(self, low: float, strip: Strip, places: Sequence[int]) -> None:
        x = self._trim(lambda a, b: Box(a, low, b - a, strip.width), rips=False)
        columns = []
        for section in strip.sections:
            columns.append((x, section))
            x = self._cross(x, low, strip.width, section.size.along)
        self._keep(x, low, self.length - x, strip.width)
        for left, section in columns:
            y, top = low, low + strip.width
            for _ in range(section.stacked):
                box = Box(left, y, section.size.along, section.size.across)
                self.placed.append(Placed(places[section.size.item], box))
                y = self._rip(y, left, section.size.along, section.size.across, top)
            self._keep(left, y, section.size.along, top - y)

    def _trim(self, blade: Callable[[float, float], Box], *, rips: bool) -> float:
        """Takes the factory edge off; the blade turns the last of it to dust."""
        if self.trim > 0.0:
            self.cuts.append(SawCut(blade(max(0.0, self.trim - self.kerf), self.trim), rips))
        return self.trim

    def _rip(self, y: float, x: float, length: float, width: float, top: float) -> float:
        """Rips a width off what reaches from y up to top; where the rest begins."""
        at, end = y + width, min(y + width + self.kerf, top)
        if at < top - _THIN:
            self.cuts.append(SawCut(Box(x, at, length, end - at), rips=True))
        return end

    def _cross(self, x: float, y: float, width: float, length: float) -> float:
        """Cuts a length off a strip; where the rest begins."""
        at, end = x + length, min(x + length + self.kerf, self.length)
        if at < self.length - _THIN:
            self.cuts.append(SawCut(Box(at, y, end - at, width), rips=False))
        return end

    def _keep(self, x: float, y: float, length: float, width: float) -> None:
        if length > _THIN and width > _THIN:
            self.offcuts.append(Box(x, y, length, width))
