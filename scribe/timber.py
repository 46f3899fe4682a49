"""How much a board's width moves with its moisture: advice with a range, never a promise.

Solid timber, moisture contents between 6 and 14 %: change = width * C * (then - now), with C
of the Wood Handbook's table of coefficients, FPL-GTR-190, chapter 13, equation 13-2; outside
of that range its equation 13-3 with the total shrinkage from green to dry. Sources differ by
about a quarter for the same species, so that is the range that is told. Panels: a bound.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from scribe.quantity import format_mm
from scribe.standards import PANEL_BOUND_PERCENT, TIMBER, TIMBER_SPREAD

Cut = Literal["flatsawn", "quartersawn"]
CUTS: tuple[Cut, ...] = get_args(Cut)

_LINEAR = (6.0, 14.0)  # % moisture within which equation 13-2 holds
_SATURATED = 30.0  # % moisture above which wood no longer swells


@dataclass(frozen=True)
class Timber:
    """A board. species: a key of standards.TIMBER. cut: how its rings lie in its width.

    now, low, high: % moisture content today, and the driest and dampest it will get in use.
    """

    species: str
    cut: Cut
    now: float
    low: float
    high: float


@dataclass(frozen=True)
class Movement:
    """mm by which a width shrinks (negative) and swells in use, each with its spread."""

    shrinks: float
    swells: float

    def range(self, value: float) -> tuple[float, float]:
        """(least, most) mm that sources would have for a value."""
        return value * (1.0 - TIMBER_SPREAD), value * (1.0 + TIMBER_SPREAD)


def movement(timber: Timber, width: float) -> Movement:
    """What a width of so many mm does between its driest and its dampest."""
    return Movement(
        change(timber, width, timber.low) if timber.low < timber.now else 0.0,
        change(timber, width, timber.high) if timber.high > timber.now else 0.0,
    )


def change(timber: Timber, width: float, then: float) -> float:
    """mm that a width changes from the moisture now to another one.

    >>> fir = Timber("white fir", "flatsawn", 8.0, 8.0, 11.0)
    >>> round(change(fir, 232.0, 11.0), 4)
    1.7052
    """
    row = TIMBER[timber.species]
    now, then = min(timber.now, _SATURATED), min(then, _SATURATED)
    flat = timber.cut == "flatsawn"
    coefficient = row.tangential if flat else row.radial
    inside = all(_LINEAR[0] <= each <= _LINEAR[1] for each in (now, then))
    if inside:
        return width * coefficient * (then - now)
    # Equation 13-3 with the shrinkage that gives the same coefficient at 10 % moisture.
    shrinkage = 3000.0 / (1.0 / coefficient + 20.0)
    return width * (then - now) / (_SATURATED * 100.0 / shrinkage - _SATURATED + now)


def timber_note(timber: Timber, width: float, left: float | None = None) -> str:
    """What the fitter should leave free, in some sentences with its range.

    left: mm free across the width in all, of a piece that is held on both sides; else None.
    """
    moved = movement(timber, width)
    parts = []
    for word, value in (("shrink", -moved.shrinks), ("swell", moved.swells)):
        if value > 0.05:
            least, most = (format_mm(each, 1) for each in moved.range(value))
            parts.append(f"{word} by {format_mm(value, 1)} mm ({least} to {most})")
    if not parts:
        return f"{timber.species}, {timber.cut}: its width hardly moves between these moistures."
    needed = moved.range(max(moved.swells, 0.0))[1]
    free = format_mm(needed, 1)
    tight = (
        ""
        if left is None or left >= needed
        else (f" The clearances leave {format_mm(left, 1)} mm: it would jam.")
    )
    return (
        f"{timber.species}, {timber.cut}, {format_mm(width, 0)} mm wide at {timber.now:g} %: in "
        f"use it may {' and '.join(parts)}. Leave at least {free} mm free for it, and fix it so "
        f"that it can move.{tight} Advice from table values, which differ by about a quarter."
    )


def panel_note(kind: str, length: float) -> str:
    """The most that a panel may grow, as a bound and not as an expectation."""
    percent = PANEL_BOUND_PERCENT[kind]
    return (
        f"{kind}: from 50 to 80 % humidity {format_mm(length, 0)} mm may grow by "
        f"{format_mm(length * percent / 100.0, 1)} mm at most ({percent:g} %, the bound of the "
        "product standard); usually it is much less."
    )
