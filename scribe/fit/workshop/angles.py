"""How a saw makes an end: what it is set to, and what to do beyond its limits.

A board of thickness t with the bevel B is sawn flat as far as the blade tilts, T; what is left
is a wedge, nothing at one face and t (tan B - tan T) at the other. Or it stands on its end
against a fence, face upright: square across the face is then level, and the blade that tilts
90 - B from upright cuts the same plane, through t / cos B of wood.
"""

from __future__ import annotations

from math import cos, radians, tan

from scribe.quantity import format_mm, format_u
from scribe.saw import Saw, SawnEnd, WayToCut

BEYOND_THE_TILT = (
    "To stand a board: saw its end along the mitre (square, where there is none) with the blade "
    "upright, stand the board on that end with its face against a tall fence, clamped to a "
    "carrier, and set the blade as said. Sawn flat, a wedge is left: as thick as said at one "
    "face, nothing at the other."
)
SHAVING = 0.1  # mm of wedge that a plane's last stroke takes; less needs no other way
_EXACT_DEG = 1e-6  # the rounding of an angle that follows from no reading
_SQUARE_DEG = 0.05  # a setting below this is square on any saw's scale


def way_to_cut(end: SawnEnd, saw: Saw) -> WayToCut:
    """How this saw makes the end.

    >>> way = way_to_cut(SawnEnd("cheek", 0.0, 60.0, 18.0), Saw(tilt_deg=45.0))
    >>> way.stand_deg, round(way.wedge, 2), round(way.reach, 2)
    (30.0, 13.18, 36.0)
    """
    bevel = abs(end.bevel_deg)
    tilt = min(bevel, saw.tilt_deg)
    wedge = _wedge(end, saw, bevel)
    beyond = wedge > SHAVING
    slope = end.thickness / cos(radians(bevel)) ** 2
    return WayToCut(
        tilt_deg=tilt,
        stand_deg=90.0 - bevel if beyond else None,
        reach=end.thickness / cos(radians(bevel)),
        wedge=wedge,
        wedge_u=slope * radians(end.bevel_u_deg) if beyond else 0.0,
        by_hand=abs(end.mitre_deg) > saw.mitre_deg,
    )


def _wedge(end: SawnEnd, saw: Saw, bevel: float) -> float:
    """mm left at the thick side of the wedge, sawn at the saw's tilt for a bevel in degrees."""
    rest = tan(radians(bevel)) - tan(radians(saw.tilt_deg))
    return max(0.0, end.thickness * rest)


def setting_text(value: float, u: float) -> str:
    """An angle with its U, degrees, as 12.3 +/- 0.4; alone where it follows from no reading."""
    return format_u(abs(value), 2.0 * u, "").strip() if u > _EXACT_DEG else format_mm(abs(value), 2)


def sense(end: SawnEnd) -> str:
    """Which corner is the long one, as far as U tells; boards cut alike are mirror images."""
    if end.alike:
        return "mirror images"
    parts = []
    if abs(end.mitre_deg) >= max(_SQUARE_DEG, 2 * end.mitre_u_deg):
        parts.append("left edge" if end.mitre_deg > 0 else "right edge")
    if abs(end.bevel_deg) >= max(_SQUARE_DEG, 2 * end.bevel_u_deg):
        parts.append("back" if end.bevel_deg > 0 else "face")
    return f"longer at the {' and at the '.join(parts)}" if parts else "square, within U"


def cutting_words(end: SawnEnd, saw: Saw) -> list[str]:
    """What to do at the saw, one sentence each; none when the saw just makes it. How a board is
    stood on its end, BEYOND_THE_TILT says once for all.
    """
    way = way_to_cut(end, saw)
    bevel, U = abs(end.bevel_deg), 2 * end.bevel_u_deg
    limit = format_mm(saw.tilt_deg)
    said = []
    if way.by_hand:
        said.append(
            f"The mitre is beyond the saw's {format_mm(saw.mitre_deg)} degrees: draw the line on "
            "the face and saw along a straight edge."
        )
    if bevel - U <= saw.tilt_deg < bevel + U and _wedge(end, saw, bevel + U) > SHAVING:
        said.append(
            f"The bevel is so near the saw's {limit} degrees that U reaches beyond them: measure "
            "the angle again before the board is sawn."
        )
    elif way.stand_deg is not None:
        said.append(
            f"The bevel is beyond the saw's {limit} degrees: stand the board and set the blade to "
            f"{format_mm(way.stand_deg)} degrees (it must reach {format_mm(way.reach, 0)} mm "
            f"through the wood), or saw it flat at {format_mm(way.tilt_deg)} degrees and plane "
            f"off a wedge of {format_u(way.wedge, 2 * way.wedge_u)}."
        )
    return said
