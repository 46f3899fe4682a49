"""TapeReading: a distance measured by hand between two crosses printed on strips.

The photos of a run hold angles and proportions; how long the whole is hangs on the print. A
tape from a cross near one end to a cross near the other says it better than any printer.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from scribe.errors import ScribeError
from scribe.quantity import format_mm, parse_length
from scribe.standards import TAPE_CLASS_II_MM

_CROSS = re.compile(r"(?:sheet|strip)?\s*(\d+)\s*(?:cross)?\s*([ab])", re.IGNORECASE)
# The rule's mark against the cross, at either end, judged to half a millimetre (our estimate).
_READ_HALF_MM = 0.5


@dataclass(frozen=True)
class Cross:
    """A cross printed on a strip: the strip's number and the letter beside it."""

    sheet: int
    letter: str

    def __str__(self) -> str:
        return f"sheet {self.sheet} cross {self.letter}"


@dataclass(frozen=True)
class TapeReading:
    """length: mm from cross to cross. U: mm, k = 2, None when not stated."""

    start: Cross
    end: Cross
    length: float
    U: float | None = None

    @property
    def u(self) -> float:
        """Standard uncertainty, mm: as stated, or of an ordinary tape read with care."""
        return ordinary_u(self.length) if self.U is None else self.U / 2.0

    def __str__(self) -> str:
        return f"{self.start} to {self.end}: {format_mm(self.length)} mm"


def ordinary_u(length: float) -> float:
    """Standard uncertainty, mm, of a length taken with an ordinary tape, read with care.

    Class II of 2014/32/EU, annex X: a + b L with L in whole metres rounded up. That and both
    readings are half widths of rectangles (JCGM 100, 4.3.7).
    """
    a, b = TAPE_CLASS_II_MM
    tape = a + b * ceil(length / 1000.0)
    return float(((tape**2 + 2.0 * _READ_HALF_MM**2) / 3.0) ** 0.5)


def parse_cross(typed: str, *, where: str = "tape") -> Cross:
    """A cross as a person names it.

    >>> str(parse_cross("Sheet 3 cross A")), str(parse_cross("12b"))
    ('sheet 3 cross A', 'sheet 12 cross B')
    """
    match = _CROSS.fullmatch(typed.strip())
    if match is None:
        raise _unreadable(f"{typed!r} is not a cross of a strip", where)
    return Cross(int(match[1]), match[2].upper())


def parse_tape(typed: str, *, where: str = "tape") -> TapeReading:
    """FROM,TO,LENGTH or FROM,TO,LENGTH,U as typed; with decimal commas separated by semicolons.

    >>> reading = parse_tape("1A,8B,2210.5,1")
    >>> str(reading), reading.u
    ('sheet 1 cross A to sheet 8 cross B: 2210.5 mm', 0.5)
    """
    parts = typed.split(";") if ";" in typed else typed.split(",")
    if len(parts) not in (3, 4):
        raise _unreadable(f"{typed!r} is not a reading", where)
    return reading_of(parts, where=where)


def reading_of(parts: Sequence[str], *, where: str) -> TapeReading:
    """From its three or four parts."""
    start, end = (parse_cross(part, where=where) for part in parts[:2])
    if start == end:
        raise _unreadable("both ends are the same cross", where)
    length = parse_length(parts[2], where=where, zero=False)
    U = parse_length(parts[3], where=where, zero=False) if len(parts) == 4 else None
    return TapeReading(start, end, length, U)


def _unreadable(what: str, where: str) -> ScribeError:
    return ScribeError(
        "tape-unreadable",
        what=what,
        where=where,
        do="write it like 1A,8B,2210.5 or 1A,8B,2210.5,1: from cross A of strip 1 to cross B of"
        " strip 8, the length, and its U if it isn't an ordinary tape",
    )
