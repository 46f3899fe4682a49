"""Member: a shelf, box bottom or rail that bears a load over one bay or several, and its sag."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

Ends = Literal["supported", "clamped"]
ENDS: tuple[Ends, ...] = get_args(Ends)
Place = Literal["front", "under"]
PLACES: tuple[Place, ...] = get_args(Place)

# A shelf that sags by less than its span over this looks straight (common practice, no source).
USUAL_LIMIT = 200.0


@dataclass(frozen=True)
class Lipping:
    """A strip glued along the member. breadth across, height upright, mm.

    place: "front" of the board with its top flush, or "under" it. material: of MATERIALS.
    """

    material: str
    breadth: float
    height: float
    place: Place = "front"


@dataclass(frozen=True)
class Member:
    """bays: clear spans, mm. depth: across the span; thickness: upright; mm.

    per_metre: kg on each metre of it. middle: kg at the middle of a bay. limit: the largest sag
    allowed is the bay over this. ends: "clamped" only where they truly can't turn.
    """

    name: str
    bays: tuple[float, ...]
    depth: float
    thickness: float
    material: str
    per_metre: float = 0.0
    middle: float = 0.0
    ends: Ends = "supported"
    lipping: Lipping | None = None
    limit: float = USUAL_LIMIT


@dataclass(frozen=True)
class Range:
    """mm for the stiffest, the typical and the softest material of that name."""

    least: float
    typical: float
    most: float


@dataclass(frozen=True)
class Sagging:
    """first: when loaded. lasting: after years under the load. allowed: mm.

    bay: number of the bay that sags most, from 1. shear: share of `first` that is shear.
    thickness, lipping, bay_length: mm that would keep the softest material within the limit:
    a thicker board, a lipping of so much height (see `fit.stiffness`), bays of at most so much;
    None where that cures nothing within reason.
    """

    member: Member
    first: Range
    lasting: Range
    allowed: float
    bay: int
    shear: float
    thickness: float | None
    lipping: float | None
    bay_length: float | None

    @property
    def verdict(self) -> Literal["holds", "doubtful", "sags"]:
        """Whether the lasting sag stays within what is allowed over the material's range."""
        if self.lasting.most <= self.allowed:
            return "holds"
        return "doubtful" if self.lasting.typical <= self.allowed else "sags"
