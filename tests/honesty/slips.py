"""A reading written down wrong: is it named, and how often is a right one?

    python -m tests.honesty.slips [WALLS]

The walls of `tests.honesty.readings`, of other seeds, read with a rule. In each a reading between
both ends is then made wrong by 5, 10, 20 and 100 mm, drawn at random. Named: that very one.
"""

from __future__ import annotations

import sys

import numpy as np

from scribe.geom.stranger import stranger
from tests.honesty.readings import KINDS, LENGTH, SPACINGS

FIRST = 91000
SLIPS = (5.0, 10.0, 20.0, 100.0)
RULE_U = 0.25  # mm, standard uncertainty of a reading


def row(kind: str, spacing: float, walls: int) -> tuple[int, list[int]]:
    """Walls in which a right reading was named; and for each slip those that were."""
    alarms, named = 0, [0] * len(SLIPS)
    for seed in range(FIRST, FIRST + walls):
        rng = np.random.default_rng([seed, int(spacing)])
        wall = KINDS[kind](rng)
        s = np.arange(0.0, LENGTH + 1e-6, spacing)
        read = np.round(2.0 * (20.0 + wall(s) + rng.normal(0, 0.2, len(s)))) / 2.0
        u, wrong = np.full(len(s), RULE_U), int(rng.integers(1, len(s) - 1))
        alarms += stranger(s, read, u) is not None
        for n, slip in enumerate(SLIPS):
            found = stranger(s, read + slip * (np.arange(len(s)) == wrong), u)
            named[n] += found is not None and found.index == wrong
    return alarms, named


def main(walls: int = 20) -> None:
    """Print the table of docs/readings.md."""
    heads = " | ".join(f"{slip:g} mm" for slip in SLIPS)
    print(f"| wall | readings every | right ones named | {heads} |")
    print("|---|---|---|" + "---|" * len(SLIPS))
    for kind in KINDS:
        for spacing in SPACINGS:
            alarms, named = row(kind, spacing, walls)
            cells = " | ".join(f"{count}" for count in named)
            print(f"| {kind} | {spacing} mm | {alarms} | {cells} |", flush=True)


if __name__ == "__main__":
    main(*(int(each) for each in sys.argv[1:2]))
