"""How a drawing is laid out on sheets of paper, in full size.

Both layouts are worked out: the plain grid, and sheets laid along the cut lines. The one that
takes fewer is used; where they take as many, the grid, whose sheets all lie the same way.
"""

from __future__ import annotations

from scribe.errors import ScribeError
from scribe.job import PrintSettings
from scribe.output.along import along_plan
from scribe.output.drawing import Drawing
from scribe.output.grid import grid_plan, shown
from scribe.output.joints import with_marks
from scribe.output.sheets import FOOT_MM, SheetPlan
from scribe.output.vital import all_points
from scribe.standards import TEMPLATE_PAPER_MM


def plan_sheets(drawing: Drawing, settings: PrintSettings) -> SheetPlan:
    """The layout that takes the fewest sheets; refuses margins that leave no room."""
    short, long = TEMPLATE_PAPER_MM[settings.paper]
    margin, overlap = settings.margin, settings.overlap
    sizes = [
        size
        for size in ((short, long), (long, short))
        if min(size) - 2 * margin - FOOT_MM > 2 * overlap
    ]
    if not sizes:
        raise ScribeError(
            "template-margins",
            what=f"margin {margin:g} mm and overlap {overlap:g} mm leave no room"
            f" on {settings.paper}",
            where=drawing.name,
            do="choose a smaller margin or overlap under [print], or a larger paper",
        )
    vital = all_points(drawing)
    grids = [grid_plan(drawing, vital, size, margin, overlap) for size in sizes]
    grid = min(grids, key=lambda plan: (len(plan.sheets), -shown(plan, drawing.box())))
    if len(grid.sheets) > 1:
        along = along_plan(drawing, sizes, margin, overlap, len(grid.sheets))
        if along is not None and along.saved > 0:
            return with_marks(along, drawing)
    return with_marks(grid, drawing)
