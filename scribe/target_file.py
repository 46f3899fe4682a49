"""Described boards: a TOML file about a board of another origin, read into a Target.

    kind = "charuco"                # or "marker-grid"
    dictionary = "DICT_5X5_250"     # an OpenCV predefined dictionary
    squares = [9, 7]                # charuco: across, down
    square_mm = 30.0                # charuco
    markers = [6, 4]                # marker-grid: across, down
    gap_mm = 8.0                    # marker-grid: between markers
    marker_mm = 22.0
    first_id = 0                    # left out: 0
    legacy_pattern = false          # charuco; left out: false

The frame is the board's own: origin at its lower left, x right, y up. The board is laid
out as OpenCV lays it out; a board made otherwise can't be described.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from scribe.board import charuco_board, marker_grid
from scribe.errors import ScribeError
from scribe.target import Target

# How many markers each of OpenCV's predefined dictionaries has (cv::aruco, OpenCV 4 and 5).
DICTIONARIES: dict[str, int] = {
    **{f"DICT_{n}X{n}_{count}": count for n in (4, 5, 6, 7) for count in (50, 100, 250, 1000)},
    "DICT_ARUCO_ORIGINAL": 1024,
    "DICT_APRILTAG_16h5": 30,
    "DICT_APRILTAG_25h9": 35,
    "DICT_APRILTAG_36h10": 2320,
    "DICT_APRILTAG_36h11": 587,
    "DICT_ARUCO_MIP_36h12": 250,
}

_COMMON = {"kind", "dictionary", "marker_mm", "first_id"}
_KEYS = {
    "charuco": _COMMON | {"squares", "square_mm", "legacy_pattern"},
    "marker-grid": _COMMON | {"markers", "gap_mm"},
}
_MOST_ACROSS = 200


def read_target(path: Path) -> Target:
    """The board a file describes; refuses with the key and what is allowed there."""
    return _board(_Description(path, _load(path)))


def _load(path: Path) -> Mapping[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise ScribeError(
            "target-file-unreadable",
            what=f"the board's description can't be read ({error.strerror})",
            where=str(path),
            do="check the name given as {target}",
        ) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise ScribeError(
            "target-file-syntax",
            what=f"the board's description isn't valid TOML ({error})",
            where=str(path),
            do='write one "key = value" to a line, words in double quotes',
        ) from error


class _Description:
    """The keys of one file, each taken with its type checked."""

    def __init__(self, path: Path, keys: Mapping[str, Any]) -> None:
        self._path = path
        self._keys = keys

    def refuse(self, key: str, what: str, allowed: str) -> ScribeError:
        return ScribeError(
            "target-file-key", what=what, where=f"{self._path}, key {key!r}", do=f"write {allowed}"
        )

    def only(self, allowed: set[str]) -> None:
        for key in self._keys:
            if key not in allowed:
                raise self.refuse(
                    key, "this key means nothing here", "only " + ", ".join(sorted(allowed))
                )

    def choice(self, key: str, allowed: list[str]) -> str:
        value = self._given(key, f"one of {', '.join(allowed)}")
        if not isinstance(value, str) or value not in allowed:
            raise self.refuse(key, f"{value!r} isn't known", f"one of {', '.join(allowed)}")
        return value

    def length(self, key: str) -> float:
        allowed = "a length in mm above 0, such as 30.0"
        value = self._given(key, allowed)
        if not isinstance(value, int | float) or isinstance(value, bool) or not 0 < value < 1e5:
            raise self.refuse(key, f"{value!r} isn't a length", allowed)
        return float(value)

    def pair(self, key: str, least: int) -> tuple[int, int]:
        allowed = f"[across, down], two whole numbers from {least} to {_MOST_ACROSS}"
        value = self._given(key, allowed)
        if not isinstance(value, list) or len(value) != 2:
            raise self.refuse(key, f"{value!r} isn't a pair of counts", allowed)
        across, down = value
        for count in (across, down):
            if type(count) is not int or not least <= count <= _MOST_ACROSS:
                raise self.refuse(key, f"{count!r} isn't a count", allowed)
        return across, down

    def first_id(self) -> int:
        value = self._keys.get("first_id", 0)
        if type(value) is not int or value < 0:
            raise self.refuse("first_id", f"{value!r} isn't an identity", "a whole number from 0")
        return value

    def legacy_pattern(self) -> bool:
        value = self._keys.get("legacy_pattern", False)
        if not isinstance(value, bool):
            raise self.refuse("legacy_pattern", f"{value!r} is neither", "true or false")
        return value

    def _given(self, key: str, allowed: str) -> Any:
        if key not in self._keys:
            raise self.refuse(key, "this key is missing", allowed)
        return self._keys[key]


def _board(described: _Description) -> Target:
    kind = described.choice("kind", list(_KEYS))
    described.only(_KEYS[kind])
    dictionary = described.choice("dictionary", list(DICTIONARIES))
    marker, first = described.length("marker_mm"), described.first_id()
    if kind == "charuco":
        squares, side = described.pair("squares", 2), described.length("square_mm")
        if marker >= side:
            allowed = f"less than {side} (square_mm)"
            raise described.refuse("marker_mm", "a marker doesn't fit in its square", allowed)
        legacy = described.legacy_pattern()
        board = charuco_board(
            dictionary, squares, side, marker, first_id=first, legacy_pattern=legacy
        )
    else:
        counts, gap = described.pair("markers", 1), described.length("gap_mm")
        board = marker_grid(dictionary, counts, marker, gap, first_id=first)
    if first + len(board.ids) > DICTIONARIES[dictionary]:
        raise described.refuse(
            "dictionary",
            f"the board needs the identities {first} to {first + len(board.ids) - 1}, and the "
            f"dictionary ends at {DICTIONARIES[dictionary] - 1}",
            "a dictionary with more markers, or a smaller first_id",
        )
    return board
