"""A page written from top to bottom, in mm; font sizes in points, for people who set type."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scribe.output.pages.on_canvas import BOLD, PLAIN
from scribe.standards import PAPER_MM, PT_PER_MM

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

MARGIN = 15.0
PT = 1.0 / PT_PER_MM  # mm
LEADING = 1.35  # from line to line, over the size of the letters
ROW = 7.0  # mm from line to line of a table, at 14 pt


class PageWriter:
    """Writes down a page and turns to the next when it is full.

    scale: of all that is written; below 1 a page holds more, and everything on it is smaller.
    """

    def __init__(self, canvas: Canvas, paper: str, scale: float = 1.0) -> None:
        self.canvas, self.scale = canvas, scale
        wide, high = PAPER_MM.get(paper, PAPER_MM["A4"])
        self.width, self.height = wide / scale, high / scale
        self.y, self.floor = 0.0, MARGIN
        self._open()

    def _open(self) -> None:
        unit = PT_PER_MM * self.scale
        self.canvas.setPageSize((self.width * unit, self.height * unit))
        self.canvas.scale(unit, unit)
        self.y, self.floor = self.height - MARGIN, MARGIN

    def turn(self) -> None:
        """On to a new page."""
        self.canvas.showPage()
        self._open()

    def room(self, height: float) -> bool:
        """Is there so much left on this page?"""
        return self.y - height > self.floor

    def line(self, words: str, size: float, *, bold: bool = False, after: float = LEADING) -> None:
        """One line; size in points. Turns the page first when it doesn't fit."""
        if not self.room(size * PT):
            self.turn()
        self.y -= size * PT
        self.canvas.setFont(BOLD if bold else PLAIN, size * PT)
        self.canvas.drawString(MARGIN, self.y, words)
        self.y -= size * PT * (after - 1.0)

    def paragraph(self, words: str, size: float, *, width: float | None = None) -> None:
        """Words broken into lines that stay on one page."""
        self.together(self.split(words, size, width), size)

    def together(self, lines: list[str], size: float) -> None:
        """Lines that stay on one page."""
        if not self.room(len(lines) * size * PT * LEADING):
            self.turn()
        for line in lines:
            self.line(line, size)

    def split(self, words: str, size: float, width: float | None = None) -> list[str]:
        """Words as lines no wider than width, mm; left out, the page's."""
        from reportlab.lib.utils import simpleSplit

        reach = width or self.width - 2 * MARGIN
        return [str(line) for line in simpleSplit(words, PLAIN, size * PT, reach)]
