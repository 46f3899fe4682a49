"""Saw and end: what a fitter's saw can be set to, and the angles of one sawn end.

Angles are degrees here, as they are read off a saw: mitre from square across the board, bevel
from square to the face. Signs as in `scribe.geom.compound`.
"""

from __future__ import annotations

from dataclasses import dataclass

from scribe.tools import SAW_TILT_DEG

# How far the table of a mitre saw turns, usually (common practice, no source).
SAW_MITRE_DEG = 50.0
# Width of the cut of a hand-held or small table saw, mm (common practice, no source).
USUAL_KERF = 2.4


@dataclass(frozen=True)
class Saw:
    """kerf: mm. tilt_deg: how far the blade tilts. mitre_deg: how far the cut turns."""

    kerf: float = USUAL_KERF
    tilt_deg: float = SAW_TILT_DEG
    mitre_deg: float = SAW_MITRE_DEG


@dataclass(frozen=True)
class SawnEnd:
    """One sawn end. Degrees with their standard uncertainties; thickness: mm of the board.

    mitre_deg > 0: the cut reaches further on the left, seen from the face, looking towards
    the cut. bevel_deg > 0: the back is longer than the face.
    """

    name: str
    mitre_deg: float
    bevel_deg: float
    thickness: float
    mitre_u_deg: float = 0.0
    bevel_u_deg: float = 0.0
    alike: bool = False


@dataclass(frozen=True)
class Moulding:
    """A moulding that leans between wall and ceiling. Degrees with their standard uncertainties.

    spring_deg: how far its back leans from the wall. corner_deg: between the walls of the corner it
    is mitred in, as it is in the room: less than 180 in a corner of the room, more round a breast;
    None for those of the opening.
    """

    name: str
    spring_deg: float
    spring_u_deg: float
    corner_deg: float | None = None
    corner_u_deg: float = 0.0


@dataclass(frozen=True)
class MouldingEnd:
    """How two mouldings are sawn that meet in a corner; degrees with standard uncertainties.

    mitre_deg, bevel_deg: lying flat on its back. hung_deg: the mitre with the blade upright when it
    is held as it will hang. inside: a corner of the room, in which the wall's edge is the longer.
    """

    name: str
    corner_deg: float
    corner_u_deg: float
    mitre_deg: float
    bevel_deg: float
    mitre_u_deg: float
    bevel_u_deg: float
    hung_deg: float
    hung_u_deg: float
    inside: bool

    @property
    def longer(self) -> str:
        """Which edge and which side reach further on both mouldings of the corner."""
        return "the wall's edge and the back" if self.inside else "the ceiling's edge and the face"


@dataclass(frozen=True)
class WayToCut:
    """How the saw makes a end.

    tilt_deg: what the blade is set to with the board flat, at most the saw's own.
    stand_deg: None when that makes the whole bevel, to a shaving; else what the blade is set to
    with the board standing against a tall fence on its end, which was first sawn square along
    the mitre. reach: mm of blade that the standing cut needs. wedge: mm that are left to plane
    at the thick end of the wedge, square to the cut on the face, when it is sawn flat; wedge_u:
    of that. by_hand: the mitre is beyond the saw's table, to be sawn along a straight edge.
    """

    tilt_deg: float
    stand_deg: float | None
    reach: float
    wedge: float
    wedge_u: float
    by_hand: bool
