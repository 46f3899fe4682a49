"""A reading written down wrong: is it named, and how often is a right one?

    python -m tests.honesty.slips [WALLS]

The walls of `tests.honesty.readings`, of other seeds, read with a rule. In each a reading between
both ends is then made wrong by 5, 10, 20 and 100 mm, drawn at random. Named: that very one. Then
twice as long, walked with a level, one step made wrong by 5, 10, 20 and 50 mm on a metre.
"""

from __future__ import annotations

import sys
from collections.abc import Callable

import numpy as np

from scribe.geom.soundings import Heights, Slopes
from scribe.geom.stranger import stranger
from tests.honesty.readings import KINDS, LENGTH, SPACINGS

FIRST = 91000
SLIPS = (5.0, 10.0, 20.0, 100.0)
RULE_U = 0.25  # mm, standard uncertainty of a reading
STEPS = (400, 600, 800)  # mm
WALK_SLIPS = (5.0, 10.0, 20.0, 50.0)  # mm on a metre
LEVEL_U = 0.25e-3  # standard uncertainty of a slope


def row(kind: str, spacing: float, walls: int) -> tuple[int, list[int]]:
    """Walls in which a right reading was named; and for each slip those that were."""
    alarms, named = 0, [0] * len(SLIPS)
    for seed in range(FIRST, FIRST + walls):
        rng = np.random.default_rng([seed, int(spacing)])
        wall = KINDS[kind](rng)
        s = np.arange(0.0, LENGTH + 1e-6, spacing)
        read = np.round(2.0 * (20.0 + wall(s) + rng.normal(0, 0.2, len(s)))) / 2.0
        u, wrong = np.full(len(s), RULE_U), int(rng.integers(1, len(s) - 1))
        alarms += stranger(Heights(s), read, u) is not None
        for n, slip in enumerate(SLIPS):
            found = stranger(Heights(s), read + slip * (np.arange(len(s)) == wrong), u)
            named[n] += found is not None and found.index == wrong
    return alarms, named


def walk_row(kind: str, step: float, walls: int) -> tuple[int, list[int]]:
    """The same of walls walked step by step."""
    alarms, named = 0, [0] * len(WALK_SLIPS)
    for seed in range(FIRST, FIRST + walls):
        rng = np.random.default_rng([seed, int(step), 1])
        wall = KINDS[kind](rng)
        s = np.arange(0.0, 2.0 * LENGTH + 1e-6, step)
        read = np.diff(wall(s)) / step + rng.normal(0, 0.8 * LEVEL_U, len(s) - 1)
        read = np.round(2e3 * read) / 2e3
        steps, u = Slopes(s[:-1], s[1:]), np.full(len(read), LEVEL_U)
        wrong = int(rng.integers(0, len(read)))
        alarms += stranger(steps, read, u) is not None
        for n, slip in enumerate(WALK_SLIPS):
            found = stranger(steps, read + 1e-3 * slip * (np.arange(len(read)) == wrong), u)
            named[n] += found is not None and found.index == wrong
    return alarms, named


def main(walls: int = 20) -> None:
    """Print the tables of docs/readings.md."""
    _table("readings every", SLIPS, "mm", SPACINGS, row, walls)
    print()
    _table("steps of", WALK_SLIPS, "mm/m", STEPS, walk_row, walls)


def _table(
    head: str,
    slips: tuple[float, ...],
    unit: str,
    spacings: tuple[int, ...],
    each: Callable[[str, float, int], tuple[int, list[int]]],
    walls: int,
) -> None:
    heads = " | ".join(f"{slip:g} {unit}" for slip in slips)
    print(f"| wall | {head} | right ones named | {heads} |")
    print("|---|---|---|" + "---|" * len(slips))
    for kind in KINDS:
        for spacing in spacings:
            alarms, named = each(kind, spacing, walls)
            cells = " | ".join(f"{count}" for count in named)
            print(f"| {kind} | {spacing} mm | {alarms} | {cells} |", flush=True)


if __name__ == "__main__":
    main(*(int(each) for each in sys.argv[1:2]))
