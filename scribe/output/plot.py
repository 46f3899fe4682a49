"""How far an outline departs from its datum, as a small SVG inside a page.

Deviations are drawn larger than lengths; by how much is written beside the plot. The band
is U (k = 2) drawn at the deviations' scale; stretches nobody measured are dashed.
"""

from __future__ import annotations

from html import escape
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from scribe.outline import Outline
from scribe.quantity import format_mm

Array = npt.NDArray[np.float64]

_WIDTH, _HEIGHT = 720.0, 240.0
_LEFT, _RIGHT, _TOP, _BELOW = 56.0, 16.0, 20.0, 40.0


def deviation_plot(outline: Outline, title: str) -> str:
    """An <svg> element; it takes its colours from the page (currentColor, --accent, --band)."""
    station, deviation = _profile(outline)
    low, high = float(station.min()), float(station.max())
    bottom = float((deviation - outline.U).min())
    top = float((deviation + outline.U).max())
    pad = max(0.08 * (top - bottom), 0.05)
    bottom, top = bottom - pad, top + pad
    across = (_WIDTH - _LEFT - _RIGHT) / max(high - low, 1e-9)
    up = (_HEIGHT - _TOP - _BELOW) / (top - bottom)

    def place(s: Array, d: Array) -> str:
        x, y = _LEFT + (s - low) * across, _HEIGHT - _BELOW - (d - bottom) * up
        return " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(x, y, strict=True))

    band = place(
        np.concatenate([station, station[::-1]]),
        np.concatenate([deviation + outline.U, (deviation - outline.U)[::-1]]),
    )
    box = f'viewBox="0 0 {_WIDTH:.0f} {_HEIGHT:.0f}"'
    parts = [
        f'<svg class="plot" {box} role="img" aria-label="{escape(title, quote=True)}">',
        f'<polygon points="{band}" fill="var(--band)" stroke="none"/>',
    ]
    for s in ticks(low, high):
        x = _LEFT + (s - low) * across
        parts.append(_tick(x, _HEIGHT - _BELOW, x, _TOP))
        parts.append(_label(x, _HEIGHT - _BELOW + 18, format_mm(s, 0), "middle"))
    for d in ticks(bottom, top, most=5):
        y = _HEIGHT - _BELOW - (d - bottom) * up
        parts.append(_tick(_LEFT, y, _WIDTH - _RIGHT, y))
        parts.append(_label(_LEFT - 6, y + 5, format_mm(d, 2), "end"))
    for measured, first, last in _runs(outline.measured):
        dash = "" if measured else ' stroke-dasharray="6 5"'
        piece = place(station[first : last + 1], deviation[first : last + 1])
        parts.append(
            f'<polyline points="{piece}" fill="none" stroke="var(--accent)"'
            f' stroke-width="2.5"{dash}/>'
        )
    parts.append(_label(_WIDTH - _RIGHT, _HEIGHT - 4, "station, mm", "end"))
    parts.append(_label(4, 14, "deviation, mm", "start"))
    factor = up / across
    parts.append("</svg>")
    words = (
        f"Deviations are drawn {times(factor)} as tall as lengths; the band is U (k = 2)."
        f"{_building(outline)}"
    )
    return "".join(parts) + f'<p class="small">{words}</p>'


def _profile(outline: Outline) -> tuple[Array, Array]:
    from_datum = outline.points - outline.datum.origin
    return from_datum @ outline.datum.direction, from_datum @ outline.datum.towards


def _building(outline: Outline) -> str:
    """On which side of the drawn line the building lies."""
    travel = outline.points[-1] - outline.points[0]
    if outline.closed:
        return ""
    above = (outline.solid == "left") == bool(travel @ outline.datum.direction > 0.0)
    return f" The building lies {'above' if above else 'below'} the line."


def times(factor: float) -> str:
    """By how much deviations are drawn larger than lengths."""
    return f"{format_mm(factor, 0 if factor >= 3 else 1)} times"


def ticks(low: float, high: float, most: int = 8) -> list[float]:
    """Round values from low to high, no more than most steps apart."""
    steps = (n * 10.0**p for p in range(-3, 5) for n in (1, 2, 5))
    step = next(step for step in steps if (high - low) / step <= most)
    return [float(t) for t in np.arange(np.ceil(low / step), np.floor(high / step) + 1) * step]


def _runs(mask: npt.NDArray[np.bool_]) -> list[tuple[bool, int, int]]:
    """Stretches of measured and unmeasured segments: (measured, first point, last point)."""
    known = mask[:-1] & mask[1:]
    bounds = [0, *(np.flatnonzero(np.diff(known.astype(int))) + 1).tolist(), len(known)]
    return [(bool(known[a]), a, b) for a, b in pairwise(bounds)]


def _tick(x0: float, y0: float, x1: float, y1: float) -> str:
    return (
        f'<line x1="{x0:.1f}" y1="{y0:.1f}" x2="{x1:.1f}" y2="{y1:.1f}"'
        ' stroke="currentColor" stroke-opacity="0.18"/>'
    )


def _label(x: float, y: float, words: str, anchor: str) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="15"'
        f' fill="currentColor">{escape(words)}</text>'
    )
