"""BuildPlan: what is to be built into an opening, from the table [build] of a room's file.

    [build]
    bays = 3                 # so many equal ones, or their widths: [600, "rest", 600]
    depth = 560              # of the carcasses, front edge to back
    gap = 6                  # left between carcass and building, so that it goes in
    left = 40                # face width wanted of a scribe strip; left out, there is none
    right = 40
    top = 50
    plinth = 100
    heights = "equal"        # or "each": every bay as tall as the ceiling above it lets it be

Lengths in mm, or texts with a unit. docs/survey.md has every key.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from scribe.toml_table import Table

Strip = Literal["left", "right", "top", "plinth"]
STRIPS: tuple[Strip, ...] = get_args(Strip)
Heights = Literal["equal", "each"]

MOST_BAYS = 30
# Common practice, no source: what a compass or a pencil block bridges, how far plaster strays
# between the places where it was measured, the gap a carcass goes in with, a strip's board.
USUAL_REACH = 40.0
USUAL_UNSEEN = 3.0
USUAL_GAP = 6.0
USUAL_THICKNESS = 18.0
USUAL_CLEARANCE = 0.5


@dataclass(frozen=True)
class BuildPlan:
    """bays: width of each carcass in mm, None for those that share what is left.

    depth: of the carcasses. gap: least distance of a carcass from the building at its sides and
    top. faces: strip -> face width wanted where it is narrowest. thickness, clearance: of the
    strips, and what they stand off the building. unseen: mm, how far a surface may stray between
    the places measured. reach: mm, the widest gap that block or compass bridges.
    room_height: mm, the lowest ceiling where boxes are stood up; None: it is that of the opening.
    heights: whether all bays are equally tall.
    """

    bays: tuple[float | None, ...]
    depth: float
    gap: float = USUAL_GAP
    faces: tuple[tuple[Strip, float], ...] = ()
    thickness: float = USUAL_THICKNESS
    clearance: float = USUAL_CLEARANCE
    unseen: float = USUAL_UNSEEN
    reach: float = USUAL_REACH
    room_height: float | None = None
    heights: Heights = "equal"

    def face(self, strip: Strip) -> float | None:
        """The face width wanted of a strip, None when there is none."""
        return dict(self.faces).get(strip)


def read_build(table: Table) -> BuildPlan:
    """The table [build]; refuses keys it doesn't know and values that make no sense."""
    table.allow("bays", "depth", "gap", "thickness", "clearance", "unseen", "reach",
                "room_height", "heights", *STRIPS)  # fmt: skip
    table.need("bays", "write bays = 3, or their widths, such as [600, 'rest']")
    table.need("depth", "write depth = 560: of the carcasses, in mm")

    def length(key: str, usual: float) -> float:
        return table.length(key) if key in table else usual

    each: Heights = table.choice("heights", get_args(Heights)) if "heights" in table else "equal"
    return BuildPlan(
        bays=_bays(table),
        depth=table.length("depth", zero=False),
        gap=length("gap", USUAL_GAP),
        faces=tuple((s, table.length(s, zero=False)) for s in STRIPS if s in table),
        thickness=length("thickness", USUAL_THICKNESS),
        clearance=length("clearance", USUAL_CLEARANCE),
        unseen=length("unseen", USUAL_UNSEEN),
        reach=length("reach", USUAL_REACH),
        room_height=table.length("room_height", zero=False) if "room_height" in table else None,
        heights=each,
    )


def _bays(table: Table) -> tuple[float | None, ...]:
    value = table.values["bays"]
    allowed = f'a whole number from 1 to {MOST_BAYS}, or widths, such as [600, "rest", 600]'
    if isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= MOST_BAYS:
        return (None,) * value
    if not isinstance(value, list) or not 1 <= len(value) <= MOST_BAYS:
        raise table.wrong("bays", allowed)
    widths: list[float | None] = []
    for item in value:
        one = Table(table.path, {"bays": item}, table.lines, table.spot)
        widths.append(None if item == "rest" else one.length("bays", zero=False))
    return tuple(widths)
