"""The sizes' part of a room's report: sections of HTML, set between its own by the page."""

from __future__ import annotations

from scribe.build_plan import BuildPlan
from scribe.opening import Opening
from scribe.output.html import fill
from scribe.output.opening.opening_views import elevation, isometric
from scribe.output.opening.size_words import carcass_row, opening_rows, strip_row, warnings
from scribe.quantity import format_mm
from scribe.sizes import Built, OpeningSizes


def sizes_section(room: Opening, sizes: OpeningSizes, plan: BuildPlan, built: Built) -> str:
    """Sizes, views, carcasses and strips."""
    return fill(
        "sizes.html",
        rows=opening_rows(sizes),
        warnings=warnings(built, plan),
        elevation=elevation(room, built),
        isometric=isometric(room, built),
        carcasses=[carcass_row(each) for each in built.carcasses],
        strips=[strip_row(each) for each in built.strips],
        unseen=format_mm(plan.unseen),
    )
