"""One piece of stock and what it may be filled with: the best filling, and all that are good.

Both are knapsacks: sizes of the stock's ways (items in one place of it) against its capacity,
prices of the items against what is looked for.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

ROUNDING = 1e-6  # mm, far below what a saw leaves and above what sums of doubles lose


class Way(NamedTuple):
    """One thing that a pattern may hold: so many of an item, in one place of this size."""

    item: int
    makes: int
    size: float


@dataclass(frozen=True)
class Stock:
    """One kind of stock: what fits into it, what it costs, how many there are (None: any).

    uses: the item that one of it is cut from, when it is itself cut from other stock: a strip
    that comes out of a sheet. Such an item is wanted 0 times for its own sake.
    """

    capacity: float
    cost: float
    ways: tuple[Way, ...]
    available: int | None = None
    uses: int | None = None


def worthiest(
    stock: Stock, wanted: tuple[int, ...], prices: Array
) -> tuple[float, tuple[int, ...]]:
    """The worthiest filling, by extending undominated fillings way by way (Nemhauser, Ullmann)."""
    fillings: list[tuple[float, float, tuple[int, ...]]] = [(0.0, 0.0, ())]
    for way in stock.ways:
        price = float(prices[way.item]) * way.makes
        most = -(-wanted[way.item] // way.makes) if price > 0.0 else 0
        grown = []
        for size, worth, counts in fillings:
            for n in range(most + 1):
                if size + n * way.size > stock.capacity + ROUNDING:
                    break
                grown.append((size + n * way.size, worth + n * price, (*counts, n)))
        grown.sort(key=lambda each: (each[0], -each[1]))
        fillings, best = [], -1.0
        for each in grown:
            if each[1] > best:
                fillings.append(each)
                best = each[1]
    _, worth, counts = max(fillings, key=lambda each: each[1])
    return worth, counts


def worth_at_least(
    stock: Stock, wanted: tuple[int, ...], prices: Array, least: float
) -> Iterator[tuple[int, ...]]:
    """Every filling worth at least so much, by depth first with a bound on what can follow."""
    order = sorted(
        range(len(stock.ways)),
        key=lambda w: -float(prices[stock.ways[w].item]) * stock.ways[w].makes / stock.ways[w].size,
    )
    counts = [0] * len(order)

    def fill(depth: int, room: float, worth: float) -> Iterator[tuple[int, ...]]:
        if depth == len(order):
            if worth >= least:
                yield tuple(counts)
            return
        way = stock.ways[order[depth]]
        price = max(float(prices[way.item]), 0.0) * way.makes
        # Sorted by price per mm, so that nothing that follows can be worth more per mm.
        if worth + room * price / way.size < least - ROUNDING:
            return
        for n in range(min(int(room / way.size), -(-wanted[way.item] // way.makes)), -1, -1):
            counts[order[depth]] = n
            yield from fill(depth + 1, room - n * way.size, worth + n * price)
        counts[order[depth]] = 0

    yield from fill(0, stock.capacity + ROUNDING, 0.0)
