"""Sheets and planks sawn up: strips ripped right across, cut to length, then ripped to width.

Every cut goes right through the piece in hand (`scribe.fit.workshop.ripping`). Strips that run
along the sheet and strips that run across it are both tried, and every size of sheet there is.
Parts whose grain counts lie with their length along the sheet's.

What is proven: with kerf k, parts grown by k don't overlap in a sheet grown by k, so their area
bounds the sheets of any way of sawing, and so do the dual feasible functions of S. Fekete and
J. Schepers (Math. Methods Oper. Res. 60 (2004) 311-329, from memory); the linear problem of
strips and sheets bounds those of this way.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

from scribe.cutting import CuttingPlan, Layout, Part, Placed, SawCut, Sheet
from scribe.errors import ScribeError
from scribe.fit.workshop.boards import too_large
from scribe.fit.workshop.ripping import Bench, Size, Strip, best_strips
from scribe.quantity import format_mm

_THIN = 1e-6  # mm, rounding
Placing = tuple[int, Part]  # a part and its place in the list of parts


@dataclass(frozen=True)
class _Found:
    """All parts from one size of sheet. least: sheets that any way of sawing needs; strips: that
    strips of this direction need.
    """

    sheet: Sheet
    sheets: tuple[tuple[Strip, ...], ...]
    least: int
    strips: int
    across: bool

    @property
    def proven(self) -> bool:
        """No way of sawing such sheets needs fewer."""
        return len(self.sheets) <= self.least

    @property
    def cost(self) -> tuple[float, float]:
        """Area of the sheets, then width of the strips."""
        widths = sum(strip.width for sheet in self.sheets for strip in sheet)
        long = self.sheet.width if self.across else self.sheet.length
        return len(self.sheets) * self.sheet.length * self.sheet.width, widths * long


def cut_sheets(parts: Sequence[Placing], sheets: Sequence[Sheet], kerf: float) -> CuttingPlan:
    """The plan for parts of one stock. sheets: the sizes there are; the one that takes the least
    area is sawn up.
    """
    plain = [part for _, part in parts]
    found: list[_Found] = []
    refusals: list[ScribeError] = []
    for sheet in sheets:
        for across in (False, True):
            try:
                found.append(_saw(plain, sheet, kerf, across=across))
            except ScribeError as error:
                refusals.append(error)
                continue
            if found[-1].proven:
                break  # the other direction can't do better
    if not found:
        raise refusals[0]
    best = min(found, key=lambda each: each.cost)
    return CuttingPlan(
        stock=best.sheet.name,
        layouts=_layouts(best, [place for place, _ in parts], kerf),
        used=len(best.sheets),
        proven=best.proven,
        proof=_proof(best),
    )


def strips_of_plank(
    width: float, strip: float, kerf: float, trim: float = 0.0
) -> tuple[int, float]:
    """How many strips a plank of measured width gives, and the width that is left, mm.

    trim: lost at both edges. The last strip needs no cut when the plank ends with it.

    >>> strips_of_plank(230.0, 44.0, 3.0, trim=5.0)
    (4, 32.0)
    """
    usable = width - 2 * trim
    count = max(0, int((usable + kerf + _THIN) / (strip + kerf)))
    return count, max(0.0, usable - count * (strip + kerf))


def _saw(parts: list[Part], sheet: Sheet, kerf: float, *, across: bool) -> _Found:
    long, wide = (sheet.width, sheet.length) if across else (sheet.length, sheet.width)
    long, wide = long - 2 * sheet.trim, wide - 2 * sheet.trim
    sizes = _sizes(parts, long, wide, across=across)
    for item, part in enumerate(parts):
        if not any(size.item == item for size in sizes):
            usable = " x ".join(format_mm(e - 2 * sheet.trim) for e in (sheet.length, sheet.width))
            raise too_large(part, f"a sheet gives {usable} mm")
    packed, least = best_strips(parts, sizes, (long, wide), kerf, sheet.count)
    return _Found(sheet, tuple(packed), _least(parts, sheet, kerf), least, across)


def _sizes(parts: list[Part], long: float, wide: float, *, across: bool) -> list[Size]:
    """Every way a part may lie that fits; a strip across the sheet lies across its grain."""
    sizes = []
    for item, part in enumerate(parts):
        straight, turned = (part.length, part.width), (part.width, part.length)
        ways = {turned if across else straight, *({straight, turned} if part.turns else ())}
        sizes += [
            Size(item, a, b) for a, b in sorted(ways) if a <= long + _THIN and b <= wide + _THIN
        ]
    return sizes


def _layouts(found: _Found, places: list[int], kerf: float) -> tuple[Layout, ...]:
    """The sheets in the sheet's own frame, those sawn alike counted once."""
    sheet = found.sheet
    long, wide = (sheet.width, sheet.length) if found.across else (sheet.length, sheet.width)
    alike: dict[Layout, int] = {}
    for strips in found.sheets:
        layout = Bench(long, wide, sheet.trim, kerf).saw(strips, places)
        if found.across:
            layout = _turned(layout)
        alike[layout] = alike.get(layout, 0) + 1
    return tuple(replace(layout, times=times) for layout, times in alike.items())


def _turned(layout: Layout) -> Layout:
    return Layout(
        layout.width,
        layout.length,
        tuple(Placed(each.part, each.box.turned()) for each in layout.placed),
        tuple(SawCut(cut.blade.turned(), rips=not cut.rips) for cut in layout.cuts),
        tuple(box.turned() for box in layout.offcuts),
    )


def _least(parts: list[Part], sheet: Sheet, kerf: float) -> int:
    """Sheets that any way of sawing needs: the best of the bounds of Fekete and Schepers."""
    long, wide = sheet.length - 2 * sheet.trim + kerf, sheet.width - 2 * sheet.trim + kerf
    shares = []
    for part in parts:
        a, b = part.length + kerf, part.width + kerf
        ways = [(a / long, b / wide), *([(b / long, a / wide)] if part.turns else [])]
        shares.append((part.count, [way for way in ways if max(way) <= 1.0 + 1e-9]))
    small = {0.0, 0.5, *(e for _, ways in shares for way in ways for e in way if e <= 0.5)}
    best = max(
        sum(count * min(_dual(x, p) * _dual(y, q) for x, y in ways) for count, ways in shares)
        for p, q in product(sorted(small), repeat=2)
    )
    return math.ceil(best - 1e-9)


def _dual(share: float, threshold: float) -> float:
    """1 for what leaves no room for the threshold, 0 for what is below it, else the share."""
    if share > 1.0 - threshold + 1e-9:
        return 1.0
    return share if share >= threshold - 1e-9 else 0.0


def _proof(found: _Found) -> str:
    used, sheets = len(found.sheets), f"{found.least} sheet{'' if found.least == 1 else 's'}"
    if found.proven:
        return "No way of sawing needs fewer."
    if used <= found.strips:
        return (
            "No sawing that begins with strips right across needs fewer; whether another way "
            f"does with {sheets} is open."
        )
    return f"Not proven to be the fewest: {sheets} can't be ruled out."
