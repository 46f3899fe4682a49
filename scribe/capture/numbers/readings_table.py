"""A table of readings as a fitter writes it: CSV with header words of the trade, in any unit.

station; offset (cm)        commas, tabs or semicolons part the columns; with semicolons
0; 1,25                     the decimal comma is read
2 3/8 in; 1,4               a cell may carry its own unit; without one it is the
header's, and mm if that has none
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import isfinite, radians, tan
from pathlib import Path

import numpy as np
import numpy.typing as npt

from scribe.capture.numbers.readings_text import Row, read_rows
from scribe.errors import ScribeError
from scribe.quantity import parse_length
from scribe.standards import MM_PER_INCH

Array = npt.NDArray[np.float64]

MOST_READINGS = 2000  # more take minutes and gigabytes, and no hand reads so many (our choice)

# What a column may be called: the trade's words (common practice, no source).
WORDS = {
    "station": ("station", "at", "along", "position", "chainage", "x"),
    "offset": ("offset", "distance", "gap", "depth", "y"),
    "step": ("step", "length", "level length"),
    "slope": ("slope", "rise", "gradient"),
    "fall": ("fall",),
    "a": ("a", "from a", "tape a"),
    "b": ("b", "from b", "tape b"),
    "c": ("c", "from c", "tape c"),
    "u95": ("u95", "u", "+/-"),
}
_LENGTHS = {
    "": "", "mm": "mm", "cm": "cm", "m": "m", "in": "in", "ft": "ft",
    "millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm",
    "centimetre": "cm", "centimetres": "cm", "centimeter": "cm", "centimeters": "cm",
    "metre": "m", "metres": "m", "meter": "m", "meters": "m",
    "inch": "in", "inches": "in", '"': "in", "\N{DOUBLE PRIME}": "in",
    "foot": "ft", "feet": "ft", "'": "ft",
}  # fmt: skip
_DEGREES = ("deg", "degrees", "\N{DEGREE SIGN}")
_SLOPES = {"": 1e-3, "mm/m": 1e-3, "%": 1e-2, "in/ft": 1.0 / 12.0}
_UNITS = {**dict.fromkeys([*_SLOPES, *_DEGREES]), **_LENGTHS}
_BRACKETED = re.compile(r"(.*?)\s*[\[(]\s*([^\])]*?)\s*[\])]")
_NUMBER = re.compile(r"[-+]?\s*(?:\d+[\s-]+)?\d+/\d+|[-+]?\s*[\d.,]+")
_WITH_UNIT = re.compile(rf"({_NUMBER.pattern})\s*(.*)")
# In a table with decimal commas a point before three digits may part thousands.
_POINTED = re.compile(r"[-+]?[1-9]\d{0,2}\.\d{3}(?!\d)")
_DECIMAL_POINT = re.compile(r"(?<!\d)0?\.\d|\.\d{1,2}(?!\d)|\.\d{4}|\d{4}\.\d")
_STEEPEST = 1.0  # rise over length: nobody lays a level on more than 45 degrees


@dataclass(frozen=True)
class ReadingsTable:
    """columns: name -> cells as typed. units: name -> unit of its header. lines: of the rows.

    pointed: in its numbers a point before three digits may be either a decimal point or not.
    """

    path: Path
    columns: dict[str, list[str]]
    units: dict[str, str]
    lines: list[int]
    pointed: bool = False

    def __contains__(self, name: str) -> bool:
        return name in self.columns

    def need(self, *names: str) -> None:
        """Refuse a table without these columns."""
        missing = [name for name in names if name not in self.columns]
        if missing:
            what = f"no column is called {' or '.join(missing)}"
            words = "; ".join(f"for {name}: {', '.join(WORDS[name])}" for name in missing)
            raise self.refuse("readings-column", what, f"name it in the first line ({words})")

    def lengths(self, name: str, *, blank: bool = False, signed: bool = False) -> Array:
        """(N,) mm; NaN where a cell is empty and may be."""
        return np.array([
            float("nan") if blank and not cell else self._length(name, row, signed)
            for row, cell in enumerate(self.columns[name])
        ])  # fmt: skip

    def slopes(self, name: str) -> Array:
        """(N,) rise over level length: from mm/m, degrees ("0.5 deg"), percent or in/ft."""
        return np.array([self._slope(name, k) for k in range(len(self.lines))])

    def refuse(self, kind: str, what: str, do: str, row: int | None = None) -> ScribeError:
        """A refusal about the table, or one of its rows."""
        line = "" if row is None else f", line {self.lines[row]}"
        return ScribeError(kind, what=what, where=f"{self.path}{line}", do=do)

    def _cell(self, name: str, row: int) -> str:
        cell = self.columns[name][row]
        if not cell:
            raise self.refuse(
                "readings-cell", f"the {name} is empty", "write it, or leave the row out", row
            )
        if self.pointed and _POINTED.match(cell):
            what = f"{cell!r} can be read in two ways beside decimal commas"
            do = f"write {cell.replace('.', '', 1)} or {cell.replace('.', ',', 1)}"
            raise self.refuse("readings-cell", what, do, row)
        return cell

    def _length(self, name: str, row: int, signed: bool) -> float:
        cell, unit = self._cell(name, row), self.units[name]
        if unit not in _LENGTHS:
            raise self.refuse("readings-unit", f"{unit!r} is no unit of length",
                              f"write {name} (mm), (cm), (m) or (in)")  # fmt: skip
        typed = f"{cell} {_LENGTHS[unit]}" if _NUMBER.fullmatch(cell) else cell
        try:
            return parse_length(typed.strip(), where=name, negative=signed)
        except ScribeError as error:
            raise self.refuse("readings-cell", f"{name}: {error.what}", error.do, row) from error

    def _slope(self, name: str, row: int) -> float:
        cell = self._cell(name, row).lower()
        found = _WITH_UNIT.fullmatch(cell)
        unit = (found[2] if found else "") or self.units[name]
        if unit not in _SLOPES and unit not in _DEGREES:
            raise self.refuse("readings-unit", f"{unit!r} is no unit of slope",
                              "write it in mm/m, in %, in in/ft or as 0.5 deg", row)  # fmt: skip
        value = _number(found[1]) if found else float("nan")
        slope = tan(radians(value)) if unit in _DEGREES else value * _SLOPES[unit]
        if not isfinite(slope):
            do = "write it in mm/m, in %, in in/ft or as 0.5 deg"
            raise self.refuse("readings-cell", f"{cell!r} is no slope", do, row)
        if abs(slope) > _STEEPEST or (unit in _DEGREES and abs(value) > 45.0):
            what = f"{cell!r} is steeper than 45 degrees"
            raise self.refuse("readings-cell", what, "correct it, or its unit", row)
        return slope


def read_table(path: Path) -> ReadingsTable:
    """Read the table; what can't be understood is refused with its line."""
    rows, separator = read_rows(path)
    empty = ReadingsTable(path, {}, {}, [])
    if len(rows) < 3:
        raise empty.refuse(
            "readings-few", "there are fewer than two readings", "write a header and the readings"
        )
    if len(rows) - 1 > MOST_READINGS:
        raise empty.refuse(
            "readings-many",
            f"{len(rows) - 1} readings are more than a hand takes, or than U can be worked out for",
            f"leave out rows until {MOST_READINGS} are left; a line that a machine measured goes "
            "into a CSV with the columns x_mm,y_mm,u95_mm, named as file = in the job file",
        )
    named = [_named(cell) for cell in rows[0].cells]
    if all(_NUMBER.fullmatch(cell) for cell in rows[0].cells):
        raise empty.refuse(
            "readings-column",
            "the first line has numbers where the names of the columns belong",
            "write a header above, such as station,offset",
        )
    for name in WORDS:
        twice = [cell for cell, (found, _) in zip(rows[0].cells, named, strict=True)
                 if found == name]  # fmt: skip
        if len(twice) > 1:
            what = f"{' and '.join(twice)} mean the same"
            raise empty.refuse("readings-column", what, "keep one of them")
    cells = [_filled(row, len(named), path) for row in rows[1:]]
    columns = {name: [row[k] for row in cells] for k, (name, _) in enumerate(named) if name}
    lines = [row.line for row in rows[1:]]
    pointed = separator == ";" and not any(
        _DECIMAL_POINT.search(cell) for column in columns.values() for cell in column
    )
    return ReadingsTable(
        path, columns, {name: unit for name, unit in named if name}, lines, pointed
    )


def _filled(row: Row, count: int, path: Path) -> list[str]:
    """As many cells as there are columns; those that were left out at the end are empty."""
    if len(row.cells) > count:
        raise ScribeError(
            "readings-cell",
            what=f"there are {len(row.cells)} values for {count} columns",
            where=f"{path}, line {row.line}",
            do="give every column one value; with decimal commas, part columns by semicolons",
        )
    return row.cells + [""] * (count - len(row.cells))


def _named(header: str) -> tuple[str, str]:
    """The column a header word means ("" for one that isn't read), and its unit."""
    whole = " ".join(header.lower().split())
    match = _BRACKETED.fullmatch(whole)
    word, unit = (match[1], match[2]) if match else (whole, "")
    before, _, last = whole.rpartition(" ")
    if not match and before and last in _UNITS:
        word, unit = before, last
    return next((name for name, words in WORDS.items() if word in words), ""), unit


def _number(text: str) -> float:
    """A plain number or a fraction: with the unit of an inch its decimals are read as ever."""
    sign = -1.0 if text.startswith("-") else 1.0
    try:
        return sign * parse_length(f"{text.lstrip('+-').strip()} in") / MM_PER_INCH
    except ScribeError:
        return float("nan")
