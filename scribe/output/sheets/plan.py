"""How a drawing is laid out on sheets of paper, in full size.

Both layouts are worked out: the plain grid, and sheets laid along the cut lines. The one that
takes fewer is used; where they take as many, the grid, whose sheets all lie the same way.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.geom.frames import turned
from scribe.job import PrintSettings
from scribe.output.piece.drawing import Drawing
from scribe.output.sheets.along import along_plan
from scribe.output.sheets.grid import grid_plan, shown
from scribe.output.sheets.joints import with_marks
from scribe.output.sheets.sheets import FOOT_MM, SheetPlan
from scribe.output.sheets.vital import all_points
from scribe.standards import LONGEST_PAGE_MM, TEMPLATE_PAPER_MM

Array = npt.NDArray[np.float64]


_ENDS_MM = 20.0  # of paper from a roll left beyond what it shows, for words
_SHORTEST_MM = 210.0  # that it is cut to, for bar and name at its foot


def plan_sheets(drawing: Drawing, settings: PrintSettings) -> SheetPlan:
    """The layout that takes the fewest sheets; refuses margins that leave no room."""
    margin, overlap = settings.margin, settings.overlap
    sizes = [size for size in _sizes(settings) if min(size) - 2 * margin - FOOT_MM > 2 * overlap]
    if not sizes:
        raise ScribeError(
            "template-margins",
            what=f"margin {margin:g} mm and overlap {overlap:g} mm leave no room"
            f" on {settings.paper_words}",
            where=drawing.name,
            do="choose a smaller margin or overlap under [print], or a larger paper",
        )
    vital = all_points(drawing)
    grids = [grid_plan(drawing, vital, size, margin, overlap) for size in sizes]
    best = min(grids, key=lambda plan: (len(plan.sheets), -shown(plan, drawing.box())))
    if len(best.sheets) > 1:
        along = along_plan(drawing, sizes, margin, overlap, len(best.sheets))
        if along is not None and along.saved > 0:
            best = along
    if settings.roll is not None:
        best = _cut_to_length(best, vital)
    return with_marks(best, drawing)


def _sizes(settings: PrintSettings) -> list[tuple[float, float]]:
    """The paper standing and lying; from a roll, as long as a page may be, along the sheet."""
    if settings.roll is not None:
        return [(LONGEST_PAGE_MM, settings.roll)]
    short, long = TEMPLATE_PAPER_MM[settings.paper]
    return [(short, long), (long, short)]


def _cut_to_length(plan: SheetPlan, vital: Array) -> SheetPlan:
    """Sheets from a roll, no longer than what they show, and some space for words."""
    sheets = []
    for sheet in plan.sheets:
        frame, (x0, y0, x1, y1) = turned(sheet.turn), sheet.box
        held = [vital[sheet.shows(vital)], *(joint.trim for joint in plan.of(sheet))]
        x = frame.apply(np.vstack(held))[:, 0]
        low, high = float(x.min()) - _ENDS_MM, float(x.max()) + _ENDS_MM
        short = max(_SHORTEST_MM - 2 * plan.margin - (high - low), 0.0) / 2
        low, high = max(low - short, x0), min(high + short, x1)
        size = (high - low + 2 * plan.margin, sheet.size[1])
        sheets.append(replace(sheet, size=size, box=(low, y0, high, y1)))
    return replace(plan, sheets=tuple(sheets))
