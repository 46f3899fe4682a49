"""What the sizes of a room say, in sentences: for the terminal, the report and the wall sheet."""

from __future__ import annotations

from scribe.build_plan import BuildPlan
from scribe.opening import Size
from scribe.quantity import format_mm, format_u, round_down_mm, round_up_mm
from scribe.sizes import Box, Built, Carcass, OpeningSizes, StandUp, StripSize


def opening_rows(sizes: OpeningSizes) -> list[tuple[str, str]]:
    """Name and words of everything the opening lets in."""
    rows = [(each.name, f"{said(each.size)}, {each.where}") for each in sizes.extremes]
    rows.append(("shallowest", said(sizes.depth)))
    rows.append(("largest level and plumb rectangle", box_words(sizes.rectangle)))
    if sizes.box is None:
        rows.append(("largest box that stands up", "none of this depth"))
    elif sizes.box is not sizes.rectangle:
        rows.append(("largest box that stands up", box_words(sizes.box)))
    rows.append(("a box as large as the rectangle", stand_words(sizes.standing)))
    return rows


def box_words(box: Box) -> str:
    """Width by height, and how deep."""
    return f"{said(box.width)} wide, {said(box.height)} tall, {format_mm(box.depth)} mm deep"


def stand_words(standing: StandUp) -> str:
    """How it is tipped up, where that is tight, and what is to spare."""
    way = {
        "back": "tipped up off its back",
        "side": "tipped up off its side, lying along the wall",
    }[standing.way]
    needs = (
        f"needs {format_mm(round_up_mm(standing.diagonal, 1.0))} mm under a ceiling of "
        f"{format_mm(standing.ceiling, 0)} mm, {format_mm(standing.at, 0)} mm from the left wall"
    )
    if standing.goes:
        return f"{way}, it {needs}: {said(standing.spare)} to spare"
    if standing.spare.value >= 0.0:
        return f"{way}, it {needs}: {said(standing.spare)} to spare, less than U: too tight"
    short = Size(-standing.spare.value, standing.spare.u)
    return (
        f"does not stand up: {way}, it {needs}, {said(short)} too little; of this depth or width "
        f"{format_mm(round_down_mm(standing.tallest, 1.0))} mm tall would just go"
    )


def carcass_row(carcass: Carcass) -> tuple[str, str, str]:
    """Name, width x height x depth, and how it stands up."""
    sizes = (carcass.width, carcass.height, carcass.depth)
    return carcass.name, " x ".join(map(format_mm, sizes)), stand_words(carcass.standing)


def strip_row(strip: StripSize) -> tuple[str, str, str, str]:
    """Name, blank to buy, its face at both extremes, and its allowance."""
    face = f"{said(strip.narrowest)} to {said(strip.widest)}"
    return (
        strip.name,
        f"{format_mm(strip.length)} x {format_mm(strip.buy)}",
        face,
        format_mm(strip.allowance),
    )


def warnings(built: Built, plan: BuildPlan) -> list[str]:
    """What to look out for, the reach of compass and block among it."""
    far = [strip for strip in built.strips if strip.beyond_reach]
    if not far:
        return list(built.notes)
    spread = max(strip.spread + strip.widest.U + strip.unseen for strip in far)
    words = (
        f"{', '.join(strip.name for strip in far)}: the gap to scribe varies by up to "
        f"{format_mm(spread)} mm, beyond the {format_mm(plan.reach)} mm that block or compass "
        "reaches. Trace it from photos."
    )
    return [*built.notes, words]


def said(size: Size) -> str:
    """A length with its U."""
    return format_u(size.value, size.U)
