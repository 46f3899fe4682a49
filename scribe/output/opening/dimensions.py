"""Drawn in page mm, y down: lines, words and dimensions after ISO 129-1 and ISO 128.

Continuous thick lines are edges, thin ones dimensions; extension lines leave a gap at the edge
and go past the dimension line; oblique strokes end it; words stand above it, read from below or
from the right. Words too wide for their stretch stand beside the chain at its ends, and in a row of
their own with a leader in between; never over each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

TEXT = 3.2  # mm, height of the letters' em
_WIDE = 0.56  # mean width of a digit or letter, in ems
_GAP, _PAST, _STROKE = 1.0, 1.5, 1.2
ROW = 8.0  # mm between two chains of dimensions

Point = tuple[float, float]


class Sheet:
    """Collects SVG elements and the box they fill."""

    def __init__(self) -> None:
        self.parts: list[str] = []
        self.box = [float("inf"), float("inf"), -float("inf"), -float("inf")]

    def line(self, points: Sequence[Point], kind: str, *, closed: bool = False) -> None:
        """kind: a class of the style below: edge, room, thin, chain, strip."""
        shown = " ".join(f"{x:.2f},{y:.2f}" for x, y in points)
        tag = "polygon" if closed else "polyline"
        self.parts.append(f'<{tag} class="{kind}" points="{shown}"/>')
        for x, y in points:
            self._grow(x, y, x, y)

    def words(
        self, said: str, x: float, y: float, *, turned: bool = False, size: float = TEXT
    ) -> None:
        """Centred on x, standing on y; turned: read from the right, standing on x."""
        half = width_of(said, size) / 2
        turn = f' transform="rotate(-90 {x:.2f} {y:.2f})"' if turned else ""
        self.parts.append(
            f'<text x="{x:.2f}" y="{y:.2f}" font-size="{size}"{turn}>{escape(said)}</text>'
        )
        across, along = (size, half) if turned else (half, size)
        self._grow(x - across, y - along, x + (0 if turned else half), y + (half if turned else 0))

    def chain(
        self, stops: Sequence[float], said: Sequence[str], at: float, edge: float, *, upright: bool
    ) -> float:
        """A chain of dimensions; returns how far out its words reach.

        stops: N + 1 places along it. at: where its line lies, below the edge (or right of it).
        """

        def place(along: float, across: float) -> Point:
            return (across, along) if upright else (along, across)

        for stop in stops:
            self.line([place(stop, edge + _GAP), place(stop, at + _PAST)], "thin")
            self.line(
                [
                    place(stop - _STROKE, at + (_STROKE if not upright else -_STROKE)),
                    place(stop + _STROKE, at - (_STROKE if not upright else -_STROKE)),
                ],
                "thin",
            )
        self.line([place(stops[0], at), place(stops[-1], at)], "thin")
        row, reached, ends = at + 5.5, at + _PAST, -float("inf")
        outer = min(stops), max(stops)
        spans = list(zip(stops[:-1], stops[1:], said, strict=True))
        for start, stop, text in sorted(spans, key=lambda each: min(each[:2])):
            middle, half = (start + stop) / 2, width_of(text) / 2 + 0.8
            if 2 * half <= abs(stop - start):
                self.words(text, *place(middle, at - 0.9), turned=upright)
                continue
            if start in outer or stop in outer:  # at an end there is room beside the chain
                outwards = -1.0 if min(start, stop) == outer[0] else 1.0
                beside = (outer[0] if outwards < 0 else outer[1]) + outwards * half
                self.words(text, *place(beside + outwards * _STROKE, at + 1.1), turned=upright)
                continue
            centre = max(middle, ends + half)
            ends = centre + half
            self.line([place(middle, at), place(centre, row - TEXT + 0.4)], "thin")
            self.words(text, *place(centre, row), turned=upright)
            reached = row + _PAST
        return reached

    def svg(self, label: str, margin: float = 3.0) -> str:
        """The drawing, as large as what was drawn; one user unit is a page mm."""
        x0, y0, x1, y1 = self.box
        x0, y0, x1, y1 = x0 - margin, y0 - margin, x1 + margin, y1 + margin
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{escape(label)}" '
            f'width="{x1 - x0:.1f}mm" height="{y1 - y0:.1f}mm" '
            f'viewBox="{x0:.2f} {y0:.2f} {x1 - x0:.2f} {y1 - y0:.2f}">'
            f"<style>{_STYLE}</style>{''.join(self.parts)}</svg>"
        )

    def _grow(self, x0: float, y0: float, x1: float, y1: float) -> None:
        low, high = self.box[:2], self.box[2:]
        self.box = [min(low[0], x0), min(low[1], y0), max(high[0], x1), max(high[1], y1)]


def width_of(said: str, size: float = TEXT) -> float:
    """mm that words take, a little too much rather than too little."""
    return len(said) * _WIDE * size


# ISO 128: thick and thin lines as 2 to 1.
_STYLE = (
    "polyline,polygon{fill:none;stroke:#000;stroke-linejoin:round}"
    ".edge{stroke-width:.5;fill:#fff}.room{stroke-width:.5;stroke:#555}.thin{stroke-width:.2}"
    ".strip{stroke-width:.25;fill:#ddd}.chain{stroke-width:.25;stroke-dasharray:6 1 1 1}"
    "text{font-family:Helvetica,Arial,sans-serif;text-anchor:middle;fill:#000}"
)
