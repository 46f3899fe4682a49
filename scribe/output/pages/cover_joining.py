"""The part of a cover that tells how the sheets lie, are joined, checked and laid on the blank."""

from __future__ import annotations

import numpy as np

from scribe.output.pages.on_canvas import BOLD, PLAIN, draw_path
from scribe.output.pages.page_writer import MARGIN, PT, PageWriter
from scribe.output.piece.drawing import STROKES, Drawing, LineKind
from scribe.output.sheets.crosses import from_edges
from scribe.output.sheets.sheets import SheetPlan
from scribe.piece import Piece
from scribe.quantity import format_mm

MAP = (80.0, 48.0)  # mm, the largest map of the sheets
_STEP = 5.2  # mm from row to row of the crosses
_COLUMNS = (14.0, 30.0, 62.0, 104.0, 152.0)  # their right edges, mm from the margin
_KEY: tuple[tuple[LineKind, str], ...] = (
    ("cut", "cut"),
    ("bridged", "cut, not measured"),
    ("blank", "blank"),
    ("datum", "datum"),
    ("thin", "wall; hatched: waste"),
)


def draw_map(page: PageWriter, drawing: Drawing, plan: SheetPlan, top: float) -> float:
    """A small picture of the drawing with the numbered sheets; returns its lower end."""
    canvas = page.canvas
    corners = np.vstack([sheet.corners for sheet in plan.sheets])
    (x0, y0), (x1, y1) = corners.min(axis=0).tolist(), corners.max(axis=0).tolist()
    box = drawing.box()
    x0, y0, x1, y1 = min(x0, box[0]), min(y0, box[1]), max(x1, box[2]), max(y1, box[3])
    scale = min(MAP[0] / (x1 - x0), MAP[1] / (y1 - y0))
    left, low = page.width - MARGIN - (x1 - x0) * scale, top - (y1 - y0) * scale
    canvas.saveState()
    canvas.translate(left - x0 * scale, low - y0 * scale)
    canvas.scale(scale, scale)
    for name in ("blank", "cut"):
        for path in drawing.layer(name).paths:
            draw_path(canvas, path, finer=(1.0 if name == "cut" else 0.6) / scale)
    canvas.setLineWidth(0.15 / scale)
    canvas.setFont(BOLD, 12 * PT / scale)
    for sheet in plan.sheets:
        frame = canvas.beginPath()
        frame.moveTo(*sheet.corners[0].tolist())
        for corner in sheet.corners[1:].tolist():
            frame.lineTo(*corner)
        frame.close()
        canvas.drawPath(frame)
        x, y = plan.own(sheet).mean(axis=0).tolist()
        canvas.setFillGray(1.0)
        canvas.circle(x, y, 3.4 / scale, stroke=1, fill=1)
        canvas.setFillGray(0.0)
        canvas.drawCentredString(x, y - 1.5 / scale, str(sheet.number))
    canvas.restoreState()
    return float(low - 2.0)


def crosses_told(plan: SheetPlan) -> bool:
    """Whether the crosses need a table: one sheet laid by the blank's edges says itself how far
    its crosses are apart.
    """
    return len(plan.sheets) > 1 or (plan.assembly is not None and bool(plan.assembly.by_crosses))


def draw_steps(page: PageWriter, plan: SheetPlan) -> None:
    """How the sheets become one template, and how it is laid on the blank."""
    page.y -= 2.0
    page.line("Put it together", 14, bold=True)
    steps = ["Print at 100 %; the bar on each sheet must be 100.0 mm."]
    if plan.joints:
        steps.append(
            "Trim each sheet along the line that says so, lay it on the shaded strip of the"
            " next so that the thick lines of both marks run on unbroken, and tape. A thin line"
            " that runs on instead says that it lies 0.3 mm off."
        )
    if crosses_told(plan):
        steps.append(
            "Measure from cross 1 to each of the others as the table says. If one is off by more"
            " than 1 mm (1.5 mm beyond a metre), a sheet slipped or was scaled: do it again."
        )
    elif len(plan.crosses) > 1:
        apart = format_mm(plan.crosses[1].distance)
        steps.append(
            f"Measure from cross 1 to cross 2: it must be {apart} mm, to half a millimetre."
        )
    steps.append(_laying(plan) + " Cut on the hatched side of the line.")
    for number, step in enumerate(steps, start=1):
        page.paragraph(f"{number}. {step}", 12)


def _laying(plan: SheetPlan) -> str:
    """By what the sheets are laid on the blank."""
    joined = plan.assembly
    said = "Lay it on the blank by the blank's edges."
    if joined is not None and joined.by_crosses:
        numbers = " and ".join(str(each) for each in joined.by_crosses)
        said = (
            f"Mark crosses {numbers} on the blank as the table says and lay the sheets' crosses on"
            " them."
        )
    if plan.groups > 1:
        said += " Sheets without a joint are laid one by one."
    if plan.joints:
        said += (
            " On every sheet the blank's line must lie on its edge; where it doesn't, a sheet is"
            " turned: join it again."
        )
    return said


def draw_crosses(page: PageWriter, drawing: Drawing, piece: Piece, plan: SheetPlan) -> None:
    """How far each cross is from the first, and from two edges of the blank."""
    page.y -= 2.0
    if not page.room((len(plan.crosses) + 3) * _STEP):
        page.turn()
    page.line("Check by tape", 14, bold=True)
    rows: list[tuple[str, ...]] = [("cross", "sheet", "from cross 1")]
    for cross in plan.crosses:
        distance = format_mm(cross.distance) if cross.number > 1 else "-"
        rows.append((str(cross.number), str(cross.sheet), distance))
        edges = from_edges(cross, piece, mirrored=drawing.mirrored)
        if edges is not None:
            rows[-1] += tuple(format_mm(each, 1) for each in edges)
    on_blank = len(rows[-1]) > len(rows[0])
    if on_blank:
        rows[0] += ("from the left edge", "from the bottom edge")
    for row in rows:
        page.y -= _STEP
        page.canvas.setFont(BOLD if row is rows[0] else PLAIN, 12 * PT)
        for right, words in zip(_COLUMNS, row, strict=False):
            page.canvas.drawRightString(MARGIN + right, page.y, words)
    page.y -= 1.0
    if on_blank:
        page.paragraph("Edges are those of the blank before it is cut, as seen from the face.", 11)


def draw_key(page: PageWriter) -> None:
    """What the kinds of lines mean, as they are drawn."""
    canvas, x = page.canvas, MARGIN
    page.y -= 3.5
    canvas.setFont(PLAIN, 9 * PT)
    for kind, words in _KEY:
        stroke = STROKES[kind]
        canvas.setLineWidth(stroke.width)
        canvas.setDash(*(([list(stroke.dashes)]) if stroke.dashes else ()))
        canvas.line(x, page.y + 1.0, x + 15.0, page.y + 1.0)
        canvas.setDash()
        canvas.drawString(x + 16.5, page.y, words)
        x += 20.5 + canvas.stringWidth(words, PLAIN, 9 * PT)
