"""The sheet for the workshop's wall: one A4 in big type with all sizes, warnings and cautions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING

from scribe.build_plan import BuildPlan
from scribe.output.cautions import CAUTIONS
from scribe.output.opening.size_words import carcass_row, opening_rows, said, stand_words, warnings
from scribe.output.pdf_canvas import pdf_canvas
from scribe.quantity import format_mm
from scribe.sizes import Built, OpeningSizes
from scribe.standards import PAPER_MM, PT_PER_MM

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

_PLAIN, _BOLD = "Helvetica", "Helvetica-Bold"
_MARGIN = 14.0
_SMALLEST = 0.55  # of the type as wished; what doesn't fit then is left to the report
_TOPICS = ("fixing", "cables and pipes", "never cover", "who decides")
_LOADS = "Shelves and wall fixings have load limits: keep to those of the fixing and of the wall."


@dataclass(frozen=True)
class _Line:
    """Words in one type, points; right: words at the right margin."""

    words: str
    size: float
    bold: bool = False
    before: float = 0.0
    right: str = ""


def wall_sheet_pdf(name: str, sizes: OpeningSizes, plan: BuildPlan, built: Built) -> bytes:
    """One page, the type as large as everything fits."""
    width, height = PAPER_MM["A4"]
    stream = BytesIO()
    canvas = pdf_canvas(stream)
    canvas.setPageSize((width * PT_PER_MM, height * PT_PER_MM))
    canvas.setTitle(f"{name}: sizes")
    lines = _lines(name, sizes, plan, built)
    for scale in (1.3, 1.15, 1.0, 0.9, 0.8, 0.7, 0.62, _SMALLEST):
        wrapped = _wrapped(lines, scale, (width - 2 * _MARGIN) * PT_PER_MM)
        if _height(wrapped) <= (height - 2 * _MARGIN) * PT_PER_MM:
            break
    _draw(canvas, wrapped, width * PT_PER_MM, height * PT_PER_MM)
    canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _lines(name: str, sizes: OpeningSizes, plan: BuildPlan, built: Built) -> list[_Line]:
    lines = [_Line(name, 30, bold=True)]
    by_name = dict(opening_rows(sizes))
    lines += [_Line(f"{each}: {by_name[each]}", 14, before=2) for each in ("narrowest", "lowest")]
    lines.append(_Line("Carcasses", 18, bold=True, before=12, right="width x height x depth, mm"))
    lines += [
        _Line(each.name, 24, bold=True, before=2, right=carcass_row(each)[1])
        for each in built.carcasses
    ]
    tight = min((each.standing for each in built.carcasses), key=lambda it: it.spare.value)
    lines.append(_Line(f"The tightest to stand up is {stand_words(tight)}.", 14, before=2))
    if built.strips:
        lines.append(_Line("Strips to buy", 18, bold=True, before=12, right="length x width, mm"))
    for strip in built.strips:
        blank = f"{format_mm(strip.length)} x {format_mm(strip.buy)}"
        lines.append(_Line(strip.name, 24, bold=True, before=2, right=blank))
        face = (
            f"face {said(strip.narrowest)} to {said(strip.widest)}, "
            f"allowance {format_mm(strip.allowance)} mm, {format_mm(plan.thickness)} mm thick"
        )
        lines.append(_Line(face, 13))
    lines += [_Line(f"! {each}", 14, bold=True, before=4) for each in warnings(built, plan)]
    up = "Names are as seen from the front: left is left, top is up. Faces are those you see."
    lines.append(_Line(up, 13, before=8))
    lines.append(_Line("Cautions", 14, bold=True, before=10))
    cautions = [each.sentence for each in CAUTIONS if each.topic in _TOPICS]
    return lines + [_Line(f"- {each}", 11, before=1) for each in [*cautions, _LOADS]]


def _wrapped(lines: Sequence[_Line], scale: float, reach: float) -> list[_Line]:
    from reportlab.lib.utils import simpleSplit

    found = []
    for line in lines:
        size, font = line.size * scale, _BOLD if line.bold else _PLAIN
        parts = [line.words] if line.right else simpleSplit(line.words, font, size, reach)
        for number, part in enumerate(parts):
            before = line.before * scale if number == 0 else 0.0
            found.append(_Line(part, size, line.bold, before, line.right))
    return found


def _height(lines: Sequence[_Line]) -> float:
    return sum(line.before + 1.2 * line.size for line in lines)


def _draw(canvas: Canvas, lines: Sequence[_Line], width: float, height: float) -> None:
    left, right = _MARGIN * PT_PER_MM, width - _MARGIN * PT_PER_MM
    y = height - _MARGIN * PT_PER_MM
    for line in lines:
        y -= line.before + line.size
        font = _BOLD if line.bold else _PLAIN
        canvas.setFont(font, line.size)
        canvas.drawString(left, y, line.words)
        if line.right:
            # A heading's words on the right are smaller than what they head.
            size = line.size if line.right[0].isdigit() else 0.65 * line.size
            canvas.setFont(font if line.right[0].isdigit() else _PLAIN, size)
            canvas.drawRightString(right, y, line.right)
        y -= 0.2 * line.size
