"""Strips right across a sheet: which parts go into which strip, and how the saw makes them.

A strip is filled along its length with sections; a section holds one part, or a stack of the
same part side by side that is ripped apart at the end. Strips of every width that a part or a
stack needs are offered. Which strips to cut and which of them share a sheet is one problem
(P. Gilmore, R. Gomory, Oper. Res. 13 (1965) 94-120, from memory): a strip is stock that is
itself cut from a sheet.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from scribe.cutting import Box, Layout, Part, Placed, SawCut
from scribe.fit.workshop.boards import refuse_missing
from scribe.fit.workshop.filling import Stock, Way
from scribe.fit.workshop.patterns import Plan, best_plan

_THIN = 1e-6  # mm, rounding
_MOST_CLASSES = 40  # widths of strips that are offered; beyond, stacks define none
# Among plans of as many sheets the one with the least width of strips leaves the best offcuts.
_TASTE, _MOST_SHEETS = 1e-3, 100


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
    parts: Sequence[Part],
    sizes: Sequence[Size],
    usable: tuple[float, float],
    kerf: float,
    available: int | None,
) -> tuple[list[tuple[Strip, ...]], int]:
    """The strips of every sheet, widest first, and how few sheets strips can do with at best.

    usable: length along the strips and width across them, mm. sizes: only such as fit.
    """  # fmt: skip
    demand = [part.count for part in parts]
    classes = _classes(demand, sizes, usable[1], kerf)
    offered = [
        [Section(size, _stack(size, demand, wide, kerf)) for size in sizes
         if size.across <= wide + _THIN]
        for wide in classes
    ]  # fmt: skip
    stocks = [
        Stock(
            usable[0] + kerf,
            _TASTE * (wide + kerf) / (usable[1] + kerf),
            tuple(Way(each.size.item, each.stacked, each.size.along + kerf) for each in sections),
            uses=len(parts) + number,
        )
        for number, (wide, sections) in enumerate(zip(classes, offered, strict=True))
    ]
    ways = tuple(Way(len(parts) + n, 1, wide + kerf) for n, wide in enumerate(classes))
    stocks.append(Stock(usable[1] + kerf, 1.0, ways, available))
    wanted = [*demand, *(0 for _ in classes)]
    plan = best_plan(wanted, stocks, step=1.0, blur=_MOST_SHEETS * _TASTE)
    refuse_missing(plan, parts)
    sawn = _strips(plan, offered, demand, kerf)
    sheets: list[list[Strip]] = []
    for (kind, counts), times in plan.patterns:
        if kind == len(classes):
            for _ in range(times):
                taken = [sawn[n].pop() for n, many in enumerate(counts)
                         for _ in range(min(many, len(sawn[n])))]  # fmt: skip
                sheets.append(taken)
    for strip in (strip for left in sawn for strip in left):  # a plan cut short by time has some
        _put(strip, sheets, usable[1], kerf)
    used = [tuple(sorted(taken, key=lambda strip: -strip.width)) for taken in sheets if taken]
    if available is not None and len(used) > available:
        refuse_missing(replace(plan, over=True), parts)
    return used, round(plan.bound)


def _put(strip: Strip, sheets: list[list[Strip]], width: float, kerf: float) -> None:
    """Into the first sheet with room for it, or into a new one."""
    for taken in sheets:
        if sum(each.width + kerf for each in (*taken, strip)) <= width + kerf + _THIN:
            taken.append(strip)
            return
    sheets.append([strip])


def _classes(
    demand: Sequence[int], sizes: Sequence[Size], width: float, kerf: float
) -> list[float]:
    """The widths of strips on offer: of single parts, and of stacks while these aren't too many."""
    single = {size.across for size in sizes}
    stacks = {
        n * size.across + (n - 1) * kerf
        for size in sizes
        for n in range(2, demand[size.item] + 1)
        if n * size.across + (n - 1) * kerf <= width + _THIN
    }
    return sorted(single | stacks if len(single | stacks) <= _MOST_CLASSES else single)


def _strips(
    plan: Plan, offered: list[list[Section]], demand: Sequence[int], kerf: float
) -> list[list[Strip]]:
    """The strips that the plan cuts, by class, without what it cuts too much."""
    left = list(demand)
    sawn: list[list[Strip]] = [[] for _ in offered]
    for (kind, counts), times in plan.patterns:
        for _ in range(times if kind < len(offered) else 0):
            sections = _filled(offered[kind], counts, left)
            if sections:
                sections.sort(key=lambda each: (-each.width(kerf), -each.size.along))
                sawn[kind].append(Strip(sections[0].width(kerf), tuple(sections)))
    return sawn


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
