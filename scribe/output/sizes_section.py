"""The sizes' part of a room's report: sections of HTML, set between its own by the page."""

from __future__ import annotations

from pathlib import Path

from scribe.build_plan import BuildPlan
from scribe.opening import Opening
from scribe.output.opening_views import elevation, isometric
from scribe.output.size_words import carcass_row, opening_rows, strip_row, warnings
from scribe.quantity import format_mm
from scribe.sizes import Built, OpeningSizes


def sizes_section(room: Opening, sizes: OpeningSizes, plan: BuildPlan, built: Built) -> str:
    """Sizes, views, carcasses and strips."""
    from jinja2 import Environment, FileSystemLoader

    environment = Environment(
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("sizes.html").render(
        rows=opening_rows(sizes),
        warnings=warnings(built, plan),
        elevation=elevation(room, built),
        isometric=isometric(room, built),
        carcasses=[carcass_row(each) for each in built.carcasses],
        strips=[strip_row(each) for each in built.strips],
        unseen=format_mm(plan.unseen),
    )
