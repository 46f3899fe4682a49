"""Target pages as a vector PDF, full size, with everything a person reads in the margins.

In: pages of `scribe.target` and the modules of their markers. Out: the bytes of a PDF
whose user space is 1/72 inch (ISO 32000-1, 8.3.2.3) and which asks the viewer not to
scale (ISO 32000-1, 12.2). The clear window of a sheet stays blank; the check bars, the
name and the arrow to the wall lie outside the ring of marks. A strip carries its name
and its bar in the clear middle between its two bands, and the crosses A and B for a tape.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from io import BytesIO
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from scribe.output.pdf_canvas import pdf_canvas
from scribe.print_scale import BAR_MM
from scribe.standards import PT_PER_MM
from scribe.target import MODULES, Page, Target

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

Modules = npt.NDArray[np.bool_]

CHECK_WORDS = (
    f"print at 100 %, then lay a steel rule on this bar: 0 to {BAR_MM} must be {BAR_MM}.0 mm"
)
WALL_WORDS = "THIS EDGE TOWARDS THE WALL"
PIN_WORDS = "the side of the pins that touched the wall points to this edge"

_PLAIN, _BOLD = "Helvetica", "Helvetica-Bold"
_THIN, _TICK = 0.25, 0.15  # line widths
_CLEAR = 1.4  # kept between the marks and the nearest ink of a margin
_CROSS_ARM, _CROSS_RING = 3.0, 1.5
_ARROW = (17.0, 6.2)  # width and height of the arrow to the wall


def target_pdf(pages: Sequence[Page], bits: Mapping[int, Modules]) -> bytes:
    """The pages as one PDF, the same bytes for the same pages.

    bits: for every marker identity on the pages (7, 7) bool, True = black, row 0 on top.
    """
    stream = BytesIO()
    canvas = pdf_canvas(stream)
    canvas.setTitle(pages[0].targets[0][0].name)
    canvas.setCreator("scribe")
    canvas.setViewerPreference("PrintScaling", "None")
    for page in pages:
        width, height = page.size
        canvas.setPageSize((width * PT_PER_MM, height * PT_PER_MM))
        canvas.scale(PT_PER_MM, PT_PER_MM)
        for target, (x, y) in page.targets:
            canvas.saveState()
            canvas.translate(x, y)
            _draw_marks(canvas, target, bits)
            if target.form == "window":
                _draw_margins(canvas, target)
            else:
                _draw_middle(canvas, target)
            canvas.restoreState()
        if page.targets[0][0].form == "strip":
            _draw_cut_lines(canvas, page)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def black_boxes(modules: Modules) -> list[tuple[int, int, int, int]]:
    """Cover the black modules with boxes (column, row, columns, rows), rows from the top.

    Runs along a row are joined, and equal runs of neighbouring rows as well.
    """
    boxes: list[tuple[int, int, int, int]] = []
    open_runs: dict[tuple[int, int], int] = {}  # (start, length) -> its box
    for row, line in enumerate(modules):
        steps = np.flatnonzero(np.diff(np.concatenate([[0], line.astype(int), [0]])))
        runs = [(int(a), int(b - a)) for a, b in zip(steps[::2], steps[1::2], strict=True)]
        still_open = {}
        for start, length in runs:
            index = open_runs.get((start, length))
            if index is None:
                index = len(boxes)
                boxes.append((start, row, length, 0))
            column, top, columns, rows = boxes[index]
            boxes[index] = (column, top, columns, rows + 1)
            still_open[start, length] = index
        open_runs = still_open
    return boxes


def _draw_marks(canvas: Canvas, target: Target, bits: Mapping[int, Modules]) -> None:
    # One path for everything: boxes that share an edge are then filled as one area, and no
    # renderer leaves a grey hairline between them.
    path = canvas.beginPath()
    for x0, y0, x1, y1 in target.squares.tolist():
        path.rect(x0, y0, x1 - x0, y1 - y0)
    for corners, number in zip(target.markers, target.ids, strict=True):
        left, top = corners[0]
        module = (corners[1, 0] - left) / MODULES
        for column, row, columns, rows in black_boxes(bits[int(number)]):
            x, y = left + column * module, top - (row + rows) * module
            path.rect(x, y, columns * module, rows * module)
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)


def _draw_margins(canvas: Canvas, target: Target) -> None:
    """Bars below and to the left of the ring, the name, and the arrow above it."""
    x0, y0 = target.squares[:, :2].min(axis=0)
    x1, y1 = target.squares[:, 2:].max(axis=0)
    width, _ = target.size
    low, left = y0 - _CLEAR, x0 - _CLEAR

    _draw_bar(canvas, (width - BAR_MM) / 2, low)
    _write(canvas, (width - BAR_MM) / 2, low - 7.3, CHECK_WORDS, 7)
    _write(canvas, (width + BAR_MM) / 2, low - 7.3, target.name, 9, _BOLD, align=1.0)

    canvas.saveState()
    canvas.translate(left, (y0 + y1 - BAR_MM) / 2)
    canvas.rotate(90)
    _draw_bar(canvas, 0.0, 0.0, ticks_up=True)
    _write(canvas, BAR_MM / 2, 5.2, CHECK_WORDS, 6, align=0.5)
    canvas.restoreState()

    across, tall = _ARROW
    foot, middle = y1 + _CLEAR, (x0 + x1) / 2
    shaft, neck = across * 0.2, foot + tall * 0.42
    arrow = canvas.beginPath()
    arrow.moveTo(middle, foot + tall)
    for x, y in (
        (middle + across / 2, neck),
        (middle + shaft, neck),
        (middle + shaft, foot),
        (middle - shaft, foot),
        (middle - shaft, neck),
        (middle - across / 2, neck),
    ):
        arrow.lineTo(x, y)
    arrow.close()
    canvas.drawPath(arrow, stroke=0, fill=1)
    beside = across / 2 + 3
    _write(canvas, middle - beside, foot + 1.3, WALL_WORDS, 11, _BOLD, align=1.0)
    _write(canvas, middle + beside, foot + 1.3, PIN_WORDS, 7)


def _draw_middle(canvas: Canvas, target: Target) -> None:
    """Name, bar and words between the bands of a strip."""
    assert target.window is not None
    x0, y0, _, y1 = target.window
    middle = (y0 + y1) / 2
    for letter, (x, y) in target.crosses.items():
        outwards = -1.0 if x < target.size[0] / 2.0 else 1.0
        _draw_cross(canvas, x, y)
        _write(canvas, x + outwards * (_CROSS_ARM + 2.0), y - 1.2, letter, 9, _BOLD, align=0.5)
    _draw_bar(canvas, x0 + 14, middle + 2.6)
    words = x0 + BAR_MM + 20
    _write(canvas, words, middle + 1.7, target.name, 9, _BOLD)
    _write(canvas, words, middle - 1.3, CHECK_WORDS, 6.5)
    depth = f"cut along the lines, {target.size[1]:.2f} mm apart; crosses A and B are for a tape"
    _write(canvas, words, middle - 3.9, depth, 6.5)


def _draw_cross(canvas: Canvas, x: float, y: float) -> None:
    """A hair cross in a ring: its middle is judged to a tenth of a millimetre."""
    canvas.setLineWidth(_TICK)
    canvas.line(x - _CROSS_ARM, y, x + _CROSS_ARM, y)
    canvas.line(x, y - _CROSS_ARM, x, y + _CROSS_ARM)
    canvas.circle(x, y, _CROSS_RING, stroke=1, fill=0)


def _draw_cut_lines(canvas: Canvas, page: Page) -> None:
    width, height = page.size
    edges = {round(y, 6) for _, (_, y) in page.targets}
    edges |= {round(y + target.size[1], 6) for target, (_, y) in page.targets}
    target, (x, _) = page.targets[0]
    canvas.setLineWidth(_THIN)
    for y in sorted(edges):
        canvas.line(0, y, width, y)
    for end in (x, x + target.size[0]):
        canvas.line(end, 0, end, height)


def _draw_bar(canvas: Canvas, x: float, y: float, *, ticks_up: bool = False) -> None:
    """A ruled bar from (x, y) to the right: a tick to every mm, numbers beside the tens."""
    side, numbers = (1.0, 3.0) if ticks_up else (-1.0, -4.2)
    canvas.setLineWidth(_TICK)
    canvas.line(x, y, x + BAR_MM, y)
    for at in range(BAR_MM + 1):
        length = 2.6 if at % 10 == 0 else 1.9 if at % 5 == 0 else 1.2
        canvas.line(x + at, y, x + at, y + side * length)
        if at % 10 == 0:
            _write(canvas, x + at, y + numbers, str(at), 5.5, align=0.5)


def _write(
    canvas: Canvas,
    x: float,
    y: float,
    text: str,
    size_pt: float,
    font: str = _PLAIN,
    *,
    align: float = 0.0,
) -> None:
    """Text with its baseline at y; align 0 starts at x, 0.5 is centred, 1 ends at x."""
    size = size_pt / PT_PER_MM
    canvas.setFont(font, size)
    canvas.drawString(x - align * canvas.stringWidth(text, font, size), y, text)
