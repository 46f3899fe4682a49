"""A table of readings as a fitter writes it: CSV with header words of the trade, in any unit.

station; offset (cm)        commas or semicolons part the columns; with semicolons
0; 1,25                     the decimal comma is read
2 3/8 in; 1,4               a cell may carry its own unit; without one it is the
header's, and mm if that has none
"""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.quantity import parse_length

Array = npt.NDArray[np.float64]

# What a column may be called: the trade's words (common practice, no source).
WORDS = {
    "station": ("station", "at", "along", "x"),
    "offset": ("offset", "distance", "gap", "depth", "y"),
    "step": ("step", "length", "level length"),
    "slope": ("slope", "fall", "rise"),
    "a": ("a", "from a", "tape a"),
    "b": ("b", "from b", "tape b"),
    "c": ("c", "from c", "tape c"),
    "u95": ("u95", "u", "+/-"),
}
_HEADER = re.compile(r"\s*(.*?)\s*(?:[\[(]\s*([^\])]*?)\s*[\])])?\s*$")
_NUMBER = re.compile(r"[-+]?[\d.,]+")


@dataclass(frozen=True)
class ReadingsTable:
    """columns: name -> cells as typed. units: name -> unit of its header. lines: of the rows."""

    path: Path
    columns: dict[str, list[str]]
    units: dict[str, str]
    lines: list[int]

    def __contains__(self, name: str) -> bool:
        return name in self.columns

    def need(self, *names: str) -> None:
        """Refuse a table without these columns."""
        missing = [name for name in names if name not in self.columns]
        if missing:
            known = ", ".join(f"{name} ({' | '.join(WORDS[name])})" for name in missing)
            raise self.refuse("readings-column", f"there is no column {missing[0]}", f"add {known}")

    def lengths(self, name: str) -> Array:
        """(N,) mm."""
        return np.array([self._length(name, k) for k in range(len(self.lines))])

    def slopes(self, name: str) -> Array:
        """(N,) rise over length: from mm/m, degrees ("0.5 deg") or percent."""
        return np.array([self._slope(name, k) for k in range(len(self.lines))])

    def refuse(self, kind: str, what: str, do: str, row: int | None = None) -> ScribeError:
        """A refusal about the table, or one of its rows."""
        line = "" if row is None else f", line {self.lines[row]}"
        return ScribeError(kind, what=what, where=f"{self.path}{line}", do=do)

    def _length(self, name: str, row: int) -> float:
        cell = self.columns[name][row]
        typed = f"{cell} {self.units[name]}" if _NUMBER.fullmatch(cell) else cell
        try:
            return parse_length(typed.strip(), where=name, negative=True)
        except ScribeError as error:
            raise self.refuse("readings-cell", error.what, error.do, row) from error

    def _slope(self, name: str, row: int) -> float:
        cell = self.columns[name][row].lower()
        unit = self.units[name].lower() or "mm/m"
        match = re.fullmatch(r"([-+]?[\d.,]+)\s*(.*)", cell)
        scale = {"mm/m": 1e-3, "%": 1e-2}
        if match:
            unit = match[2].strip() or unit
            try:
                value = float(match[1].replace(",", "."))
            except ValueError:
                value = float("nan")
            if np.isfinite(value) and unit in scale:
                return value * scale[unit]
            if np.isfinite(value) and unit in ("deg", "degrees", "\u00b0") and abs(value) < 45.0:
                return float(np.tan(np.radians(value)))
        raise self.refuse(
            "readings-cell", f"{cell!r} is no slope", "write it in mm/m, in % or as 0.5 deg", row
        )


def read_table(path: Path) -> ReadingsTable:
    """Read the table; what can't be understood is refused with its line."""
    try:
        rows = path.read_text(encoding="utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise ScribeError(
            "readings-unreadable",
            what="the readings can't be read",
            where=str(path),
            do="give a text file (CSV) that is there",
        ) from error
    numbered = [(n, row) for n, row in enumerate(rows, 1) if row.strip() and row.strip()[0] != "#"]
    empty = ReadingsTable(path, {}, {}, [])
    if len(numbered) < 3:
        raise empty.refuse(
            "readings-few", "there are fewer than two readings", "write a header and the readings"
        )
    separator = ";" if ";" in numbered[0][1] else ","
    cells = [next(csv.reader([row], delimiter=separator)) for _, row in numbered]
    names, units = zip(*(_named(cell) for cell in cells[0]), strict=True)
    lines = [n for n, _ in numbered[1:]]
    for row, line in zip(cells[1:], lines, strict=True):
        if len(row) != len(names):
            raise ScribeError(
                "readings-cell",
                what=f"there are {len(row)} values for {len(names)} columns",
                where=f"{path}, line {line}",
                do="give every column a value; with decimal commas, part columns by semicolons",
            )
    columns = {name: [row[k].strip() for row in cells[1:]] for k, name in enumerate(names) if name}
    return ReadingsTable(path, columns, dict(zip(names, units, strict=True)), lines)


def _named(header: str) -> tuple[str, str]:
    """The column a header word means ("" for one that isn't read), and its unit."""
    match = _HEADER.match(header)
    word, unit = (match[1] or "", match[2] or "") if match else (header, "")
    found = next((name for name, words in WORDS.items() if word.strip().lower() in words), "")
    return found, unit
