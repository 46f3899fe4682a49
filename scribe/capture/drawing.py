"""A drawing -> Outline: DXF by layer, SVG by the identity of a path or group.

Curves are flattened until no chord departs from them by more than `CHORD_MM`. Pieces that
meet end to end within `JOIN_MM` are put together in one line; where three ends meet, or more
than one line is left, nobody can tell which is meant and it is refused. Units: a DXF's own
($INSUNITS), an SVG's physical size (width, height, viewBox and every transform), y down there and
up here; where the file gives none they must be stated. Source of both: ezdxf and svgelements
read them.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.outline import Building, Outline, axis_facing, side_facing
from scribe.standards import MM_PER_INCH

Array = npt.NDArray[np.float64]

CHORD_MM = 0.01
JOIN_MM = 0.05
# $INSUNITS of a DXF (the format's reference): mm of one drawing unit; 0 says nothing.
_UNITS_MM = {1: MM_PER_INCH, 2: 12.0 * MM_PER_INCH, 4: 1.0, 5: 10.0, 6: 1000.0}
_KINDS = ("LINE", "ARC", "CIRCLE", "LWPOLYLINE", "POLYLINE", "SPLINE", "ELLIPSE")
_PHYSICAL = ("mm", "cm", "in", "pt", "pc", "q")  # CSS lengths that have a size on paper
_PX_MM = MM_PER_INCH / 96.0  # CSS Values and Units: a px is 1/96 inch


def read_drawing(
    path: Path, building: Building, *, choose: str | None, u95: float, unit_mm: float | None
) -> Outline:
    """The outline that a drawing shows.

    choose: a layer (DXF) or an id (SVG); None when there is but one line. u95: mm, U of its
    points. unit_mm: mm of a drawing unit, for a file that doesn't say.
    """
    kind = path.suffix.lower()
    if kind not in (".dxf", ".svg"):
        raise _refuse("drawing-kind", path, "it is neither .dxf nor .svg", "save it as one of them")
    pieces = _dxf(path, choose, unit_mm) if kind == ".dxf" else _svg(path, choose, unit_mm)
    if not pieces:
        what = f"nothing is drawn on {choose!r}" if choose else "nothing is drawn in it"
        raise _refuse("drawing-empty", path, what, "name a layer or id that has the line")
    points = _one_line(pieces, path)
    origin = f"drawing {path.name}" + (f", {choose}" if choose else "")
    return Outline(
        points,
        np.full(len(points), u95 / 2.0),
        side_facing(points, building, str(path)),
        datum=axis_facing(building),
        origin=origin,
    )


def _dxf(path: Path, layer: str | None, unit_mm: float | None) -> list[Array]:
    from ezdxf.filemanagement import readfile
    from ezdxf.lldxf.const import DXFError

    try:
        document = readfile(path)
    except (OSError, DXFError) as error:
        raise _refuse("drawing-unreadable", path, "it can't be read", "save it again") from error
    unit = unit_mm or _UNITS_MM.get(int(document.header.get("$INSUNITS", 0)))
    if unit is None:
        raise _no_units(path)
    found = []
    for entity in document.modelspace():
        if entity.dxftype() in _KINDS and layer in (None, entity.dxf.layer):
            flat = np.array(_vertices(entity, CHORD_MM / unit))
            found.append(_clean(flat * unit))
    return [each for each in found if len(each) > 1]


def _vertices(entity: Any, sag: float) -> list[tuple[float, float]]:
    """Points of one entity, its arcs cut from the circle itself: Bezier curves would be off by
    a four-thousandth of the radius.
    """
    kind = entity.dxftype()
    if kind == "LINE":
        ends = (entity.dxf.start, entity.dxf.end)
        return [(float(end.x), float(end.y)) for end in ends]
    if kind in ("LWPOLYLINE", "POLYLINE"):
        points: list[tuple[float, float]] = []
        for part in entity.virtual_entities():
            own = _vertices(part, sag)
            if points and np.hypot(*np.subtract(own[-1], points[-1])) < np.hypot(
                *np.subtract(own[0], points[-1])
            ):
                own.reverse()  # an arc runs counter-clockwise, whichever way the line goes
            points += own
        return points
    return [(float(v.x), float(v.y)) for v in entity.flattening(sag)]


def _svg(path: Path, name: str | None, unit_mm: float | None) -> list[Array]:
    import svgelements

    try:
        # Its user unit is a px; a file with a physical size is scaled by its own viewBox.
        drawing: Any = svgelements.SVG.parse(str(path), reify=True, ppi=96.0)
    except (OSError, ValueError, SyntaxError) as error:
        raise _refuse("drawing-unreadable", path, "it can't be read", "save it again") from error
    width = str(drawing.values.get("width", "")).strip().lower()
    px_mm = _PX_MM if width.endswith(_PHYSICAL) else unit_mm
    if px_mm is None:
        raise _no_units(path)
    found = []
    for element in _named(drawing, name):
        if not isinstance(element, svgelements.Shape):
            continue
        for part in svgelements.Path(element).as_subpaths():
            points = _flat(svgelements.Path(part), px_mm)
            if len(points) > 1:
                found.append(_clean(points * [px_mm, -px_mm]))
    return [each for each in found if len(each) > 1]


def _named(drawing: Any, name: str | None) -> Iterator[Any]:
    """Every element, or those of one id and what is inside of it."""
    if name is None:
        yield from drawing.elements()
        return
    for element in drawing.elements(lambda each: getattr(each, "id", None) == name):
        yield element
        if hasattr(element, "select"):
            yield from (each for each in element.select() if each is not element)


def _flat(path: Any, px_mm: float) -> Array:
    """(N, 2) px: every segment halved until its chord is near enough."""
    points: list[tuple[float, float]] = []
    for segment in path:
        kind = type(segment).__name__
        if kind == "Move" or segment.start is None or segment.end is None:
            continue
        count = 1 if kind in ("Line", "Close") else _count(segment, px_mm)
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


def _clean(points: Array) -> Array:
    """Without points that repeat the one before."""
    keep = np.concatenate([[True], np.hypot(*np.diff(points, axis=0).T) > 1e-9])
    return np.asarray(points[keep])


def _one_line(pieces: list[Array], path: Path) -> Array:
    """The pieces put end to end; refuses where ends branch or lines are left over."""
    ends = np.array([end for piece in pieces for end in (piece[0], piece[-1])])
    near = np.hypot(*(ends[:, None] - ends).transpose(2, 0, 1)) <= JOIN_MM
    if (near.sum(axis=1) > 2).any():
        x, y = ends[int(near.sum(axis=1).argmax())]
        raise _refuse(
            "drawing-branches",
            path,
            f"three lines or more meet at {x:.1f}, {y:.1f} mm, and nobody can tell which goes on",
            "put the line that is meant on a layer of its own, and name it",
        )
    left = list(pieces)
    line = left.pop(0)
    while left:
        for k, piece in enumerate(left):
            joined = _joined(line, piece)
            if joined is not None:
                line = joined
                left.pop(k)
                break
        else:
            raise _refuse(
                "drawing-parts",
                path,
                f"there are {1 + len(left)} lines that don't meet",
                "name the layer or id of the one that is meant, or close the gaps between them",
            )
    return line


def _joined(line: Array, piece: Array) -> Array | None:
    """Both as one where an end of the one lies on an end of the other."""
    for one in (line, line[::-1]):
        for other in (piece, piece[::-1]):
            if np.hypot(*(one[-1] - other[0])) <= JOIN_MM:
                return np.vstack([one, other[1:]])
    return None


def _no_units(path: Path) -> ScribeError:
    return _refuse(
        "drawing-units", path, "it doesn't say its units", "state them: --unit mm, cm, m or in"
    )


def _refuse(kind: str, path: Path, what: str, do: str) -> ScribeError:
    return ScribeError(kind, what=what, where=str(path), do=do)
