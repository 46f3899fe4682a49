"""SVG -> lines in mm, as svgelements reads it: paths and shapes, with every transform.

Its size is its own (width and height in mm, inch or another length, with viewBox and
preserveAspectRatio as SVG 2 has them), or the unit that is stated is that of its viewBox. y down
there becomes y up here, from the upper edge of the page. What is hidden by a clip or a mask would
still be drawn here: it is refused.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np
import numpy.typing as npt

from scribe.capture.numbers.drawing_file import CHORD_MM, clean, no_units, nothing_drawn, refuse
from scribe.standards import MM_PER_INCH

Array = npt.NDArray[np.float64]

# CSS Values and Units 4, 6.2: absolute lengths. A px is 1/96 inch, and says nothing of a size.
_MM = {"mm": 1.0, "cm": 10.0, "q": 0.25, "in": MM_PER_INCH,
       "pt": MM_PER_INCH / 72.0, "pc": MM_PER_INCH / 6.0}  # fmt: skip
_PX_MM = MM_PER_INCH / 96.0
_LENGTH = re.compile(r"\+?(\d+\.?\d*(?:e[+-]?\d+)?|\.\d+)\s*([a-z]+)", re.IGNORECASE)
# SVG 2, 9.3: the letters of path data; what else stands there ends the path for whoever draws it.
_PATH = re.compile(r"[\sMmZzLlHhVvCcSsQqTtAaEe0-9+\-.,]*")
_LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"  # the name of a layer, as people see
_HIDES = ("clip-path", "mask")
_STRAIGHT = ("Line", "Close")


def svg_lines(path: Path, name: str | None, unit_mm: float | None) -> list[Array]:
    """(N, 2) mm for everything drawn under an id or a layer's name, or in all of it."""
    import svgelements

    root = _root(path)
    _refuse_hidden(root, name, path)
    mm = _sized(root, path, unit_mm)
    try:
        drawing: Any = svgelements.SVG.parse(BytesIO(ET.tostring(root)), reify=True, ppi=96.0)
    except (ValueError, SyntaxError, AttributeError, ZeroDivisionError) as error:
        raise refuse("drawing-unreadable", path, "it can't be read", "save it again") from error
    shapes = [it for it in _named(drawing, name) if isinstance(it, svgelements.Shape)]
    found = []
    for shape in shapes:
        # A shape that was turned keeps its transform: only its path can take it on.
        for part in svgelements.Path(shape).reify().as_subpaths():
            points = _flat(svgelements.Path(part), mm)
            found.append(clean(points * [mm, -mm]) if len(points) else points)
    lines = [each for each in found if len(each) > 1]
    if not lines:
        there = drawing.elements(lambda it: isinstance(it, svgelements.Shape))
        raise nothing_drawn(path, name, (it.id for it in there if it.id))
    return lines


def _root(path: Path) -> ET.Element:
    try:
        root = ET.parse(path).getroot()  # noqa: S314 - expat stops entities that grow
    except (OSError, ET.ParseError, ValueError) as error:
        raise refuse("drawing-unreadable", path, "it can't be read", "save it again") from error
    if root.tag.rpartition("}")[2] != "svg":
        raise refuse("drawing-unreadable", path, "it is no SVG", "save it again as SVG")
    for element in root.iter():
        beyond = _PATH.sub("", element.get("d", ""), count=1)
        if beyond:
            what = f"the data of a path break off at {beyond[:12]!r}"
            raise refuse("drawing-unreadable", path, what, "save it again")
        if element.tag.endswith("}symbol") and element.get("viewBox"):
            what = "it has symbols of a size of their own, which can't be read"
            raise refuse("drawing-entity", path, what, "turn them into paths, and save again")
    return root


def _sized(root: ET.Element, path: Path, unit_mm: float | None) -> float:
    """mm of a px, once width and height are written into the root in px.

    So the reader does what SVG says of viewBox, and lengths are ours: its own have the wrong size
    for some units and a rounded inch for others.
    """
    width, height = (_length_mm(root.get(side)) for side in ("width", "height"))
    box = [float(part) for part in re.findall(r"[-+.\de]+", root.get("viewBox", ""))]
    if len(box) != 4 or min(box[2:]) <= 0.0:
        box = []
    if box and _is_auto(root):
        if width is None and height is not None:
            width = height * box[2] / box[3]
        elif height is None and width is not None:
            height = width * box[3] / box[2]
    if width is not None and height is not None:
        if unit_mm is not None:
            raise refuse(
                "drawing-units",
                path,
                "it says its size itself, and a unit is stated as well",
                "leave out {unit}, or save it without a size",
            )
        root.set("width", repr(width / _PX_MM))
        root.set("height", repr(height / _PX_MM))
        return _PX_MM
    if unit_mm is None:
        raise no_units(path)
    for side, size in zip(("width", "height"), box[2:] or (1000.0, 1000.0), strict=True):
        root.set(side, repr(size))  # a unit of its viewBox is a px, and a px what was stated
    return unit_mm


def _length_mm(typed: str | None) -> float | None:
    match = _LENGTH.fullmatch((typed or "").strip())
    if match is None or match[2].lower() not in _MM or float(match[1]) <= 0.0:
        return None
    return float(match[1]) * _MM[match[2].lower()]


def _is_auto(root: ET.Element) -> bool:
    """One side isn't stated: it follows from the other and the viewBox."""
    return root.get("width", "auto") == "auto" or root.get("height", "auto") == "auto"


def _named(drawing: Any, name: str | None) -> Iterator[Any]:
    """Every element, or those of one id or layer and what is inside of it."""
    if name is None:
        yield from drawing.elements()
        return
    for element in drawing.elements(lambda each: name in _names(each)):
        yield element
        if hasattr(element, "select"):
            yield from (each for each in element.select() if each is not element)


def _names(element: Any) -> tuple[Any, Any]:
    values = getattr(element, "values", None) or {}
    own = values.get("attributes", values)  # what stands at the element itself, not above it
    return getattr(element, "id", None), own.get(_LABEL)


def _refuse_hidden(root: ET.Element, name: str | None, path: Path) -> None:
    """Whatever hides a part of what is meant: at it, above it, or inside of it."""
    above = {child: parent for parent in root.iter() for child in parent}
    meant = [it for it in root.iter() if name in (None, it.get("id"), it.get(_LABEL))]
    looked = {it for one in meant for it in one.iter()}
    for one in meant:
        while one in above:
            one = above[one]
            looked.add(one)
    for key in _HIDES:
        if any(_stated(element, key) != "none" for element in looked):
            raise refuse(
                "drawing-hidden",
                path,
                f"a {key} may hide a part of what is drawn, and all of it would be read",
                "release it in the drawing program, and save again",
            )


def _stated(element: ET.Element, key: str) -> str:
    """As an attribute or in the element's style."""
    styled = re.search(rf"(?:^|;)\s*{key}\s*:\s*([^;]+)", element.get("style", ""))
    return (styled[1] if styled else element.get(key, "none")).strip()


def _flat(path: Any, px_mm: float) -> Array:
    """(N, 2) px: every segment halved until its chord is near enough."""
    points: list[tuple[float, float]] = []
    for segment in path:
        kind = type(segment).__name__
        if kind == "Move" or segment.start is None or segment.end is None:
            continue
        count = 1 if kind in _STRAIGHT else _count(segment, px_mm)
        if not points:
            points.append((float(segment.start.x), float(segment.start.y)))
        for k in range(1, count + 1):
            at = segment.point(k / count)
            points.append((float(at.x), float(at.y)))
    return np.array(points, np.float64).reshape(-1, 2)


def _count(segment: Any, px_mm: float) -> int:
    """Into how many parts of equal parameter a curve is cut (second differences bound the sag)."""
    count = 8
    while count < 4096:
        at = [segment.point(k / (2 * count)) for k in range(2 * count + 1)]
        xy = np.array([[float(p.x), float(p.y)] for p in at])
        sag = xy[1::2] - (xy[:-1:2] + xy[2::2]) / 2.0
        if float(np.hypot(*sag.T).max()) * px_mm <= CHORD_MM:
            return count
        count *= 2
    return count
