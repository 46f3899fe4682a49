"""What an imported job says of its photos and outlines, believed as far as its shape goes.

The page reads these notes of its own without a second look; so nothing of another shape gets in.
What is dropped is made again: a photo is looked at, an outline traced.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

_MOST_PX = 100_000

Check = Callable[[Any], bool]


def drop_strange(own: Path) -> None:
    """Take away, of the notes in `.page`, what the page would never have written."""
    for folder, right in (("sights", _sights_file), ("photos", _photo_file)):
        for path in (own / folder).glob("*.json"):
            if not right(_read(path)):
                path.unlink()


def _read(path: Path) -> Any:
    try:
        return json.loads(path.read_text("utf-8"))
    except (OSError, ValueError, RecursionError):
        return None


def _sights_file(found: Any) -> bool:
    if not isinstance(found, dict) or not _list_of(_sight)(found.get("sights")):
        return False
    if set(found) == {"photo", "sights"}:  # of photos in which no outline was found
        return isinstance(found["photo"], str | list)
    return all(right(found.get(key)) for key, right in _OF_SIGHTS.items()) and (
        isinstance(found.get("photo_table", {}), dict) and _flags(found.get("by_hand", []))
    )


def _sight(each: Any) -> bool:
    return (
        isinstance(each, dict)
        and _text(each.get("photo"))
        and _size(each.get("size_px"))
        and _list_of(_pair)(each.get("outline_px"))
        and _whole(each.get("first"))
        and _grid(each.get("grid_mm"))
    )


def _photo_file(found: Any) -> bool:
    if not isinstance(found, dict) or set(found) != {"size_px", "judged"}:
        return False
    judged = found["judged"]
    return (found["size_px"] is None or _size(found["size_px"])) and (
        judged is None
        or (
            isinstance(judged, dict)
            and isinstance(judged.get("good"), bool)
            and isinstance(judged.get("strips"), bool)
            and _list_of(_note)(judged.get("notes"))
        )
    )


def _note(each: Any) -> bool:
    return (
        isinstance(each, dict)
        and isinstance(each.get("good"), bool)
        and all(_text(each.get(key)) for key in ("kind", "said", "do"))
    )


def _list_of(right: Check) -> Check:
    return lambda each: isinstance(each, list) and all(map(right, each))


def _text(each: Any) -> bool:
    return isinstance(each, str)


def _flags(each: Any) -> bool:
    return isinstance(each, list) and all(isinstance(flag, bool) for flag in each)


def _whole(each: Any) -> bool:
    return isinstance(each, int) and not isinstance(each, bool) and 0 <= each <= _MOST_PX


def _number(each: Any) -> bool:
    return isinstance(each, int | float) and not isinstance(each, bool) and math.isfinite(each)


def _pair(each: Any) -> bool:
    return _list_of(_number)(each) and len(each) == 2


def _size(each: Any) -> bool:
    return _list_of(_whole)(each) and len(each) == 2 and min(each) > 1


def _grid(each: Any) -> bool:
    from scribe.recipes.sight import NODES

    return _list_of(_list_of(_pair))(each) and [len(row) for row in each] == [NODES] * NODES


_OF_SIGHTS: dict[str, Check] = {
    "source": lambda each: isinstance(each, dict),
    "traced": _text,
    "corrected": lambda each: isinstance(each, bool),
    "lines": _list_of(_text),
    "advice": _list_of(_text),
    "steps": _list_of(_text),
    "table": _list_of(_list_of(_text)),
    "u95_mm": _list_of(_number),
    "measured": _flags,
}
