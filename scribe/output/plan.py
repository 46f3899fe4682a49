"""How a drawing is laid out on sheets of paper, in full size."""

from __future__ import annotations

from scribe.errors import ScribeError
from scribe.job import PrintSettings
from scribe.output.drawing import Drawing
from scribe.output.grid import grid_plan, shown
from scribe.output.joints import with_marks
from scribe.output.sheets import FOOT_MM, SheetPlan
from scribe.output.vital import all_points
from scribe.standards import TEMPLATE_PAPER_MM


def plan_sheets(drawing: Drawing, settings: PrintSettings) -> SheetPlan:
    """The layout that takes the fewest sheets; refuses margins that leave no room."""
    short, long = TEMPLATE_PAPER_MM[settings.paper]
    sizes = [
        size
        for size in ((short, long), (long, short))
        if min(size) - 2 * settings.margin - FOOT_MM > 2 * settings.overlap
    ]
    if not sizes:
        raise ScribeError(
            "template-margins",
            what=f"margin {settings.margin:g} mm and overlap {settings.overlap:g} mm leave no room"
            f" on {settings.paper}",
            where=drawing.name,
            do="choose a smaller margin or overlap under [print], or a larger paper",
        )
    vital = all_points(drawing)
    grids = [grid_plan(drawing, vital, size, settings.margin, settings.overlap) for size in sizes]
    best = min(grids, key=lambda plan: (len(plan.sheets), -shown(plan, drawing.box())))
    return with_marks(best, drawing)
