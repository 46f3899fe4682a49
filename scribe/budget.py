"""The budget of an outline as rows to read: each entry's size, kind and share (JCGM 100, 3.4, 8).

An entry's share is its part of u squared, in percent, at one point: at the point that is known
worst and at the one whose u is the median.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from scribe.outline import Outline

Kind = Literal["A", "B"]

# name: (kind, what it means to a fitter). Kind A is found by statistics on the readings of this
# very photo, kind B in any other way (JCGM 100, 4.2, 4.3).
MEANING: dict[str, tuple[Kind, str]] = {
    "localisation": ("A", "where the edge lies in the photo"),
    "line width": ("A", "how the two sides of a drawn line wander"),
    "grain": ("A", "how the board's grain pulls a line drawn on it"),
    "pins": ("B", "the gauge's tips and play, and what lies between its pins"),
    "side": ("B", "whether a board's edge is seen or its foot"),
    "pose": ("A", "where the camera was"),
    "lens": ("B", "how the lens bends the picture"),
    "paper": ("A", "a sheet that is not quite flat"),
    "bend": ("B", "what a bend of the sheet may do below the thing traced"),
    "tone": ("B", "how the photo renders dark beside light"),
    "arris": ("B", "what an eased arris, seen as a dark strip, hides"),
    "squareness": ("B", "how square the board's side is, where its foot was seen"),
    "print scale": ("B", "a page printed larger or smaller than it says"),
    "height": ("B", "how high the outline lies above the sheet"),
    "reading": ("B", "how well a reading by hand is read"),
    "station": ("B", "how well the place of a reading along the edge is read"),
    "between": ("A", "what the wall does between the readings"),
    "straight edge": ("B", "how straight the straight edge is"),
    "walk": ("B", "a level's readings summed up, and its own tilt"),
    "tape": ("B", "the tape's hook, scale and sag"),
    "joint": ("A", "where a piece lies on the one it is joined to"),
    "carried on": ("B", "what the wall does where it was carried on straight"),
    "drawn": ("B", "how well the line was drawn"),
    "drawn ends": ("B", "where the drawn line begins and ends"),
    "stated": ("B", "U as the file states it"),
    "by hand": ("B", "how well a finger aimed that put the line right"),
    "smoothing": ("B", "what the smoothing takes off peaks and hollows"),
}
_NAMED_PERCENT = 3.0  # a share below this isn't named in a sentence


@dataclass(frozen=True)
class Entry:
    """One entry of a budget.

    u_median, u_worst: mm, its standard uncertainty at the point whose u is the median of all
    and at the one whose u is the largest. share_median, share_worst: percent of u squared there.
    """

    name: str
    kind: Kind
    meaning: str
    u_median: float
    u_worst: float
    share_median: float
    share_worst: float


def entries(outline: Outline) -> tuple[Entry, ...]:
    """The rows, the largest share at the worst point first; none where only u is known."""
    if not outline.budget:
        return ()
    order = np.argsort(outline.u, kind="stable")
    middle, worst = int(order[(len(order) - 1) // 2]), int(order[-1])
    rows = []
    for name, part in outline.budget.items():
        kind, meaning = MEANING.get(name.removesuffix(", alone"), ("B", ""))
        shares = [
            100.0 * float((part[k] / outline.u[k]) ** 2) if outline.u[k] > 0.0 else 0.0
            for k in (middle, worst)
        ]
        rows.append(Entry(name, kind, meaning, float(part[middle]), float(part[worst]), *shares))
    return tuple(sorted(rows, key=lambda row: (-row.share_worst, -row.share_median, row.name)))


def in_words(rows: Sequence[Entry]) -> str:
    """One line: what u is made of where it is usual, and where it is worst; what a part means
    stands where it is named first.
    """
    if not rows:
        return "only the total is known"
    told: set[str] = set()

    def part(row: Entry, share: float) -> str:
        meaning = f" ({row.meaning})" if row.meaning and row.name not in told else ""
        told.add(row.name)
        return f"{row.name} {share:.0f} %{meaning}"

    usual = sorted(rows, key=lambda row: -row.share_median)
    said = [part(row, row.share_median) for row in usual if row.share_median >= _NAMED_PERCENT]
    worst = [part(row, row.share_worst) for row in rows if row.share_worst >= _NAMED_PERCENT]
    return f"{', '.join(said)}; at the worst point {', '.join(worst)}"
