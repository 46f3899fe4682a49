"""The one act at the wall that would help most, with the number it would bring.

Everything is worked out on the shape of the outline, which is what a piece is cut to: where
the sheet lay on the table doesn't matter.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.outline import Outline

Array = npt.NDArray[np.float64]

WORTH = 0.8  # an act is named when it brings U to this part of what it is, or below
_END = 1.5  # an end is named when U there is so many times that of the rest


@dataclass(frozen=True)
class Act:
    """Something to do: the entry of the budget it helps, and how much of that would stay."""

    entry: str
    left: float
    words: str


def acts(*, scale_checked: bool, height_stated: bool, lens_known: bool, photos: int) -> list[Act]:
    """What can still be done, given what was."""
    found = []
    if not scale_checked:
        found.append(
            Act(
                "print scale",
                1.0 / 3.0,
                "measure both check bars with a steel rule and give --bars",
            )
        )
    if not height_stated and photos == 1:
        words = "tell how high the traced edge lies above the sheet (--height)"
        found.append(Act("height", 0.05, f"{words}, or take a second photo from the other side"))
    if not lens_known:
        found.append(
            Act("lens", 0.2, "learn the phone's lens once with scribe camera and give --camera")
        )
    found.append(Act("pose", 0.6, "take the photo again with the sheet filling the picture"))
    flat = "tape the sheet down flat on a board"
    found += [Act(entry, 0.3, flat) for entry in ("paper", "bend")]
    return found


def advice(outline: Outline, possible: list[Act]) -> tuple[str, ...]:
    """The act that lowers the typical U of the shape most, if any lowers it by much."""
    shape = outline.shape_alone()
    if not shape.budget:
        return ()
    now = _typical(shape.budget)
    after = {act: _typical(_without(shape.budget, act)) for act in possible}
    if not after or now <= 0.0:
        return ()
    best = min(after, key=lambda act: after[act])
    if after[best] > WORTH * now:
        return ()
    gain = f"U of the shape is {2 * now:.2f} mm. Most help: {best.words}"
    return (f"{gain}; it then is about {2 * after[best]:.2f} mm{_where(shape)}.",)


def _typical(budget: Mapping[str, Array]) -> float:
    return float(np.median(np.sqrt(sum(part**2 for part in budget.values()))))


def _without(budget: Mapping[str, Array], act: Act) -> dict[str, Array]:
    parts = dict(budget)
    if act.entry in parts:
        parts[act.entry] = act.left * parts[act.entry]
    return parts


def _where(shape: Outline) -> str:
    """The end at which the shape is known worst, when one stands out."""
    third = max(len(shape) // 3, 1)
    ends = {"first": shape.u[:third], "last": shape.u[-third:]}
    middle = float(np.median(shape.u))
    worst = max(ends, key=lambda name: float(np.median(ends[name])))
    if float(np.median(ends[worst])) < _END * middle:
        return ""
    return f" (worst towards the {worst} point of the outline)"
