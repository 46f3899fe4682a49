"""How far a shelf, box bottom or rail sags, over the range of its material, and what cures it.

Beam theory with bending and shear (`scribe.geom.beam`), the section transformed where a
lipping is glued on (`scribe.geom.section`), the member's own weight, and every combination of
loaded bays, of which the worst counts. Lasting load: each part's modulus is divided by
1 + creep, so that a steel flat takes over what the wood lets go (EN 1995-1-1, 2.2.3, from
memory). The published moduli of wood come from bending tests that hold about a tenth of
shear, so counting shear again errs on the soft side.

Not seen: a board that bends across its depth behind a stiff lipping, joints that slip, damp.
Not structural advice.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import product

from scribe.errors import ScribeError
from scribe.geom.beam import Load, Sag, largest_sag
from scribe.geom.section import Part, bending_stiffness
from scribe.materials import MATERIALS
from scribe.member import Lipping, Member, Range, Sagging
from scribe.standards import STANDARD_GRAVITY

_SHEAR_FACTOR = 5.0 / 6.0  # of a rectangle (Reissner; handbooks)
MOST_BAYS = 6
# What a cure may ask for: whole mm up to these.
_THICKEST, _HIGHEST, _SHORTEST = 80, 150, 100
CURE_MATERIAL, CURE_BREADTH = "softwood C24", 20.0


def sagging(member: Member) -> Sagging:
    """The member's sag now and after years, and what would keep it within its limit."""
    if len(member.bays) > MOST_BAYS:
        raise ScribeError(
            "member-bays",
            what=f"{len(member.bays)} bays are more than can be combined",
            where=member.name,
            do=f"give up to {MOST_BAYS}: further ones change nothing",
        )
    softest = _worst(member, "low", lasting=True)
    allowed = _allowed(member, softest)
    typical = _worst(member, "typical", lasting=False)
    stiff = _worst(member, "typical", lasting=False, shear=False)
    holds = softest.deflection <= allowed
    return Sagging(
        member=member,
        first=_range(member, lasting=False),
        lasting=_range(member, lasting=True),
        allowed=allowed,
        bay=softest.span + 1,
        shear=1.0 - stiff.deflection / typical.deflection if typical.deflection else 0.0,
        thickness=None if holds else _least(lambda t: replace(member, thickness=t),
                                            math.ceil(member.thickness), _THICKEST),
        lipping=None if holds else _least(lambda h: replace(member, lipping=_taller(member, h)),
                                          math.ceil(member.thickness), _HIGHEST),
        bay_length=None if holds else _longest(member),
    )  # fmt: skip


def _range(member: Member, *, lasting: bool) -> Range:
    least, typical, most = (
        _worst(member, which, lasting=lasting).deflection for which in ("high", "typical", "low")
    )
    return Range(least, typical, most)


def _worst(member: Member, which: str, *, lasting: bool, shear: bool = True) -> Sag:
    """The deepest sag of all combinations of loaded bays."""
    parts = _parts(member, which, lasting=lasting)
    ga = math.inf
    if shear:
        ga = sum(
            _SHEAR_FACTOR * part.modulus / MATERIALS[name].shear * part.breadth * part.height
            for name, part in zip(_materials(member), parts, strict=True)
        )
    own = _own_weight(member)
    full = Load(
        own + member.per_metre / 1000.0 * STANDARD_GRAVITY, member.middle * STANDARD_GRAVITY
    )
    cases = product((full, Load(own)), repeat=len(member.bays))
    ei = bending_stiffness(parts)
    sags = [largest_sag(member.bays, case, ei, ga, member.ends) for case in cases]
    return max(sags, key=lambda sag: sag.deflection)


def _parts(member: Member, which: str, *, lasting: bool) -> list[Part]:
    """The section, heights counted from the board's underside; the board first."""

    def modulus(name: str) -> float:
        material = MATERIALS[name]
        value = {"low": material.low, "typical": material.typical, "high": material.high}[which]
        return value / (1.0 + material.creep) if lasting else value

    t = member.thickness
    parts = [Part(member.depth, t, t / 2, modulus(member.material))]
    strip = member.lipping
    if strip is not None:
        middle = t - strip.height / 2 if strip.place == "front" else -strip.height / 2
        parts.append(Part(strip.breadth, strip.height, middle, modulus(strip.material)))
    return parts


def _materials(member: Member) -> list[str]:
    return [member.material, *([member.lipping.material] if member.lipping else [])]


def _own_weight(member: Member) -> float:
    """N per mm of the member and its lipping."""
    area = MATERIALS[member.material].density * member.depth * member.thickness
    if member.lipping is not None:
        strip = member.lipping
        area += MATERIALS[strip.material].density * strip.breadth * strip.height
    return area * 1e-9 * STANDARD_GRAVITY


def _allowed(member: Member, worst: Sag) -> float:
    return member.bays[worst.span] / member.limit


def _keeps(member: Member) -> bool:
    worst = _worst(member, "low", lasting=True)
    return worst.deflection <= _allowed(member, worst)


def _taller(member: Member, height: float) -> Lipping:
    """The member's own lipping at another height, or a usual one."""
    own = member.lipping
    return replace(own, height=height) if own else Lipping(CURE_MATERIAL, CURE_BREADTH, height)


def _least(changed: Callable[[float], Member], first: int, last: int) -> float | None:
    """The smallest whole mm from first to last at which the changed member keeps its limit."""
    low, high = first, last
    if not _keeps(changed(float(high))):
        return None
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if _keeps(changed(float(middle))) else (middle + 1, high)
    return float(low)


def _longest(member: Member) -> float | None:
    """The longest bay, whole mm, when all bays shrink alike."""
    longest = max(member.bays)

    def shrunk(length: float) -> Member:
        return replace(member, bays=tuple(bay * length / longest for bay in member.bays))

    short = _least(lambda less: shrunk(longest - less), 0, max(0, math.ceil(longest) - _SHORTEST))
    return None if short is None else math.floor(longest - short)
