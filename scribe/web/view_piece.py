"""What the piece's screen shows: a blank and the edges that are scribed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

View = dict[str, Any]

_EDGES = ("top", "right", "left", "bottom")
_LENGTH = re.compile(r"outline: ([\d.]+) ")


def piece_view(job: View, query: Mapping[str, str]) -> View:
    """pieces: (place in job.toml, name). piece: None where a new one is begun."""
    pieces = job["toml"].get("piece", [])
    number = piece_number(query, len(pieces))
    new = not pieces or query.get("piece") == "new"
    piece = None if new else {"name": "", "blank": {}, "edge": []} | pieces[number]
    taken = {edge.get("edge") for edge in piece["edge"]} if piece else set()
    outlines = _outlines(job)
    return {
        "outlines": outlines,
        "follows": _followed(query.get("outline", ""), outlines),
        "pieces": [(k, each.get("name", f"piece {k + 1}")) for k, each in enumerate(pieces)],
        "piece": piece,
        "number": "new" if new else number,
        "number_new": len(pieces),
        "free_edge": next((edge for edge in _EDGES if edge not in taken), ""),
    }


def _followed(asked: str, outlines: list[tuple[str, str]]) -> str:
    """The outline that a new piece is scribed to: the one that was looked at, else one traced."""
    traced = [name for name, length in outlines if length]
    names = [name for name, _ in outlines]
    return next(iter([*(name for name in names if name == asked), *traced, *names]), "")


def piece_number(query: Mapping[str, str], count: int) -> int:
    """Which piece is asked for; the first where that makes no sense."""
    asked = query.get("piece", "0")
    number = int(asked) if asked.isascii() and asked.isdigit() and len(asked) < 5 else 0
    return number if number < count else 0


def _outlines(job: View) -> list[tuple[str, str]]:
    """Name and measured length of every outline that a piece can follow."""
    found = []
    for name in job["toml"].get("outline", {}):
        lines = job["outlines"].get(name, {}).get("lines", [])
        length = next((m[1] for line in lines if (m := _LENGTH.search(line))), "")
        found.append((name, length))
    return found
