"""What the page takes for a job: the shape of job.toml, which people and programs write too.

Whether a job can be made is for `scribe make` to say; here only stands what every screen relies
on, so that a half-written job is shown and a strange one is refused with a sentence.
"""

from __future__ import annotations

import math
from typing import Any

LONGEST_TEXT = 400
_DEEPEST = 8


def fault_of(table: dict[str, Any]) -> str:
    """What is wrong with the shape of a job, in words that follow "the file"; "" for nothing."""
    if not _plain(table, _DEEPEST):
        return "holds a value that no job has"
    outlines, pieces = table.get("outline", {}), table.get("piece", [])
    if not _are(dict, [outlines, table.get("print", {})]) or not _are(dict, outlines.values()):
        return "has something else where [outline.NAME] or [print] belongs"
    if not all(_names_files(each) for each in outlines.values()):
        return "names a photo or a file by something that isn't a text"
    if not isinstance(pieces, list) or not _are(dict, pieces):
        return "has something else where [[piece]] belongs"
    edges = [piece.get("edge", []) for piece in pieces]
    if not _are(list, edges) or not all(_are(dict, each) for each in edges):
        return "has something else where [[piece.edge]] belongs"
    if not _are(dict, [piece.get("blank", {}) for piece in pieces]):
        return "has something else where a blank belongs"
    if not _are(str, [each.get("name", "") for each in (table, *pieces)]):
        return "has a name that isn't a text"
    return ""


def _are(kind: type, values: Any) -> bool:
    return all(isinstance(value, kind) for value in values)


def _names_files(outline: dict[str, Any]) -> bool:
    photos = outline.get("photo", [])
    named = [photos] if isinstance(photos, str) else photos
    return isinstance(named, list) and _are(str, [*named, outline.get("file", "")])


def _plain(value: Any, depth: int) -> bool:
    """Texts that can be read, finite numbers, and tables and lists of them."""
    if depth < 0:
        return False
    if isinstance(value, dict):
        return all(_plain(key, 0) and _plain(each, depth - 1) for key, each in value.items())
    if isinstance(value, list):
        return all(_plain(each, depth - 1) for each in value)
    if isinstance(value, str):
        return len(value) <= LONGEST_TEXT and all(c.isprintable() or c in "\n\t" for c in value)
    return isinstance(value, int | float) and math.isfinite(value) and abs(value) <= 1e12
