"""The workshop's part of a room's report: angles, cut list with its diagrams, stiffness.

Sections of a page, without the page: whoever writes the page sets them between its own. They
use its colours (--soft, --page, --accent) and its classes words, turn, call and small.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scribe.cutting import CuttingPlan, Part
from scribe.materials import MATERIALS
from scribe.member import Range, Sagging
from scribe.output.html import fill
from scribe.output.opening.cut_list import HEADINGS, cut_list_rows
from scribe.output.opening.cutting_diagram import cutting_diagram
from scribe.quantity import format_mm

VERDICTS = {
    "holds": "stays within it",
    "doubtful": "may sag beyond it",
    "sags": "sags beyond it",
}
CURE_LIPPING = "a softwood C24 lipping 20 mm thick"


@dataclass(frozen=True)
class EndRow:
    """A sawn end as it is read: angles with their U, which corner is long, whether it is
    beyond the saw.
    """

    name: str
    mitre: str
    bevel: str
    sense: str
    beyond: bool = False


@dataclass(frozen=True)
class MouldingRow:
    """How a moulding is sawn in a corner, as it is read. flat, hung: whether the saw makes it lying
    flat, and held as it will hang.
    """

    name: str
    corner: str
    mitre: str
    bevel: str
    longer: str
    held: str
    flat: bool
    hung: bool


def workshop_section(
    ends: Sequence[EndRow],
    beyond: Mapping[str, Sequence[str]],
    standing: str,
    thickness: float,
    kerf: float,
    parts: Sequence[Part],
    plans: Sequence[CuttingPlan],
    planks: Sequence[str],
    sags: Sequence[Sagging],
    mouldings: Sequence[MouldingRow] = (),
) -> str:
    """The sections as HTML; those that have nothing to say are left out.

    beyond: what to do beyond the saw's limits, and the names of the ends it concerns. standing:
    how a board is stood on its end, where one is. planks: sentences.
    """
    return fill(
        "workshop.html",
        ends=ends,
        beyond=beyond,
        standing=standing,
        thickness=format_mm(thickness),
        kerf=format_mm(kerf),
        headings=HEADINGS,
        rows=cut_list_rows(parts),
        plans=[_plan(f"{n}", plan, parts) for n, plan in enumerate(plans)],
        planks=planks,
        members=[_member(sag) for sag in sags],
        sources=sources(sags),
        mouldings=mouldings,
    )


def cure_words(sag: Sagging) -> str:
    """What would keep a member within its limit, whatever of its material's range is bought."""
    member = sag.member
    if sag.verdict == "holds":
        return ""
    strip = CURE_LIPPING
    if member.lipping is not None:
        strip = f"the {member.lipping.material} lipping"
    ways = []
    if sag.thickness is not None:
        ways.append(f"a thickness of {format_mm(sag.thickness, 0)} mm")
    if sag.lipping is not None:
        ways.append(f"{strip} {format_mm(sag.lipping, 0)} mm high along its front")
    if sag.bay_length is not None:
        ways.append(f"bays of at most {format_mm(sag.bay_length, 0)} mm")
    if not ways:
        return (
            "Neither a thicker board, nor a lipping, nor shorter bays within reason keep it there."
        )
    return f"To keep it there, whatever {member.material} is bought: {', or '.join(ways)}."


def range_words(value: Range) -> str:
    """The typical value and its range, mm."""
    least, typical, most = (format_mm(e, 1) for e in (value.least, value.typical, value.most))
    return typical if least == most else f"{typical} ({least} to {most})"


def sources(sags: Sequence[Sagging]) -> list[str]:
    """Where the materials' values come from, each once."""
    names = [
        name
        for sag in sags
        for name in (sag.member.material, *([sag.member.lipping.material] if sag.member.lipping
                                            else []))
    ]  # fmt: skip
    return [
        f"{name}: E {format_mm(m.typical, 0)} N/mm2 ({format_mm(m.low, 0)} to "
        f"{format_mm(m.high, 0)}), creep {m.creep:g}. {m.source[:1].upper()}{m.source[1:]}."
        for name in dict.fromkeys(names)
        for m in (MATERIALS[name],)
    ]


def load_words(sag: Sagging) -> str:
    """What a member is and what lies on it."""
    member = sag.member
    bays = " + ".join(format_mm(bay) for bay in member.bays)
    loads = [f"{format_mm(member.per_metre)} kg/m"] if member.per_metre else []
    loads += [f"{format_mm(member.middle)} kg in the middle"] if member.middle else []
    size = f"{format_mm(member.depth)} x {format_mm(member.thickness)}"
    strip = member.lipping
    with_strip = (
        f" with a {strip.material} lipping {format_mm(strip.breadth)} x {format_mm(strip.height)}"
        if strip
        else ""
    )
    return (
        f"{member.material} {size}{with_strip}, spans {bays}, {member.ends}, "
        f"{' and '.join(loads) or 'its own weight'}"
    )


def _member(sag: Sagging) -> dict[str, str]:
    return {
        "name": sag.member.name,
        "what": load_words(sag),
        "first": range_words(sag.first),
        "lasting": range_words(sag.lasting),
        "allowed": f"{format_mm(sag.allowed, 1)} (1/{format_mm(sag.member.limit, 0)})",
        "verdict": VERDICTS[sag.verdict],
        "cures": cure_words(sag),
    }


def _plan(key: str, plan: CuttingPlan, parts: Sequence[Part]) -> dict[str, object]:
    board = all(layout.width == 0.0 for layout in plan.layouts)
    what = "board" if board else "sheet"
    layouts = []
    for number, layout in enumerate(plan.layouts):
        size = format_mm(layout.length) + ("" if board else f" x {format_mm(layout.width)}")
        title = f"{layout.times} x {what} of {size} mm"
        drawn = cutting_diagram(layout, parts, title, f"{key}-{number}")
        layouts.append({"title": title, "svg": drawn})
    return {
        "stock": plan.stock,
        "used": f"{plan.used} {what}{'' if plan.used == 1 else 's'}",
        "proof": plan.proof,
        "layouts": layouts,
    }
