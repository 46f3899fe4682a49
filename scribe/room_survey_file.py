"""RoomSurvey from a TOML file: the readings of a room as a fitter writes them down.

Keys are explained in docs/survey.md. Lengths are millimetres; a text may carry its unit. What
is to be built, and the workshop's tables, stand in the same file and are read elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import fields
from typing import Any, get_args

from scribe.opening import ALONG, Plane, Side
from scribe.room_survey import (
    LENGTH_TOOLS,
    SURFACES,
    WALLS,
    BreakTaken,
    Corner,
    Deep,
    DepthTaken,
    DiagonalTaken,
    HeightTaken,
    Instruments,
    LeanTaken,
    Moulding,
    Obstacle,
    PlumbTaken,
    RoomSurvey,
    SlopeTaken,
    Spot,
    Taken,
    Walls,
    WidthTaken,
)
from scribe.toml_table import Table

SIDES: tuple[Side, ...] = get_args(Side)
PLANES: tuple[Plane, ...] = get_args(Plane)
READINGS = ("width", "height", "depth", "diagonal", "lean", "plumb", "slope", "break")
THINGS = ("skirting", "cornice", "obstacle")
KEYS = ("name", "slopes", "instruments", "walls", *READINGS, *THINGS)
_FLAT: tuple[str, ...] = ("floor", "ceiling")
_COMMON = ("name", "by", "U")
_MOULDING_U, _OBSTACLE_U = 2.0, 5.0  # mm, where none is stated (our estimates, no source)


def room_survey(top: Table) -> RoomSurvey:
    """The readings of a room's file, every key checked; keys of others are left alone."""
    readings: list[Taken] = []
    for kind in READINGS:
        for number, table in enumerate(_tables(top, kind), start=1):
            readings += _READERS[kind](table, _name(table, f"{kind} {number}"), number)
    mouldings = [
        _moulding(table, kind) for kind in ("skirting", "cornice") for table in _tables(top, kind)
    ]
    return RoomSurvey(
        name=top.text("name") if "name" in top else top.path.stem,
        path=top.path,
        readings=tuple(readings),
        slopes=top.choice("slopes", ALONG) if "slopes" in top else None,
        instruments=Instruments(**_lengths(top, "instruments", Instruments)),
        walls=Walls(**_lengths(top, "walls", Walls)),
        mouldings=tuple(mouldings),
        obstacles=tuple(_obstacle(t, n) for n, t in enumerate(_tables(top, "obstacle"), start=1)),
    )


def _tables(top: Table, key: str) -> list[Table]:
    return top.tables(key) if key in top else []


def _lengths(top: Table, key: str, kind: type[Instruments] | type[Walls]) -> dict[str, float]:
    if key not in top:
        return {}
    table = top.table(key)
    table.allow(*(each.name for each in fields(kind)))
    return {name: table.length(name, zero=False) for name in table.values}


def _name(table: Table, usual: str) -> str:
    return table.text("name") if "name" in table else usual


def _common(table: Table, name: str, by: tuple[str, ...] = LENGTH_TOOLS) -> dict[str, Any]:
    table.need("reads", f"write what was read, such as reads = 1203 ({name})")
    return {
        "name": name,
        "where": table.where("reads"),
        "U": table.length("U", zero=False) if "U" in table else None,
        "by": table.choice("by", by) if "by" in table else by[0],
    }


def _deep(table: Table, key: str) -> Deep:
    if key not in table:
        return 0.0
    return "back" if table.values[key] == "back" else table.length(key)


def _optional(table: Table, key: str) -> float:
    return table.length(key) if key in table else 0.0


def _width(table: Table, name: str, _number: int) -> Iterator[Taken]:
    table.allow(*_COMMON, "reads", "height", "depth")
    table.need("height", "say how far above the floor it was taken")
    yield WidthTaken(
        reads=table.length("reads", zero=False),
        height=table.length("height"),
        depth=_deep(table, "depth"),
        **_common(table, name),
    )


def _height(table: Table, name: str, _number: int) -> Iterator[Taken]:
    table.allow(*_COMMON, "reads", "from", "distance", "depth")
    yield HeightTaken(depth=_deep(table, "depth"), **_from_a_side(table), **_common(table, name))


def _depth(table: Table, name: str, _number: int) -> Iterator[Taken]:
    table.allow(*_COMMON, "reads", "from", "distance", "height")
    height = _optional(table, "height")
    yield DepthTaken(height=height, **_from_a_side(table), **_common(table, name))


def _from_a_side(table: Table) -> dict[str, Any]:
    """What was read, and how far from which side wall."""
    table.need("from", 'say from which side wall its place is measured: from = "left"')
    return {
        "reads": table.length("reads", zero=False),
        "side": table.choice("from", SIDES),
        "distance": _optional(table, "distance"),
    }


def _diagonal(table: Table, name: str, _number: int) -> Iterator[Taken]:
    table.allow(*_COMMON, "reads", "from", "to")
    table.need("from", 'name both corners, such as from = "bottom left front"')
    table.need("to", 'name both corners, such as to = "top right front"')
    start, end = _end(table, "from"), _end(table, "to")
    if start == end:
        raise table.wrong("to", "another corner than from")
    yield DiagonalTaken(
        reads=table.length("reads", zero=False), start=start, end=end, **_common(table, name)
    )


def _end(table: Table, key: str) -> Corner | Spot:
    """A corner in words, or a table that says where on which surface."""
    if not isinstance(table.values[key], dict):
        return _corner(table, key)
    inner = table.table(key)
    inner.allow("on", "height", "from_left", "depth")
    inner.need("on", f"say on which surface: {', '.join(SURFACES)}")
    on = inner.choice("on", SURFACES)
    inner.need("height" if on in SIDES else "from_left", "say where on it")
    return Spot(
        on,
        height=_optional(inner, "height"),
        from_left=_optional(inner, "from_left"),
        depth=_deep(inner, "depth"),
    )


def _corner(table: Table, key: str) -> Corner:
    """Three words in any order; left out, the front."""
    words = set(table.text(key).split())
    for end in ("bottom", "top"):
        for side in SIDES:
            for plane in PLANES:
                if words in ({end, side, plane}, {end, side} if plane == "front" else set()):
                    return Corner("bottom" if end == "bottom" else "top", side, plane)
    raise table.wrong(key, "a corner: bottom or top, left or right, front or back")


def _lean(table: Table, name: str, _number: int) -> Iterator[Taken]:
    table.allow(*_COMMON, "reads", "wall", "at", "low", "over")
    table.need("wall", 'say which wall: wall = "left"')
    table.need("over", "say over what height, such as the level's length")
    yield LeanTaken(
        reads=table.length("reads", negative=True),
        wall=table.choice("wall", WALLS),
        at=_deep(table, "at"),
        low=_optional(table, "low"),
        over=table.length("over", zero=False),
        **_common(table, name, ("level",)),
    )


def _plumb(table: Table, name: str, number: int) -> Iterator[Taken]:
    table.allow(*_COMMON, "reads", "wall", "at")
    table.need("wall", 'say which wall: wall = "left"')
    common = _common(table, name, ("plumb bob",))
    pairs = table.points("reads")
    if len(pairs) < 2:
        raise table.wrong("reads", "two or more [height, distance], as [[100, 52], [2000, 47]]")
    for height, distance in pairs:
        own = common | {"name": f"{name} at {height:g}"}
        yield PlumbTaken(
            reads=distance,
            line=number,
            wall=table.choice("wall", WALLS),
            at=_deep(table, "at"),
            height=height,
            **own,
        )


def _slope(table: Table, name: str, _number: int) -> Iterator[Taken]:
    table.allow(*_COMMON, "reads", "surface", "along", "start", "over", "at")
    table.need("surface", 'say which: surface = "floor" or "ceiling"')
    table.need("over", "say over what length, such as the level's")
    yield SlopeTaken(
        reads=table.length("reads", negative=True),
        surface="floor" if table.choice("surface", _FLAT) == "floor" else "ceiling",
        along=table.choice("along", ALONG) if "along" in table else "width",
        start=_optional(table, "start"),
        over=table.length("over", zero=False),
        at=_deep(table, "at"),
        **_common(table, name, ("level",)),
    )


def _break(table: Table, name: str, _number: int) -> Iterator[Taken]:
    table.allow(*_COMMON, "reads", "along")
    yield BreakTaken(
        reads=table.length("reads", zero=False),
        along=table.choice("along", ALONG) if "along" in table else "width",
        **_common(table, name),
    )


_READERS: dict[str, Callable[[Table, str, int], Iterator[Taken]]] = {
    "width": _width,
    "height": _height,
    "depth": _depth,
    "diagonal": _diagonal,
    "lean": _lean,
    "plumb": _plumb,
    "slope": _slope,
    "break": _break,
}


def _moulding(table: Table, kind: str) -> Moulding:
    table.allow("walls", "tall", "out", "U")
    table.need("tall", "say how far it goes up the wall")
    table.need("out", "say how far it stands out")
    named = table.texts("walls") if "walls" in table else WALLS
    walls = tuple(wall for wall in WALLS if wall in named)
    if len(walls) != len(named):
        raise table.wrong("walls", f"some of {', '.join(WALLS)}")
    return Moulding(
        "skirting" if kind == "skirting" else "cornice",
        walls,
        table.length("tall", zero=False),
        table.length("out", zero=False),
        table.length("U", zero=False) if "U" in table else _MOULDING_U,
    )


def _obstacle(table: Table, number: int) -> Obstacle:
    table.allow("name", "on", "along", "across", "size", "out", "U")
    for key in ("on", "along", "across", "size"):
        table.need(key, "say where it is: on, along, across, size")
    return Obstacle(
        _name(table, f"obstacle {number}"),
        table.choice("on", SURFACES),
        table.length("along"),
        table.length("across"),
        table.point("size"),
        table.length("out", zero=False) if "out" in table else None,
        table.length("U", zero=False) if "U" in table else _OBSTACLE_U,
    )
