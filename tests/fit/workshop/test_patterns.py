"""Plans against published instances with their optimum, and against plans made to fill stock."""

from __future__ import annotations

import math
import random
from itertools import combinations_with_replacement

import pytest

from scribe.fit.workshop.filling import Stock, Way
from scribe.fit.workshop.patterns import Plan, best_plan


def planned(capacity: float, sizes: list[float], demand: list[int]) -> Plan:
    ways = tuple(Way(item, 1, size) for item, size in enumerate(sizes))
    return best_plan(demand, [Stock(capacity, 1.0, ways)])


def test_the_paper_mill() -> None:
    # A published cutting-stock problem: rolls of 5600 mm, thirteen widths; 73 rolls are the
    # optimum, with 0.401 % waste (encyclopaedia article on cutting stock, from memory).
    sizes = [1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200]
    demand = [22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20]
    plan = planned(5600.0, [float(s) for s in sizes], demand)
    assert plan.cost == 73.0
    assert plan.proven
    waste = 1.0 - sum(s * n for s, n in zip(sizes, demand, strict=True)) / (5600 * 73)
    assert waste == pytest.approx(0.00401, abs=5e-6)  # the data are those that were published


def test_fifty_weights_into_bins_of_100() -> None:
    # N1C1W1_A of A. Scholl, R. Klein, C. Juergens, Comput. Oper. Res. 24 (1997) 627-645, data
    # published beside it: 25 bins are the optimum (from memory).
    weights = [
        99, 99, 96, 96, 92, 92, 91, 88, 87, 86, 85, 76, 74, 72, 69, 67, 67, 62, 61, 56, 52, 51,
        49, 46, 44, 42, 40, 40, 33, 33, 30, 30, 29, 28, 28, 27, 25, 24, 23, 22, 21, 20, 17, 14,
        13, 11, 10, 7, 7, 3,
    ]  # fmt: skip
    assert len(weights) == 50
    plan = planned(100.0, [float(w) for w in weights], [1] * 50)
    assert plan.cost == 25.0
    assert plan.proven


@pytest.mark.parametrize("seed", range(2))
def test_triplets_that_fill_every_bin(seed: int) -> None:
    # Made as E. Falkenauer's triplets are (J. Heuristics 2 (1996) 5-30, from memory): every bin
    # of 1000 holds three that fill it to the last, so that the optimum is known: a third of all.
    rng = random.Random(seed)
    sizes: list[float] = []
    for _ in range(12):
        first = rng.randint(380, 490)
        second = rng.randint(250, (1000 - first) // 2)
        sizes += [float(first), float(second), float(1000 - first - second)]
    plan = planned(1000.0, sizes, [1] * 36)
    assert plan.cost == 12.0
    assert plan.proven


def test_against_every_plan_of_a_small_problem() -> None:
    # Three lengths of stock, all ways tried: the least sum of costs by dynamic programming over
    # what is still wanted, which shares nothing with the solver.
    rng = random.Random(7)
    for _ in range(6):
        sizes = [rng.randint(20, 60) for _ in range(3)]
        demand = [rng.randint(1, 3) for _ in range(3)]
        stocks = {100: 100.0, 75: 80.0}
        kinds = [
            Stock(float(c), cost, tuple(Way(i, 1, float(s)) for i, s in enumerate(sizes)))
            for c, cost in stocks.items()
        ]
        plan = best_plan(demand, kinds)
        assert plan.proven
        assert plan.cost == pytest.approx(exhaustive(sizes, demand, stocks))


def exhaustive(sizes: list[int], demand: list[int], stocks: dict[int, float]) -> float:
    fillings = {
        (capacity, tuple(chosen.count(i) for i in range(len(sizes))))
        for capacity in stocks
        for n in range(1, 6)
        for chosen in combinations_with_replacement(range(len(sizes)), n)
        if sum(sizes[i] for i in chosen) <= capacity
    }
    known: dict[tuple[int, ...], float] = {tuple(0 for _ in sizes): 0.0}

    def least(left: tuple[int, ...]) -> float:
        if left not in known:
            options = [math.inf]
            for capacity, filled in fillings:
                rest = tuple(max(0, a - b) for a, b in zip(left, filled, strict=True))
                if rest != left:
                    options.append(stocks[capacity] + least(rest))
            known[left] = min(options)
        return known[left]

    return least(tuple(demand))


def test_what_the_stock_does_not_give_is_missing() -> None:
    kind = Stock(10.0, 10.0, (Way(0, 1, 6.0),), available=2)
    assert best_plan([3], [kind]).missing == (1,)
