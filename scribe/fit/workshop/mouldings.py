"""Mouldings that lean between wall and ceiling, mitred in a corner.

A cornice stands at its spring angle S: so far its back leans from the wall. With the wall's normal
w into the room and u upwards, its back and face are planes with the normal n = w cos S - u sin S,
and two mouldings of one corner meet in the plumb plane that halves it. Lying flat, face up, the
moulding is a board like any other, and the rule of `scribe.geom.compound` comes to a closed form, C
being the corner between the walls as it is in the room:

    tan M = sin S / tan (C / 2),    sin B = cos S |cos (C / 2)|

Held as it will hang, its two back edges against fence and table, the same cut is a mitre of
90 - C / 2 with the blade upright. The ceiling is taken as level: under a slope a moulding that
follows it meets the next one in no plane that both halves share.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import numpy as np
import numpy.typing as npt

from scribe.fit.workshop.sawn_ends import corner_deg
from scribe.opening import Opening, Side
from scribe.saw import Moulding, MouldingEnd

Array = npt.NDArray[np.float64]

_STEP_DEG = 0.01  # over which a setting's slope is taken
_SIDES: tuple[Side, ...] = ("left", "right")


def moulding_ends(opening: Opening, mouldings: Sequence[Moulding]) -> tuple[MouldingEnd, ...]:
    """Every moulding in its own corner; one without a corner in both of the opening's."""
    corners = [opening.size(partial(corner_deg, side=side)) for side in _SIDES]
    room = [
        (f"{side} wall and back", corner.value, corner.u)
        for side, corner in zip(_SIDES, corners, strict=True)
    ]
    found = []
    for each in mouldings:
        own = [] if each.corner_deg is None else [("", each.corner_deg, each.corner_u_deg)]
        for where, corner, u in own or room:
            name = f"{each.name}, {where}" if where else each.name
            found.append(_end(name, each, corner, u))
    return tuple(found)


def _end(name: str, moulding: Moulding, corner: float, corner_u: float) -> MouldingEnd:
    """Settings and their uncertainty (JCGM 100, 5.1.2, with differences for the sensitivities)."""
    spring, h = moulding.spring_deg, _STEP_DEG
    setting = lying_flat(spring, corner)
    by_spring = (lying_flat(spring + h, corner) - lying_flat(spring - h, corner)) / (2.0 * h)
    by_corner = (lying_flat(spring, corner + h) - lying_flat(spring, corner - h)) / (2.0 * h)
    u = np.hypot(by_spring * moulding.spring_u_deg, by_corner * corner_u)
    return MouldingEnd(
        name=name,
        corner_deg=corner,
        corner_u_deg=corner_u,
        mitre_deg=abs(float(setting[0])),
        bevel_deg=abs(float(setting[1])),
        mitre_u_deg=float(u[0]),
        bevel_u_deg=float(u[1]),
        hung_deg=abs(90.0 - corner / 2.0),
        hung_u_deg=corner_u / 2.0,
        inside=corner < 180.0,
    )


def lying_flat(spring: float, corner: float) -> Array:
    """(2,) mitre and bevel, degrees, of the moulding that runs into a corner along +x, the room on
    its left. spring, corner: degrees. Mitre above 0: its ceiling's edge is the longer one; bevel
    above 0: its back is.

    >>> lying_flat(38.0, 90.0).round(1).tolist()
    [-31.6, 33.9]
    """
    s, half = np.radians(spring), np.radians(corner) / 2.0
    return np.degrees([-np.arctan(np.sin(s) / np.tan(half)), np.arcsin(np.cos(s) * np.cos(half))])
