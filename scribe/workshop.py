"""Workshop: the saw, the stock, the parts to be sawn and the shelves to be judged, from a TOML.

    [from]      carcasses, strips: names of the sheets that the room's own parts are sawn from
    [saw]       kerf, tilt, mitre (degrees it turns), thickness (of boards sawn to the room)
    [[sheet]]   name, length (with the grain), width, trim, count
    [[board]]   name, length, trim, count
    [[plank]]   name, width as measured, strip (width wanted), trim
    [[part]]    name, from (a sheet's or board's name), length, width, count, turns,
                allowance = { left, right, top, bottom }
    [[member]]  name, bays, depth, thickness, material, per_metre and middle (kg), ends, limit,
                lipping = { material, breadth, height, place }
    [[moulding]]  name, spring (degrees) or drop and projection, spring_U, corner, corner_U

Lengths are read as everywhere: numbers are mm, texts may carry a unit.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from scribe.cutting import Board, Part, Sheet
from scribe.materials import MATERIALS
from scribe.member import ENDS, PLACES, USUAL_LIMIT, Lipping, Member
from scribe.saw import SAW_MITRE_DEG, USUAL_KERF, Moulding, Saw
from scribe.toml_table import Table
from scribe.tools import SAW_TILT_DEG
from scribe.workshop_moulding import read_moulding

KEYS = ("from", "saw", "sheet", "board", "plank", "part", "member", "moulding")
USUAL_THICKNESS = 18.0  # of boards sawn to a room (common practice, no source)
MOST_PARTS = 999
_SIDES = ("left", "right", "top", "bottom")
_MATERIALS = tuple(MATERIALS)


@dataclass(frozen=True)
class Plank:
    """A plank of measured width to be ripped into strips. trim: lost at both edges, mm."""

    name: str
    width: float
    strip: float
    trim: float = 0.0


@dataclass(frozen=True)
class Workshop:
    """thickness: mm of the boards whose sawn ends are worked out. carcasses, strips: names of the
    sheets that the room's carcasses and scribe strips are sawn from, None when they aren't.
    """

    saw: Saw = field(default_factory=Saw)
    thickness: float = USUAL_THICKNESS
    sheets: tuple[Sheet, ...] = ()
    boards: tuple[Board, ...] = ()
    planks: tuple[Plank, ...] = ()
    parts: tuple[Part, ...] = ()
    members: tuple[Member, ...] = ()
    mouldings: tuple[Moulding, ...] = ()
    carcasses: str | None = None
    strips: str | None = None


def read_workshop(top: Table) -> Workshop:
    """The workshop's tables of a file; other tables are left to others."""
    saw, thickness = _saw(top)
    sheets = tuple(_sheet(each) for each in _tables(top, "sheet"))
    boards = tuple(_board(each) for each in _tables(top, "board"))
    return Workshop(
        saw=saw,
        thickness=thickness,
        sheets=sheets,
        boards=boards,
        planks=tuple(_plank(each) for each in _tables(top, "plank")),
        parts=tuple(_part(each, sheets, boards) for each in _tables(top, "part")),
        members=tuple(_member(each) for each in _tables(top, "member")),
        mouldings=tuple(read_moulding(each) for each in _tables(top, "moulding")),
        carcasses=_from(top, "carcasses", sheets),
        strips=_from(top, "strips", sheets),
    )


def _tables(top: Table, key: str) -> list[Table]:
    return top.tables(key) if key in top else []


def _from(top: Table, key: str, sheets: tuple[Sheet, ...]) -> str | None:
    if "from" not in top:
        return None
    table = top.table("from")
    table.allow("carcasses", "strips")
    names = tuple(dict.fromkeys(sheet.name for sheet in sheets))
    return table.choice(key, names) if key in table else None


def _saw(top: Table) -> tuple[Saw, float]:
    if "saw" not in top:
        return Saw(), USUAL_THICKNESS
    table = top.table("saw")
    table.allow("kerf", "tilt", "mitre", "thickness")
    saw = Saw(
        kerf=_length(table, "kerf", USUAL_KERF),
        tilt_deg=table.number("tilt", 0.0, 60.0) if "tilt" in table else SAW_TILT_DEG,
        mitre_deg=table.number("mitre", 0.0, 80.0) if "mitre" in table else SAW_MITRE_DEG,
    )
    return saw, _length(table, "thickness", USUAL_THICKNESS)


def _sheet(table: Table) -> Sheet:
    table.allow("name", "length", "width", "trim", "count")
    _need(table, "name", "length", "width")
    length, width = table.length("length", zero=False), table.length("width", zero=False)
    trim = _length(table, "trim", 0.0)
    if 2 * trim >= min(length, width):
        raise table.wrong("trim", "what a factory edge loses, such as 10")
    return Sheet(table.text("name"), length, width, trim, _count(table))


def _board(table: Table) -> Board:
    table.allow("name", "length", "trim", "count")
    _need(table, "name", "length")
    length, trim = table.length("length", zero=False), _length(table, "trim", 0.0)
    if 2 * trim >= length:
        raise table.wrong("trim", "what an end loses, such as 20")
    return Board(table.text("name"), length, trim, _count(table))


def _plank(table: Table) -> Plank:
    table.allow("name", "width", "strip", "trim")
    _need(table, "name", "width", "strip")
    return Plank(
        table.text("name"),
        table.length("width", zero=False),
        table.length("strip", zero=False),
        _length(table, "trim", 0.0),
    )


def _part(table: Table, sheets: tuple[Sheet, ...], boards: tuple[Board, ...]) -> Part:
    table.allow("name", "from", "length", "width", "count", "turns", "allowance")
    _need(table, "name", "from", "length")
    names = dict.fromkeys([*(each.name for each in sheets), *(each.name for each in boards)])
    stock = table.choice("from", tuple(names))
    of_sheet = stock in [sheet.name for sheet in sheets]
    if of_sheet:
        _need(table, "width")
    elif "width" in table:
        raise table.refuse(
            "job-key", "width", f"a part of the board {stock} is as wide as the board",
            "leave width out, or state the board as a [[sheet]] to be ripped",
        )  # fmt: skip
    return Part(
        name=table.text("name"),
        stock=stock,
        finished_length=table.length("length", zero=False),
        finished_width=table.length("width", zero=False) if of_sheet else None,
        count=_count(table) or 1,
        allowance=_allowance(table),
        turns=_yes(table, "turns"),
    )


def _allowance(table: Table) -> tuple[float, float, float, float]:
    if "allowance" not in table:
        return 0.0, 0.0, 0.0, 0.0
    sides = table.table("allowance")
    sides.allow(*_SIDES)
    left, right, top, bottom = (_length(sides, side, 0.0) for side in _SIDES)
    return left, right, top, bottom


def _member(table: Table) -> Member:
    table.allow(
        "name", "bays", "depth", "thickness", "material", "per_metre", "middle", "ends",
        "limit", "lipping",
    )  # fmt: skip
    _need(table, "name", "bays", "depth", "thickness", "material")
    return Member(
        name=table.text("name"),
        bays=_bays(table),
        depth=table.length("depth", zero=False),
        thickness=table.length("thickness", zero=False),
        material=table.choice("material", _MATERIALS),
        per_metre=table.number("per_metre", 0.0, 500.0) if "per_metre" in table else 0.0,
        middle=table.number("middle", 0.0, 500.0) if "middle" in table else 0.0,
        ends=table.choice("ends", ENDS) if "ends" in table else "supported",
        lipping=_lipping(table.table("lipping")) if "lipping" in table else None,
        limit=table.number("limit", 50.0, 2000.0) if "limit" in table else USUAL_LIMIT,
    )


def _bays(table: Table) -> tuple[float, ...]:
    value = table.values["bays"]
    bays = table.lengths("bays", len(value) if isinstance(value, list) else 1)
    if not bays or min(bays) <= 0.0:
        raise table.wrong("bays", "the clear spans, such as [780] or [600, 600]")
    return bays


def _lipping(table: Table) -> Lipping:
    table.allow("material", "breadth", "height", "place")
    _need(table, "material", "breadth", "height")
    return Lipping(
        material=table.choice("material", _MATERIALS),
        breadth=table.length("breadth", zero=False),
        height=table.length("height", zero=False),
        place=table.choice("place", PLACES) if "place" in table else "front",
    )


def _need(table: Table, *keys: str) -> None:
    for key in keys:
        table.need(key, f"write {key} = ...")


def _length(table: Table, key: str, usual: float) -> float:
    return table.length(key) if key in table else usual


def _count(table: Table) -> int | None:
    if "count" not in table:
        return None
    count = table.number("count", 0.0, float(MOST_PARTS))
    if count != int(count):
        raise table.wrong("count", "a whole number")
    return int(count)


def _yes(table: Table, key: str) -> bool:
    if key not in table:
        return False
    value = table.values[key]
    if not isinstance(value, bool):
        raise table.wrong(key, "true or false")
    return value
