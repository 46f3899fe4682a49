"""Parts of a drawing as SVG text: elements, lines, words, and the points of areas."""

from __future__ import annotations

from html import escape

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

INK, BAND = "#1d1b18", "#e3d9c8"


def svg_area(x: Array, one: Array, other: Array) -> str:
    """The points of an area between two lines over the same x."""
    return svg_points(np.r_[x, x[::-1]], np.r_[one, other[::-1]])


def svg_points(x: Array, y: Array) -> str:
    """Points as an attribute has them."""
    return " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(x, y, strict=True))


def svg_tag(name: str, content: str = "", /, **given: str | float) -> str:
    """An element; attributes are written as in SVG, class_ for class."""
    values = {key.rstrip("_").replace("_", "-"): value for key, value in given.items()}
    said = " ".join(
        f'{key}="{value if isinstance(value, str) else format(value, ".5g")}"'
        for key, value in values.items()
    )
    return f"<{name} {said}>{content}</{name}>" if content else f"<{name} {said}/>"


def svg_line(
    start: tuple[float, float],
    stop: tuple[float, float],
    *,
    width: float = 1.0,
    dashes: str = "none",
    kind: str = "line",
    faint: bool = False,
) -> str:
    """A straight line; kind: its class."""
    (x1, y1), (x2, y2) = start, stop
    return svg_tag("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=INK, stroke_width=width,
                   stroke_opacity=0.16 if faint else 1.0, stroke_dasharray=dashes,
                   class_=kind)  # fmt: skip


def svg_curve(points: str, kind: str) -> str:
    """A line through points; kind: its class."""
    return svg_tag("polyline", points=points, fill="none", stroke=INK, stroke_width=2.4,
                   stroke_linejoin="round", class_=kind)  # fmt: skip


def svg_text(
    x: float, y: float, words: str, anchor: str, look: str = "", **more: str | float
) -> str:
    """Words; look: b bold, s small, h with a white halo."""
    if "h" in look.split():
        more |= {"stroke": "#fff", "stroke_width": 4, "paint_order": "stroke"}
    if look:
        more["class_"] = look
    return svg_tag("text", escape(words), x=x, y=y, text_anchor=anchor, **more)
