"""The cut list: every part with its finished size, its allowances and what leaves the saw."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from scribe.cutting import Part
from scribe.quantity import format_mm

COLUMNS = (
    "mark", "part", "stock", "count", "length_mm", "width_mm", "finished_length_mm",
    "finished_width_mm", "allow_left_mm", "allow_right_mm", "allow_top_mm", "allow_bottom_mm",
    "grain",
)  # fmt: skip
HEADINGS = ("", "part", "count", "saw to, mm", "finished, mm", "left on for fitting, mm", "from")


def mark(place: int) -> str:
    """A, B, ... Z, AA, AB: what a part is called in a cutting diagram.

    >>> mark(0), mark(25), mark(26)
    ('A', 'Z', 'AA')
    """
    letters = ""
    place += 1
    while place:
        place, letter = divmod(place - 1, 26)
        letters = chr(65 + letter) + letters
    return letters


def cut_list_csv(parts: Sequence[Part]) -> str:
    """One row a kind of part; mm to a tenth. Layout as RFC 4180, with plain newlines."""
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow(COLUMNS)
    for place, part in enumerate(parts):
        of_board = part.finished_width is None
        rows.writerow(
            [
                mark(place),
                part.name,
                part.stock,
                part.count,
                format_mm(part.length),
                "" if of_board else format_mm(part.width),
                format_mm(part.finished_length),
                "" if part.finished_width is None else format_mm(part.finished_width),
                *(format_mm(each) for each in part.allowance),
                "any" if part.turns else "length",
            ]
        )
    return text.getvalue()


def cut_list_rows(parts: Sequence[Part]) -> list[tuple[str, ...]]:
    """The same for people, in the order of HEADINGS."""
    return [
        (
            mark(place),
            part.name,
            str(part.count),
            _size(part.length, None if part.finished_width is None else part.width),
            _size(part.finished_length, part.finished_width),
            _left_on(part),
            part.stock + (", either way" if part.turns else ""),
        )
        for place, part in enumerate(parts)
    ]


def _size(length: float, width: float | None) -> str:
    return format_mm(length) + ("" if width is None else f" x {format_mm(width)}")


def _left_on(part: Part) -> str:
    sides = zip(("left", "right", "top", "bottom"), part.allowance, strict=True)
    return ", ".join(f"{side} {format_mm(mm)}" for side, mm in sides if mm) or "-"
