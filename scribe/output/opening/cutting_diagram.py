"""How a sheet or a board is sawn up, as a small SVG inside a page: parts and numbered cuts.

Cuts are numbered in the order of sawing; a number stands where its cut begins. Parts carry
their mark of the cut list and their size; hatched is what is left over. The blade's width is
drawn true to scale, so that it is seen that it was reckoned with. Colours come from the page.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from scribe.cutting import Box, Layout, Part, SawCut
from scribe.output.opening.cut_list import mark
from scribe.quantity import format_mm

_WIDTH = 760.0  # user units for the stock's length
_MARGIN, _TOP = 26.0, 26.0
_BOARD = 46.0  # user units that a board is drawn high, since nobody stated its width
_FONT, _SMALL, _LEAST = 15.0, 12.0, 8.0
_LETTER = 0.58  # mean width of a letter over the font's size


def cutting_diagram(layout: Layout, parts: Sequence[Part], title: str, key: str = "") -> str:
    """An <svg> element. key: sets its hatching's id apart from those of others on the page."""
    sheet = _Sheet(layout, parts, f"left-over-{key}")
    width, height = _WIDTH + 2 * _MARGIN, sheet.height + _TOP + _MARGIN
    return (
        f'<svg class="cutting" viewBox="0 0 {width:.0f} {height:.0f}" role="img"'
        f' aria-label="{escape(title, quote=True)}">'
        f'<defs><pattern id="left-over-{key}" width="7" height="7" patternUnits="userSpaceOnUse"'
        ' patternTransform="rotate(45)"><line x1="0" y1="0" x2="0" y2="7" stroke="currentColor"'
        ' stroke-opacity="0.35"/></pattern></defs>' + "".join(sheet.drawn()) + "</svg>"
    )


class _Sheet:
    """One layout in user units, y down."""

    def __init__(self, layout: Layout, parts: Sequence[Part], hatching: str) -> None:
        self.layout, self.parts, self.hatching = layout, parts, hatching
        self.scale = _WIDTH / layout.length
        self.board = layout.width == 0.0
        self.height = _BOARD if self.board else layout.width * self.scale
        self.taken: list[tuple[float, float]] = []

    def drawn(self) -> list[str]:
        x, y, w, h = _MARGIN, _TOP, _WIDTH, self.height
        drawn = [_rect(x, y, w, h, 'fill="var(--soft)" stroke="none"')]
        drawn += [self._rect(box, f'fill="url(#{self.hatching})"') for box in self.layout.offcuts]
        for placed in self.layout.placed:
            drawn.append(self._rect(placed.box, 'fill="var(--page)" stroke="none"'))
        drawn += [self._rect(cut.blade, 'fill="var(--accent)"', least=1.2)
                  for cut in self.layout.cuts]  # fmt: skip
        drawn.append(_rect(x, y, w, h, 'fill="none" stroke="currentColor" stroke-width="1.5"'))
        for placed in self.layout.placed:
            drawn += self._words(placed.part, placed.box)
        for number, cut in enumerate(self.layout.cuts, start=1):
            drawn.append(self._number(number, cut))
        return drawn

    def _place(self, box: Box) -> tuple[float, float, float, float]:
        height = self.height if self.board else box.width * self.scale
        low = 0.0 if self.board else box.y * self.scale
        return (
            _MARGIN + box.x * self.scale,
            _TOP + self.height - low - height,
            box.length * self.scale,
            height,
        )

    def _rect(self, box: Box, look: str, least: float = 0.0) -> str:
        x, y, w, h = self._place(box)
        return _rect(x, y, max(w, least), max(h, least), look)

    def _words(self, part: int, box: Box) -> list[str]:
        """The part's mark, and its size where there is room; upright in a narrow part."""
        x, y, w, h = self._place(box)
        size = format_mm(box.length) + ("" if self.board else f" x {format_mm(box.width)}")
        letter = mark(part)
        upright = h > w and w < _LETTER * _FONT * (len(letter) + 1 + len(size))
        along, across = (h, w) if upright else (w, h)
        for words, font in ((f"{letter}  {size}", _FONT), (f"{letter}  {size}", _SMALL),
                            (letter, _FONT), (letter, _SMALL)):  # fmt: skip
            if len(words) * _LETTER * font <= along - 6 and font <= across - 2:
                return [_text(x + w / 2, y + h / 2, words, font, upright=upright)]
        return [_text(x + w / 2, y + h / 2, letter, _LEAST, upright=False)]

    def _number(self, number: int, cut: SawCut) -> str:
        """A dot with the cut's number: at its left for a rip, above it for a crosscut."""
        x, y, w, h = self._place(cut.blade)
        whole = w > _WIDTH - 1 if cut.rips else h > self.height - 1
        at = (x, y + h / 2) if cut.rips else (x + w / 2, y)
        if whole:
            at = (_MARGIN - 12, at[1]) if cut.rips else (at[0], _TOP - 12)
        while any(abs(at[0] - a) < 17 and abs(at[1] - b) < 17 for a, b in self.taken):
            at = (at[0] + 9, at[1]) if cut.rips else (at[0], at[1] + 9)
        self.taken.append(at)
        return (
            f'<circle cx="{at[0]:.1f}" cy="{at[1]:.1f}" r="8.5" fill="var(--accent)"/>'
            f'<text x="{at[0]:.1f}" y="{at[1] + 3.7:.1f}" text-anchor="middle" font-size="10.5"'
            f' font-weight="700" fill="var(--page)">{number}</text>'
        )


def _rect(x: float, y: float, w: float, h: float, look: str) -> str:
    return f'<rect x="{x:.2f}" y="{y:.2f}" width="{w:.2f}" height="{h:.2f}" {look}/>'


def _text(x: float, y: float, words: str, font: float, *, upright: bool) -> str:
    turn = f' transform="rotate(-90 {x:.1f} {y:.1f})"' if upright else ""
    return (
        f'<text x="{x:.1f}" y="{y + 0.35 * font:.1f}" text-anchor="middle" font-size="{font:g}"'
        f' fill="currentColor"{turn}>{escape(words)}</text>'
    )
