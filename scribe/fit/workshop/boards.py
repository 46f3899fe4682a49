"""Boards cut to length: the least length of board that gives all parts.

A saw's cut of k parts two neighbours, and the last part may end where the board does: with n
parts in a usable length L, the sum of their lengths + (n - 1) k <= L, so each counts its
length + k into a capacity of L + k. A last strip thinner than the blade is just dust.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from scribe.cutting import Board, Box, CuttingPlan, Layout, Part, Placed, SawCut
from scribe.errors import ScribeError
from scribe.fit.workshop.filling import Stock, Way
from scribe.fit.workshop.patterns import Plan, best_plan
from scribe.quantity import format_mm

_THIN = 1e-6  # mm, rounding


def cut_boards(
    parts: Sequence[tuple[int, Part]], boards: Sequence[Board], kerf: float
) -> CuttingPlan:
    """parts: with their places in the list. boards: the lengths there are, all of one name."""
    longest = max(board.length - 2 * board.trim for board in boards)
    for _, part in parts:
        if part.length > longest + _THIN:
            raise too_large(part, f"the longest board gives {format_mm(longest)} mm")
    ways = tuple(Way(item, 1, part.length + kerf) for item, (_, part) in enumerate(parts))
    stocks = [
        Stock(board.length - 2 * board.trim + kerf, board.length, ways, board.count)
        for board in boards
    ]
    plan = best_plan([part.count for _, part in parts], stocks)
    refuse_missing(plan, [part for _, part in parts])
    left = [part.count for _, part in parts]
    sawn = Counter(
        (kind, tuple(cut)) for kind, cut in _handed_out(plan, left) if cut
    )  # surplus of the plan is left out
    layouts = tuple(
        _layout(boards[kind], [parts[item] for item in cut], kerf, times)
        for (kind, cut), times in sawn.items()
    )
    metres = format_mm(plan.cost / 1000.0, 2)
    proof = (
        f"No way of cutting needs less than these {metres} m of board."
        if plan.proven
        else f"Not proven to be the least: {format_mm(plan.bound / 1000.0, 2)} m aren't ruled out."
    )
    return CuttingPlan(boards[0].name, layouts, sum(sawn.values()), plan.proven, proof)


def too_large(part: Part, most: str) -> ScribeError:
    """The refusal of a part that no stock of its name can give."""
    size = format_mm(part.length) + (f" x {format_mm(part.width)}" if part.width else "")
    return ScribeError(
        "part-too-large",
        what=f"it is {size} mm with its allowances, but {most}",
        where=f"{part.name}, from {part.stock}",
        do="give larger stock, let the part turn if its grain may run across, or join it",
    )


def refuse_missing(plan: Plan, parts: Sequence[Part]) -> None:
    """Refuse a plan that leaves parts out since the stock is used up."""
    lacking = [f"{n} of {p.name}" for n, p in zip(plan.missing, parts, strict=False) if n]
    if any(plan.missing) or plan.over:
        raise ScribeError(
            "stock-too-little",
            what="the stock that was stated doesn't give all parts"
            + (f": left are {', '.join(lacking)}" if lacking else ""),
            where=parts[0].stock,
            do="state more of it with count =, or leave count out for what can be bought",
        )


def _handed_out(plan: Plan, left: list[int]) -> list[tuple[int, list[int]]]:
    """The items of every single board, longest first, until all are handed out."""
    boards = []
    for (kind, counts), times in plan.patterns:
        for _ in range(times):
            cut = []
            for item, wanted in enumerate(counts):
                given = min(wanted, left[item])
                left[item] -= given
                cut += [item] * given
            boards.append((kind, cut))
    return boards


def _layout(board: Board, parts: list[tuple[int, Part]], kerf: float, times: int) -> Layout:
    """One board: its end trimmed, then cut after cut from there."""
    x = board.trim
    cuts = [_cut(max(0.0, x - kerf), x)] if x > 0 else []
    placed = []
    for place, part in sorted(parts, key=lambda each: -each[1].length):
        placed.append(Placed(place, Box(x, 0.0, part.length, 0.0)))
        end = x + part.length
        if end < board.length - _THIN:
            cuts.append(_cut(end, min(end + kerf, board.length)))
        x = end + kerf
    rest = board.length - x
    offcuts = (Box(x, 0.0, rest, 0.0),) if rest > _THIN else ()
    return Layout(board.length, 0.0, tuple(placed), tuple(cuts), offcuts, times)


def _cut(start: float, end: float) -> SawCut:
    return SawCut(Box(start, 0.0, end - start, 0.0), rips=False)
