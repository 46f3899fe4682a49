"""A cut edge beside its planned line, drawn much larger across than along, with its U.

Seen from the face and lying as on the template: a floor is drawn below, a ceiling above. Of an edge
at the left or right the building is drawn above, and the words say that it is turned. An arrow
points up in the room. Proud and short beyond U are told apart by their side of the line, by
hatching against dots, and by words; colour only helps. Below it, what gapes when the piece is
pushed home, with the limit of the filler. SVG that opens by itself or inside a page.
"""

from __future__ import annotations

from collections.abc import Callable
from html import escape

import numpy as np
import numpy.typing as npt

from scribe.cut_check import CutCheck
from scribe.output.check.check_words import worst_places
from scribe.output.check.svg_parts import (
    BAND,
    INK,
    svg_area,
    svg_curve,
    svg_line,
    svg_points,
    svg_tag,
    svg_text,
)
from scribe.output.plot import ticks, times
from scribe.quantity import format_mm

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]
Place = Callable[[Array | float], Array]

_WIDTH, _MAP, _GAPS = 760.0, 358.0, 182.0  # user units
_LEFT, _RIGHT, _TOP, _BELOW = 64.0, 20.0, 82.0, 44.0
_LEAST_SPAN = 0.4  # mm shown across, at the least
_FINE = 2.0  # mm across: less is labelled in hundredths
_HAIR = 1e-9
_BESIDE = 5.0  # mm: a check looks at every fifth, so that so much before an end was seen as well
_APART = 150.0  # from one place's words to the next
_PLACES = 300  # along the gaps, so that the filler's limit parts them where they cross it
_HALF_LETTER = 5.0  # of a row's height
_MIDDLE = _TOP - 44.0 + _MAP  # twice the level about which the upper drawing is turned over
# Towards (right, above) in the drawing.
_ARROWS = {(0, 1): "\u2191", (0, -1): "\u2193", (1, 0): "\u2192", (-1, 0): "\u2190"}

_STYLE = """<style>
.m text { font: 15px Helvetica, Arial, sans-serif; fill: #1d1b18; }
.m .b { font-weight: bold; } .m .s { font-size: 13px; }
</style>"""
_DEFS = """<defs>
<pattern id="m-proud" width="7" height="7" patternUnits="userSpaceOnUse"
 patternTransform="rotate(45)"><rect width="7" height="7" fill="#f4d3c6"/>
<line x1="0" y1="0" x2="0" y2="7" stroke="#a3341c" stroke-width="3"/></pattern>
<pattern id="m-short" width="8" height="8" patternUnits="userSpaceOnUse">
<rect width="8" height="8" fill="#d5e5f1"/><circle cx="3" cy="3" r="1.7" fill="#1f5c8a"/></pattern>
<pattern id="m-solid" width="9" height="9" patternUnits="userSpaceOnUse"
 patternTransform="rotate(45)"><line x1="0" y1="0" x2="0" y2="9" stroke="#8b8273"/></pattern>
</defs>"""


def deviation_map(check: CutCheck) -> str:
    """The <svg> element, white behind; its title says what it shows."""
    scene = _Scene(check)
    title = f"{check.cut.edge} edge to {check.cut.name}: deviation from the planned line"
    height = _MAP + _GAPS
    box = f'viewBox="0 0 {_WIDTH:.0f} {height:.0f}" aria-label="{escape(title, quote=True)}"'
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" class="m" role="img" {box}>',
            f"<title>{escape(title)}</title>",
            _STYLE,
            _DEFS,
            svg_tag("rect", width=_WIDTH, height=height, fill="#fff"),
            *scene.map(),
            *scene.gaps(),
            "</svg>",
        ]
    )


class _Scene:
    """Both drawings share their stations."""

    def __init__(self, check: CutCheck) -> None:
        self.check, found = check, check.found
        line = (check.cut.line - check.cut.start) @ check.cut.along
        self.low, self.high = float(line.min()), float(line.max())
        out = check.cut.out
        self.below, self.turned = bool(out[1] < -0.5), bool(abs(out[1]) < 0.5)
        above = -out if self.below else out
        right = np.array([above[1], -above[0]])
        self.rightwards = bool(check.cut.along @ right > 0.0)
        self.up = _ARROWS[round(float(check.up @ right)), round(float(check.up @ above))]
        self.U = 2.0 * found.u
        self.across = (_WIDTH - _LEFT - _RIGHT) / (self.high - self.low)

    def x(self, station: Array | float) -> Array:
        """Stations, where they lie as one sees the face with the building up."""
        on = (np.asarray(station, np.float64) - self.low) * self.across
        return np.asarray(_LEFT + on if self.rightwards else _WIDTH - _RIGHT - on)

    def level(self, y: Array | list[float] | float) -> Array:
        """Where in the upper drawing lies what has that y when the building is drawn above."""
        y = np.asarray(y, np.float64)
        return np.asarray(_MIDDLE - y if self.below else y)

    def row(self, y: float) -> float:
        """The same for a row of words."""
        return float(self.level(y - _HALF_LETTER)) + _HALF_LETTER

    def map(self) -> list[str]:
        """The deviations and their U."""
        found, U = self.check.found, self.U
        top = max(float((found.deviation + U).max()), _LEAST_SPAN / 2) * 1.15
        bottom = min(float((found.deviation - U).min()), -_LEAST_SPAN / 2) * 1.15
        up = (_MAP - _TOP - _BELOW) / (top - bottom)

        def y(deviation: Array | float) -> Array:
            return self.level(_MAP - _BELOW - (np.asarray(deviation) - bottom) * up)

        x0, x1 = _LEFT, _WIDTH - _RIGHT
        band = svg_area(self.x(found.station), y(found.deviation + U), y(found.deviation - U))
        zero, solid = float(y(0.0)), min(self.level([_TOP - 26.0, _TOP - 12.0]).tolist())
        name = f"BUILDING: {self.check.cut.name}"
        parts = [
            svg_tag("rect", x=x0, y=solid, width=x1 - x0, height=14, fill="url(#m-solid)"),
            svg_text((x0 + x1) / 2, self.row(_TOP - 32.0), name, "middle", "b"),
            *self._grid(y, bottom, top),
            svg_tag("polygon", points=band, fill=BAND),
        ]
        for name, sign in (("proud", 1.0), ("short", -1.0)):
            parts += self._beyond(name, sign, y)
        edge = svg_points(self.x(found.station), y(found.deviation))
        parts += [
            svg_line((x0, zero), (x1, zero), width=1.2, dashes="16 4 3 4", kind="plan"),
            svg_curve(edge, "edge"),
            *self._unseen(),
            *self._named(y),
            *self._key(times(up / self.across)),
        ]
        return parts

    def gaps(self) -> list[str]:
        """What gapes pushed home, and what of that filler closes."""
        check, found = self.check, self.check.found
        gap, high = found.gap, _GAPS - 80.0
        most = max(float(gap.max()), 1.2 * check.filler, _LEAST_SPAN)
        away = -high / most if self.below else high / most
        low = _MAP + 56.0 + high if self.below else _MAP + 46.0

        def y(each: Array | float) -> Array:
            return np.asarray(low + np.asarray(each) * away)

        x0, x1, limit = _LEFT, _WIDTH - _RIGHT, float(y(check.filler))
        at = np.union1d(found.station, np.linspace(found.station[0], found.station[-1], _PLACES))
        station, gapes = self.x(at), np.interp(at, found.station, gap)
        nothing, within = np.zeros(len(at)), np.minimum(gapes, check.filler)
        # The limit's words stand beyond it, at the end where less gapes.
        aside = -6.0 if self.below else 15.0
        least = int(np.argmin(gap[[0, -1]]))
        end, anchor = (x0 + 4, "start") if (least == 0) == self.rightwards else (x1 - 4, "end")
        said = f"filler closes as far as here, {format_mm(check.filler)} mm"
        head = f"What gapes when the piece is pushed home to the {check.cut.name} as it is, mm"
        solid = low + 2.0 if self.below else low - 12.0
        parts = [
            svg_text(x0, _MAP + 26.0, head, "start", "b"),
            svg_tag("rect", x=x0, y=solid, width=x1 - x0, height=10, fill="url(#m-solid)"),
            svg_line((x0, low), (x1, low), width=1.2),
            svg_tag("polygon", points=svg_area(station, y(nothing), y(within)), fill=BAND),
            svg_tag("polygon", points=svg_area(station, y(within), y(gapes)), fill="url(#m-short)"),
            svg_curve(svg_points(station, y(gapes)), "gap"),
            svg_line((x0, limit), (x1, limit), width=1.0, dashes="7 5"),
            svg_text(end, limit + aside, said, anchor, "s h"),
            svg_text(x0 - 6, low + 5, "0", "end"),
            svg_text(x0 - 6, limit + 5, format_mm(check.filler), "end"),
        ]
        if gap.max() > 1.25 * check.filler:
            parts.append(svg_text(x0 - 6, float(y(gap.max())) + 5, f"{gap.max():.1f}", "end"))
        return parts

    def _grid(self, y: Place, bottom: float, top: float) -> list[str]:
        parts, decimals = [], 2 if top - bottom < _FINE else 1
        ends = self.level([_TOP, _MAP - _BELOW]).tolist()
        for s in ticks(self.low, self.high):
            x = float(self.x(s))
            parts.append(svg_line((x, ends[0]), (x, ends[1]), faint=True))
            parts.append(svg_text(x, self.row(_MAP - _BELOW + 18.0), format_mm(s, 0), "middle"))
        for d in ticks(bottom, top, most=6):
            level, words = float(y(d)), f"{d:+.{decimals}f}" if abs(d) > _HAIR else "0"
            parts.append(svg_line((_LEFT, level), (_WIDTH - _RIGHT, level), faint=True))
            parts.append(svg_text(_LEFT - 6, level + 5, words, "end"))
        end = f"station, mm from the {self.check.cut.from_end} end"
        row = self.row(_MAP - 8.0)
        what = "top edge" if self.check.level else "up in the room"
        up = f"{self.up} {what}" + (": drawn turned" if self.turned else "")
        parts.append(svg_text(_WIDTH - _RIGHT, row, end, "end"))
        parts.append(svg_text(4, self.row(_TOP - 32.0), "mm", "start"))
        parts.append(svg_text(4, row, up, "start"))
        middle = (_LEFT + _WIDTH - _RIGHT) / 2
        parts.append(svg_text(middle, row, "PIECE, seen from its face", "middle", "b"))
        return parts

    def _beyond(self, name: str, sign: float, y: Place) -> list[str]:
        """What lies beyond U on one side of the line, from the line to the edge."""
        found, parts = self.check.found, []
        for first, last in _runs(sign * found.deviation > self.U):
            part = slice(first, last)
            away = np.maximum(sign * found.deviation[part], 0.0) * sign
            ring = svg_area(self.x(found.station[part]), y(away), y(np.zeros(last - first)))
            parts.append(svg_tag("polygon", points=ring, fill=f"url(#m-{name})", class_=name))
        return parts

    def _unseen(self) -> list[str]:
        """Stretches of the cut that nobody looked at."""
        seen, parts = self.check.found.station, []
        top, bottom = sorted(self.level([_TOP, _MAP - _BELOW]).tolist())
        for start, stop in ((self.low, float(seen[0])), (float(seen[-1]), self.high)):
            if stop - start <= max(_BESIDE, 0.02 * (self.high - self.low)):
                continue
            a, b = sorted((float(self.x(start)), float(self.x(stop))))
            frame = {"x": a, "y": top, "width": b - a, "height": bottom - top}
            parts.append(svg_tag("rect", **frame, fill="none", stroke=INK, stroke_dasharray="3 4"))
            middle, y = (a + b) / 2 + 5, (top + bottom) / 2
            turn = f"rotate(-90 {middle:.1f} {y:.1f})"
            parts.append(svg_text(middle, y, "not seen", "middle", "s", transform=turn))
        return parts

    def _named(self, y: Place) -> list[str]:
        """The worst places, with their numbers and stations where one's words leave room."""
        parts: list[str] = []
        taken: list[tuple[bool, float]] = []
        for station, deviation in worst_places(self.check):
            x, at = float(self.x(station)), float(y(deviation))
            name, over = ("proud", not self.below) if deviation > 0.0 else ("short", self.below)
            words = f"{name} {abs(deviation):.2f} at {station:.0f}"
            place = min(max(x, _LEFT + 70.0), _WIDTH - _RIGHT - 70.0)
            parts.append(svg_tag("circle", cx=x, cy=at, r=4.5, fill="#fff", stroke=INK,
                              stroke_width=2))  # fmt: skip
            if all(above != over or abs(x - place) > _APART for above, x in taken):
                taken.append((over, place))
                parts.append(
                    svg_text(place, at + (-10.0 if over else 24.0), words, "middle", "b h")
                )
        return parts

    def _key(self, larger: str) -> list[str]:
        """What the kinds of areas mean, and how much larger across than along it is."""
        x, y, parts = _LEFT, 16.0, []
        for fill, words in (
            ("url(#m-proud)", "proud beyond U"),
            ("url(#m-short)", "short beyond U"),
            (BAND, "U (k = 2)"),
        ):
            box = {"x": x, "y": y - 11, "width": 22, "height": 13}
            parts.append(svg_tag("rect", **box, fill=fill, stroke=INK, stroke_width=0.6))
            parts.append(svg_text(x + 27, y, words, "start", "s"))
            x += 34.0 + 8.0 * len(words)
        parts.append(svg_text(_WIDTH - _RIGHT, y, f"{larger} as large across as along", "end", "s"))
        return parts


def _runs(mask: Mask) -> list[tuple[int, int]]:
    """(first, past the last) of the stretches that are set, each with its neighbours."""
    edges = np.flatnonzero(np.diff(np.r_[False, mask, False].astype(int)))
    pairs = zip(edges[::2], edges[1::2], strict=True)
    return [(max(int(a) - 1, 0), min(int(b) + 1, len(mask))) for a, b in pairs]
