"""Which patterns to cut stock into, and how often, at the least cost: with proof where possible.

Column generation (P. Gilmore, R. Gomory, Oper. Res. 9 (1961) 849-859, from memory): the linear
problem over all patterns is solved with the few that matter, new ones coming from a knapsack
priced by its multipliers. Its value bounds every plan from below. A mixed-integer problem over
the patterns found gives a plan; if that costs more than the bound, every pattern whose reduced
cost lies within the gap is added (no other can be in a better plan) and it is solved again.
Both are solved by HiGHS through scipy. Capacities, sizes and costs are mm or any unit alike.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from scribe.fit.workshop.filling import ROUNDING, Stock, worth_at_least, worthiest

Array = npt.NDArray[np.float64]
Pattern = tuple[int, tuple[int, ...]]  # the kind of stock, and how often each of its ways

_MOST_PATTERNS = 12_000  # beyond these a proof isn't tried
_NODES, _SECONDS = 1_000, 5.0  # of one mixed-integer problem


@dataclass(frozen=True)
class Plan:
    """patterns with how often each is cut. bound: no plan costs less. missing: items left out
    since the stock is used up, by item. over: it takes more of a stock than there is, since none
    was found in time that doesn't. proven: no plan is cheaper.
    """

    patterns: tuple[tuple[Pattern, int], ...]
    cost: float
    bound: float
    proven: bool
    missing: tuple[int, ...]
    over: bool


def best_plan(
    demand: Sequence[int], stocks: Sequence[Stock], *, step: float | None = None, blur: float = 0.0
) -> Plan:
    """The cheapest plan that was found for so many of each item.

    step: costs that matter are whole multiples of it; None: the costs' common divisor. blur: how
    much of a plan's cost is only there to choose between plans that cost alike, at most.

    Lengths 5, 5, 4, 4 from stock of 10: two pieces of it, and no plan has fewer.

    >>> from scribe.fit.workshop.filling import Way
    >>> kind = Stock(10.0, 10.0, (Way(0, 1, 5.0), Way(1, 1, 4.0)))
    >>> plan = best_plan([2, 2], [kind])
    >>> plan.cost, plan.proven
    (20.0, True)
    """
    problem = _Problem(tuple(demand), tuple(stocks), step or _divisor(stocks), blur)
    patterns = problem.first()
    value, prices = problem.relaxed(patterns)
    while new := problem.better(prices, patterns):
        patterns += new
        value, prices = problem.relaxed(patterns)
    bound = problem.bound(value)
    counts, solved = problem.integer(patterns, value)
    cost = problem.cost(patterns, counts)
    if cost > bound + ROUNDING:
        more = problem.within(prices, cost + blur - problem.step - value, patterns)
        if more is not None:
            patterns += more
            again, solved = problem.integer(patterns, value)
            if problem.cost(patterns, again) < cost - ROUNDING:
                counts, cost = again, problem.cost(patterns, again)
            bound = cost if solved else bound
    times = counts[: len(counts) - len(demand)]
    return Plan(
        patterns=tuple((p, n) for p, n in zip(patterns, times, strict=False) if n),
        cost=cost,
        bound=bound,
        proven=cost <= bound + ROUNDING,
        missing=tuple(counts[len(counts) - len(demand) :]),
        over=problem.over(patterns, times),
    )


@dataclass(frozen=True)
class _Problem:
    demand: tuple[int, ...]
    stocks: tuple[Stock, ...]
    step: float
    blur: float

    def bound(self, value: float) -> float:
        """The least cost of a whole plan that isn't below a linear one's."""
        return math.ceil((value - self.blur) / self.step - 1e-6) * self.step

    def first(self) -> list[Pattern]:
        """From every stock, one way alone, as often as it fits and is wanted."""
        found = []
        for kind, stock in enumerate(self.stocks):
            for number, way in enumerate(stock.ways):
                most = -(-self.most[way.item] // way.makes)
                fits = min(int((stock.capacity + ROUNDING) / way.size), most)
                if fits:
                    counts = [0] * len(stock.ways)
                    counts[number] = fits
                    found.append((kind, tuple(counts)))
        return found

    def relaxed(self, patterns: list[Pattern]) -> tuple[float, Array]:
        """Cost of the linear problem, and the prices of (items, stocks)."""
        done = self._linear(patterns)
        return float(done.fun), -np.asarray(done.ineqlin.marginals)

    def integer(self, patterns: list[Pattern], value: float) -> tuple[list[int], bool]:
        """How often each pattern, then how many of each item are left out; whether that is best.

        value: of the linear problem. Within half a step of the best there is no better one.
        """
        from scipy.optimize import Bounds, LinearConstraint, milp

        rows, limits = self._rows(patterns)
        costs = self._costs(patterns)
        gap = 0.4 * self.step / (1.5 * value + self.step)
        done = milp(
            costs,
            integrality=np.ones(len(costs), dtype=int),
            bounds=Bounds(0, np.inf),
            constraints=LinearConstraint(rows, limits, np.inf),
            options={
                "node_limit": _NODES,
                "time_limit": _SECONDS,
                "mip_rel_gap": gap,
            },
        )
        if done.x is None:  # nothing found in time: the linear plan rounded up is one
            return [math.ceil(x - 1e-6) for x in self._linear(patterns).x], False
        return [round(x) for x in done.x], done.status == 0

    def cost(self, patterns: list[Pattern], counts: list[int]) -> float:
        """Of the patterns alone, in whole steps."""
        paid = zip(patterns, counts, strict=False)
        total = sum(self.stocks[kind].cost * n for (kind, _), n in paid)
        return math.floor(total / self.step + 1e-6) * self.step

    def over(self, patterns: list[Pattern], times: list[int]) -> bool:
        """Whether a plan takes more of some stock than there is."""
        taken = [0] * len(self.stocks)
        for (kind, _), n in zip(patterns, times, strict=False):
            taken[kind] += n
        have = (stock.available for stock in self.stocks)
        return any(n is not None and m > n for m, n in zip(taken, have, strict=True))

    def better(self, prices: Array, patterns: list[Pattern]) -> list[Pattern]:
        """For each stock, the pattern that would lower the linear cost most."""
        found = []
        for kind, stock in enumerate(self.stocks):
            worth, counts = worthiest(stock, self.most, prices)
            pattern = (kind, counts)
            if worth - self._needed(kind, prices) > 1e-7 and pattern not in patterns:
                found.append(pattern)
        return found

    def within(self, prices: Array, gap: float, patterns: list[Pattern]) -> list[Pattern] | None:
        """Every full pattern whose reduced cost is at most the gap; None when they are too many."""
        known, found = set(patterns), []
        for kind, stock in enumerate(self.stocks):
            least = self._needed(kind, prices) - gap - 1e-7
            for counts in worth_at_least(stock, self.most, prices, least):
                if (kind, counts) not in known:
                    found.append((kind, counts))
                if len(found) > _MOST_PATTERNS:
                    return None
        return found

    def _linear(self, patterns: list[Pattern]) -> Any:
        """scipy's result for the linear problem, which always has one: items may be left out."""
        from scipy.optimize import linprog

        rows, limits = self._rows(patterns)
        return linprog(self._costs(patterns), A_ub=-rows, b_ub=-limits, method="highs")

    @property
    def most(self) -> tuple[int, ...]:
        """How many of an item a pattern may hold: no more than wanted, of strips any number."""
        strips = {stock.uses for stock in self.stocks}
        total = sum(self.demand)
        return tuple(total if k in strips else n for k, n in enumerate(self.demand))

    def _needed(self, kind: int, prices: Array) -> float:
        """What a pattern's items must be worth to pay for it."""
        stock = self.stocks[kind]
        strip = 0.0 if stock.uses is None else float(prices[stock.uses])
        return stock.cost + strip - float(prices[len(self.demand) + kind])

    def _costs(self, patterns: list[Pattern]) -> Array:
        """Leaving out an item costs more than any stock it could be cut from."""
        dear = 10.0 * max(stock.cost for stock in self.stocks)
        own = [self.stocks[kind].cost for kind, _ in patterns]
        return np.array([*own, *(dear for _ in self.demand)])

    def _rows(self, patterns: list[Pattern]) -> tuple[Array, Array]:
        """Rows and their lower limits: items wanted, then stocks not to be exceeded."""
        items = len(self.demand)
        rows = np.zeros((items + len(self.stocks), len(patterns) + items))
        for column, (kind, counts) in enumerate(patterns):
            for way, n in zip(self.stocks[kind].ways, counts, strict=True):
                rows[way.item, column] += n * way.makes
            uses = self.stocks[kind].uses
            if uses is not None:
                rows[uses, column] -= 1.0
            rows[items + kind, column] = -1.0
        rows[:items, len(patterns) :] = np.eye(items)
        have = [math.inf if s.available is None else s.available for s in self.stocks]
        # A limit of infinity is a row that binds nothing.
        finite = [-min(each, 10 * sum(self.demand)) for each in have]
        return rows, np.array([*self.demand, *finite], dtype=np.float64)


def _divisor(stocks: Sequence[Stock]) -> float:
    return math.gcd(*(round(100 * stock.cost) for stock in stocks)) / 100.0
