"""The job file that a room's sizes make: blanks and edges filled in, the photos still to come.

Every strip lies with its wall edge at the top (the plinth's at the bottom), as its photos show
the building above. Stations run along the top from the left: from the floor up on a left wall,
from the ceiling down on a right one, from the right on a floor.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scribe.build_plan import BuildPlan, Strip
from scribe.quantity import format_mm
from scribe.sizes import StripSize

BEYOND_MM = 150.0  # what a line may lack at an end of the blank


@dataclass(frozen=True)
class _Lies:
    """How a strip lies on its blank. building: what it meets. turned: stations run the other
    way than the survey counts (from the floor, or from the left).
    """

    building: str
    edge: str
    up: str
    end: str
    turned: bool


_LIES: dict[Strip, _Lies] = {
    "left": _Lies("left wall", "top", "right", "floor", False),
    "right": _Lies("right wall", "top", "left", "ceiling", True),
    "top": _Lies("ceiling", "top", "top", "left", False),
    "plinth": _Lies("floor", "bottom", "top", "right", True),
}


def photo_folder(size: StripSize) -> str:
    """The folder into which a strip's photos go."""
    number = size.name.removeprefix(f"{size.strip} strip") if size.strip == "top" else ""
    return (_LIES[size.strip].building + number).replace(" ", "-")


def job_toml(name: str, plan: BuildPlan, strips: Sequence[StripSize]) -> str:
    """The whole file. name: of the job."""
    parts = [
        "# Made from the room's readings. Put the photos of each line into its folder, then:",
        "#   scribe make job.toml -o made",
        "# Photos know a wall's shape; what is plumb and how wide a strip gets, the survey knows:",
        "# lean and distance, with their U. A tape between the carcass, once it stands, and the",
        "# wall at station 0 knows the distance better: then put that in, with its own U.",
        f"name = {_text(name)}",
        *(_outline(size) for size in strips),
        *(_piece(size, plan) for size in strips),
    ]
    return "\n".join(parts) + "\n"


def _outline(size: StripSize) -> str:
    lies = _LIES[size.strip]
    return f"""
# The {lies.building}, drawn on a board beside strips: the building lies above, and stations
# begin at the {lies.end} end.
[outline.{photo_folder(size)}]
photo = {_text(photo_folder(size) + "/*")}
of = "line"
height = 0
datum = "least squares"
end = {_text(lies.end)}"""


def _piece(size: StripSize, plan: BuildPlan) -> str:
    lies = _LIES[size.strip]
    lean, distance = size.lean, size.start.value
    if lies.turned:
        distance += lean.value * size.length / 1000.0
    return f"""
[[piece]]
name = {_text(size.name)}
blank = {{ length = {format_mm(size.length)}, width = {format_mm(size.buy)}, \
thickness = {format_mm(plan.thickness)} }}
up = {_text(lies.up)}

[[piece.edge]]
outline = {_text(photo_folder(size))}
edge = {_text(lies.edge)}
clearance = {format_mm(plan.clearance, 2)}
distance = {format_mm(distance, 2)}
distance_U = {format_mm(_distance_U(size, turned=lies.turned), 2)}
lean = {format_mm(-lean.value if lies.turned else lean.value, 3)}
lean_U = {format_mm(lean.U + 0.0005, 3)}
beyond = {format_mm(BEYOND_MM)}"""


def _distance_U(size: StripSize, *, turned: bool) -> float:
    """Of the distance at station 0, with what nobody measured; never less than it was."""
    far = size.lean.U * size.length / 1000.0 if turned else 0.0
    return float((size.start.U**2 + far**2 + size.unseen**2) ** 0.5) + 0.005


def _text(words: str) -> str:
    return '"' + words.replace("\\", "\\\\").replace('"', '\\"') + '"'
