"""RoomSurvey: what a fitter measured in a room, as taken; nothing here is adjusted or rounded.

Heights are above the floor below the spot, depths from the front plane, distances from the left
or right wall along the floor, all in mm. `scribe.opening` has the frame; `scribe.fit` solves it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import hypot
from pathlib import Path
from typing import Literal, get_args

from scribe.opening import Along, Plane, Side
from scribe.standards import TAPE_CLASS_II_MM

Instrument = Literal["tape", "laser", "rule", "level", "plumb bob"]
LENGTH_TOOLS: tuple[Instrument, ...] = ("tape", "laser", "rule")
Deep = float | Literal["back"]  # mm from the front plane, or at the back wall
Wall = Literal["left", "right", "back"]
WALLS: tuple[Wall, ...] = get_args(Wall)
Surface = Literal["left", "right", "back", "floor", "ceiling"]
SURFACES: tuple[Surface, ...] = get_args(Surface)

# Half widths of rectangles, mm (our estimates, no source): each end of a tape is judged to half a
# millimetre, and inside a room its case or its bend in the corner adds one.
_END_HALF_MM = 0.5
_INSIDE_HALF_MM = 1.0
_ROOT3 = 3.0**0.5


@dataclass(frozen=True)
class Instruments:
    """U (k = 2) of one reading with each instrument, mm; a level's in mm on a metre.

    tape: None for an ordinary tape of class II (2014/32/EU, annex X). The others are usual values
    of instruments in order (our estimates, no source).
    """

    tape: float | None = None
    laser: float = 3.0
    rule: float = 1.0
    level: float = 1.0
    plumb: float = 1.5

    def u_of(self, by: Instrument, length: float) -> float:
        """Standard uncertainty of one reading, mm; length: what a tape or a level spans.

        What a tape's own scale adds to all its readings alike is not in it: `tape_scale`.
        """
        if by == "level":
            return hypot(self.level * length / 1000.0, self.rule) / 2.0
        if by != "tape" or self.tape is not None:
            stated = {"tape": self.tape, "laser": self.laser, "rule": self.rule}
            return (stated.get(by) or self.plumb) / 2.0
        fixed, _ = TAPE_CLASS_II_MM
        return hypot(fixed, _END_HALF_MM, _END_HALF_MM, _INSIDE_HALF_MM) / _ROOT3

    @property
    def tape_scale(self) -> float:
        """Standard uncertainty of a tape's own scale, mm per mm; 0 where its U was stated."""
        return 0.0 if self.tape is not None else TAPE_CLASS_II_MM[1] / 1000.0 / _ROOT3


@dataclass(frozen=True)
class Walls:
    """How walls, floor and ceiling stray from smooth surfaces, as U (k = 2) in mm.

    uneven: of one spot that a tape meets. bow: of a side wall's bow over its height, where no
    reading tells. Usual for plaster in a house (our estimates, no source).
    """

    uneven: float = 2.0
    bow: float = 5.0


@dataclass(frozen=True)
class Corner:
    """Where a side wall meets floor or ceiling, in the front plane or at the back wall."""

    end: Literal["bottom", "top"]
    side: Side
    plane: Plane

    def __str__(self) -> str:
        return f"{self.end} {self.side} {self.plane}"


@dataclass(frozen=True)
class Spot:
    """A point that a tape reaches where a skirting or a cornice fills the corner.

    height: above the floor, on a wall. from_left: along the floor, on all but side walls. depth:
    from the front, on all but the back wall.
    """

    on: Surface
    height: float = 0.0
    from_left: float = 0.0
    depth: Deep = 0.0


@dataclass(frozen=True)
class Taken:
    """One reading. name: as a fitter calls it ("diagonal 2"). reads: mm, as typed.

    where: file, line and key. U: mm, k = 2, stated for this reading, else None. by: instrument.
    """

    name: str
    where: str
    reads: float
    U: float | None
    by: Instrument


@dataclass(frozen=True)
class WidthTaken(Taken):
    """Level, from side wall to side wall."""

    height: float
    depth: Deep


@dataclass(frozen=True)
class HeightTaken(Taken):
    """Plumb, from floor to ceiling; distance: mm from that side wall, along the floor."""

    side: Side
    distance: float
    depth: Deep


@dataclass(frozen=True)
class DepthTaken(Taken):
    """Level and square to the front plane, from it to the back wall."""

    side: Side
    distance: float
    height: float


@dataclass(frozen=True)
class DiagonalTaken(Taken):
    """Straight from corner or spot to corner or spot."""

    start: Corner | Spot
    end: Corner | Spot


@dataclass(frozen=True)
class LeanTaken(Taken):
    """Gap under a level held plumb against a wall, from height `low` over `over` mm.

    reads: positive where the top leans into the opening. at: the spot's depth (side walls), or
    its distance from the left wall (back wall).
    """

    wall: Wall
    at: Deep
    low: float
    over: float


@dataclass(frozen=True)
class PlumbTaken(Taken):
    """Distance from a plumb line to a wall at one height; all of one line share its number.

    at: as in LeanTaken.
    """

    line: int
    wall: Wall
    at: Deep
    height: float


@dataclass(frozen=True)
class SlopeTaken(Taken):
    """Gap under a level held to floor or ceiling; reads: positive where it rises along x or z.

    start: mm from the left wall, or from the front, where the level begins; at: the other one.
    """

    surface: Literal["floor", "ceiling"]
    along: Along
    start: float
    over: float
    at: Deep


@dataclass(frozen=True)
class BreakTaken(Taken):
    """Where the ceiling's line breaks: mm from the left wall, or from the front plane."""

    along: Along


@dataclass(frozen=True)
class Moulding:
    """A skirting or a cornice. tall: up the wall; out: into the room. U: mm, k = 2, of both."""

    kind: Literal["skirting", "cornice"]
    walls: tuple[Wall, ...]
    tall: float
    out: float
    U: float


@dataclass(frozen=True)
class Obstacle:
    """A socket, pipe, vent or beam. Its nearest edges and its size; U: mm, k = 2, of all of them.

    along: mm from the left wall (back, floor, ceiling), or from the front (side walls).
    across: mm above the floor (walls), or from the front (floor, ceiling).
    size: (wide, tall) in the same directions. out: how far it stands out, None for all the way.
    """

    name: str
    on: Surface
    along: float
    across: float
    size: tuple[float, float]
    out: float | None
    U: float


@dataclass(frozen=True)
class RoomSurvey:
    """All that was taken in one room.

    slopes: the direction in which the ceiling is known to slope or break, None for a ceiling that
    is about level. readings: in the order of the file.
    """

    name: str
    path: Path
    readings: tuple[Taken, ...]
    slopes: Along | None = None
    instruments: Instruments = field(default_factory=Instruments)
    walls: Walls = field(default_factory=Walls)
    mouldings: tuple[Moulding, ...] = ()
    obstacles: tuple[Obstacle, ...] = ()
