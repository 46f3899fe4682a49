"""A TOML file to its top table, with the line on which every key stands."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from scribe.errors import ScribeError
from scribe.toml_table import Spot, Table

_KEY = r"""(?:"[^"]*"|'[^']*'|[A-Za-z0-9_-]+)"""
_DOTTED = rf"{_KEY}(?:\s*\.\s*{_KEY})*"
_HEADER = re.compile(rf"\s*(\[\[?)\s*({_DOTTED})\s*\]")
_ASSIGNMENT = re.compile(rf"\s*({_DOTTED})\s*=")


def read_toml(path: Path) -> Table:
    """The top table of a TOML file; one that can't be read is refused with its line."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise ScribeError(
            "job-syntax",
            what="this is not a text file",
            where=str(path),
            do="give the job file (TOML, saved as UTF-8)",
        ) from error
    except OSError as error:
        raise ScribeError(
            "job-unreadable",
            what=f"the file can't be read ({error.strerror})",
            where=str(path),
            do="check the name and the folder",
        ) from error
    try:
        values = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise ScribeError(
            "job-syntax",
            what=f"the file can't be understood: {error}",
            where=str(path),
            do='mend that line; lengths are numbers in mm or texts such as "2 3/8 in"',
        ) from error
    return Table(path, values, _lines(text))


def _lines(text: str) -> dict[Spot, int]:
    """The line, counted from 1, on which each table and key of the text first appears."""
    lines: dict[Spot, int] = {}
    counts: dict[Spot, int] = {}
    table: Spot = ()
    for number, line in enumerate(text.splitlines(), start=1):
        header, assignment = _HEADER.match(line), _ASSIGNMENT.match(line)
        spot = table
        if header:
            spot = table = _resolve(_parts(header[2]), counts)
            if header[1] == "[[":
                counts[spot] = counts.get(spot, -1) + 1
                spot = table = (*spot, counts[spot])
        elif assignment:
            spot = (*table, *_parts(assignment[1]))
        for size in range(1, len(spot) + 1):
            lines.setdefault(spot[:size], number)
    return lines


def _resolve(parts: list[str], counts: dict[Spot, int]) -> Spot:
    """The spot of a header's name: where a list of tables is passed, its last one is meant."""
    spot: Spot = ()
    for depth, part in enumerate(parts, start=1):
        spot = (*spot, part)
        if depth < len(parts) and spot in counts:
            spot = (*spot, counts[spot])
    return spot


def _parts(dotted: str) -> list[str]:
    return [part.strip("\"'") for part in re.findall(_KEY, dotted)]
