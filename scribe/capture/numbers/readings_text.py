"""A text file with columns, as spreadsheets and hands write it -> rows of cells.

UTF-8 or UTF-16 with its mark, else the code page of Windows; columns parted by semicolons, tabs
or commas, whichever the header has. Rows that are empty or begin with # are left out, and so are
empty cells beyond the last column.
"""

from __future__ import annotations

import codecs
import csv
from dataclasses import dataclass
from pathlib import Path

from scribe.errors import ScribeError
from scribe.quantity import plain

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_SEPARATORS = ";\t,"
_SEPARATOR_LINE = "sep="  # the first line, where a spreadsheet is to be told


@dataclass(frozen=True)
class Row:
    """One row and the line of the file that it stands on."""

    line: int
    cells: list[str]


def read_rows(path: Path) -> tuple[list[Row], str]:
    """All rows, the header first, and what parts their columns."""
    lines = list(enumerate(_text(path).splitlines(), 1))
    separator = ""
    if lines and lines[0][1].lower().startswith(_SEPARATOR_LINE):
        separator = lines.pop(0)[1][len(_SEPARATOR_LINE) :].strip(" ")
    filled = [(n, text) for n, text in lines if text.strip(" \t;,") and text.strip()[0] != "#"]
    header = filled[0][1] if filled else ""
    separator = separator or next((each for each in _SEPARATORS if each in header), ",")
    rows = [
        Row(n, _without_end([plain(cell) for cell in cells]))
        for n, text in filled
        for cells in csv.reader([text], delimiter=separator)
    ]
    return rows, separator


def _without_end(cells: list[str]) -> list[str]:
    while cells and not cells[-1]:
        cells = cells[:-1]
    return cells


def _text(path: Path) -> str:
    try:
        data = path.read_bytes()
        stated = next((name for mark, name in _MARKS if data.startswith(mark)), None)
        text = data.decode(stated) if stated else _unmarked(data)
    except (OSError, UnicodeDecodeError) as error:
        missing = isinstance(error, FileNotFoundError)
        raise _no_text(path, "there is no such file" if missing else "it is no text") from error
    if any(ord(sign) < 32 and sign not in "\t\r\n\f" for sign in text):
        raise _no_text(path, "it is no text")
    return text


def _unmarked(data: bytes) -> str:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data.decode("cp1252")


def _no_text(path: Path, what: str) -> ScribeError:
    return ScribeError(
        "readings-unreadable",
        what=what,
        where=str(path),
        do="save the readings as CSV (text with columns) and give that file",
    )
