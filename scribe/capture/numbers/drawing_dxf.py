"""DXF -> lines in mm, as ezdxf reads it: lines, arcs, circles, polylines with bulges, splines,
ellipses, and what blocks are made of.

Its unit is its own ($INSUNITS), or where it has none the one stated. What lies on a layer that is
frozen or off is left out unless that layer is named. A line that leaves the plane of the drawing
is refused: seen from above it would be too short.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from scribe.capture.numbers.drawing_file import CHORD_MM, clean, no_units, nothing_drawn, refuse

Array = npt.NDArray[np.float64]

_KINDS = ("LINE", "ARC", "CIRCLE", "LWPOLYLINE", "POLYLINE", "SPLINE", "ELLIPSE")
# What shows a shape as well, and can't be read as a line.
_SHAPES = ("3DFACE", "3DSOLID", "BODY", "HELIX", "MESH", "MLINE", "REGION", "SOLID", "SURFACE")
_DEEP = 16  # blocks in blocks
_SAME_UNIT = 1e-6  # of a unit: what two ways to write an inch differ by
_PARTS = 32  # into which a free curve is cut at least, from knot to knot


def dxf_lines(path: Path, layer: str | None, unit_mm: float | None) -> list[Array]:
    """(N, 2) mm for everything drawn on a layer, or on all that are shown."""
    document = _document(path)
    unit = _unit(document, path, unit_mm)
    entities = [
        (entity, on) for entity, on in _entities(document.modelspace(), None) if _shown(entity)
    ]
    meant = [entity for entity, on in entities if _meant(document, on, layer)]
    for entity in meant:
        if entity.dxftype() in _SHAPES:
            what = f"{entity.dxftype()} is drawn there, and can't be read as a line"
            raise refuse("drawing-entity", path, what, "explode it, or draw its edge as a line")
    found = [_flat(entity, unit, path) for entity in meant if entity.dxftype() in _KINDS]
    lines = [each for each in found if len(each) > 1]
    if not lines:
        there = (on for entity, on in entities if entity.dxftype() in _KINDS)
        raise nothing_drawn(path, layer, there)
    return lines


def _document(path: Path) -> Any:
    from ezdxf.filemanagement import readfile
    from ezdxf.lldxf.const import DXFError

    try:
        return readfile(path)
    except (OSError, DXFError, ValueError) as error:
        raise refuse("drawing-unreadable", path, "it can't be read", "save it again") from error


def _unit(document: Any, path: Path, stated: float | None) -> float:
    """mm of a drawing unit by $INSUNITS (the format's reference), whose 0 says nothing; else as
    stated, which must not contradict it.
    """
    from ezdxf.enums import InsertUnits
    from ezdxf.units import conversion_factor

    own = int(document.header.get("$INSUNITS", 0))
    try:
        found = conversion_factor(InsertUnits(own), InsertUnits.Millimeters) if own else None
    except (KeyError, TypeError, ValueError, IndexError):
        found = None  # a number that means no unit
    unit = stated if found is None else found
    if unit is None:
        raise no_units(path)
    if stated is not None and abs(stated - unit) > _SAME_UNIT * unit:
        raise refuse(
            "drawing-units",
            path,
            f"by itself its unit is {unit:g} mm, and one of {stated:g} mm is stated as well",
            "leave out {unit}, or give the drawing its true unit in the drawing program",
        )
    return unit


def _entities(space: Any, layer: str | None, deep: int = 0) -> Iterator[tuple[Any, str]]:
    """Every entity and its layer; what is on layer 0 of a block takes that of the block."""
    for entity in space:
        on = entity.dxf.get("layer", "0")
        on = layer if layer is not None and on == "0" else on
        if entity.dxftype() != "INSERT":
            yield entity, on
        elif deep < _DEEP:
            for one in entity.multi_insert() if entity.mcount > 1 else (entity,):
                yield from _entities(one.virtual_entities(), on, deep + 1)


def _shown(entity: Any) -> bool:
    return not entity.dxf.get("invisible", 0)


def _meant(document: Any, on: str, layer: str | None) -> bool:
    """By its name, in small letters or capitals; without one, whatever is shown."""
    if layer is not None:
        return on.lower() == layer.lower()
    known = document.layers.get(on) if document.layers.has_entry(on) else None
    return known is None or not (known.is_off() or known.is_frozen())


def _flat(entity: Any, unit: float, path: Path) -> Array:
    points = np.array(_vertices(entity, CHORD_MM / unit), np.float64).reshape(-1, 3) * unit
    if len(points) and not np.isfinite(points).all():
        raise refuse("drawing-unreadable", path, "a coordinate is no number", "save it again")
    rise = float(np.ptp(points[:, 2])) if len(points) else 0.0
    if rise > CHORD_MM:
        raise refuse(
            "drawing-deep",
            path,
            f"its {entity.dxftype()} rises {rise:.1f} mm out of the drawing's plane",
            "turn the edge into the plane of the drawing (x, y), and save it flat",
        )
    return clean(points[:, :2])


def _vertices(entity: Any, sag: float) -> list[tuple[float, float, float]]:
    """Points of one entity, its arcs cut from the circle itself: Bezier curves would be off by
    a four-thousandth of the radius.
    """
    kind = entity.dxftype()
    if kind == "LINE":
        return [tuple(end) for end in (entity.dxf.start, entity.dxf.end)]
    if kind in ("LWPOLYLINE", "POLYLINE"):
        points: list[tuple[float, float, float]] = []
        for part in entity.virtual_entities():
            own = _vertices(part, sag)
            if points and _apart(own[-1], points[-1]) < _apart(own[0], points[-1]):
                own.reverse()  # an arc runs counter-clockwise, whichever way the line goes
            points += own
        return points
    if kind in ("SPLINE", "ELLIPSE"):  # a chord is looked at in its middle alone: many, and half
        flat = entity.flattening(sag / 2.0, segments=_PARTS)
    else:
        flat = entity.flattening(sag)
    return [(float(v.x), float(v.y), float(v.z)) for v in flat]


def _apart(one: tuple[float, float, float], other: tuple[float, float, float]) -> float:
    return float(np.linalg.norm(np.subtract(one, other)))
