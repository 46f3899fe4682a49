"""The parts that a room's carcasses and scribe strips are sawn from.

A carcass is a plain box: two sides as tall as it, and a top and a bottom between them; shelves,
backs and doors are the fitter's own parts. A scribe strip is sawn to the width to buy, of which
its allowance comes off along the edge that meets the building.
"""

from __future__ import annotations

from collections.abc import Sequence

from scribe.cutting import Part
from scribe.quantity import round_down_mm
from scribe.sizes import Carcass, StripSize


def carcass_parts(carcasses: Sequence[Carcass], stock: str, thickness: float) -> tuple[Part, ...]:
    """Sides, tops and bottoms; those of one size are one kind of part. thickness: mm."""
    wanted: dict[tuple[str, float, float], int] = {}
    for each in carcasses:
        inside = each.width - 2.0 * thickness
        for word, length in (("side", each.height), ("top or bottom", inside)):
            size = (word, round_down_mm(length, 0.1), round_down_mm(each.depth, 0.1))
            wanted[size] = wanted.get(size, 0) + 2
    return tuple(
        Part(f"carcass {word}", stock, length, depth, count)
        for (word, length, depth), count in wanted.items()
    )


def strip_parts(strips: Sequence[StripSize], stock: str) -> tuple[Part, ...]:
    """One part a strip; its allowance is left on along its top edge, as its blank lies."""
    return tuple(
        Part(
            each.name,
            stock,
            each.length,
            each.narrowest.value,
            allowance=(0.0, 0.0, each.allowance, 0.0),
        )
        for each in strips
    )
