"""Descriptions of boards: what is read, and that everything else is refused by its key."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest

from scribe.errors import ScribeError
from scribe.target_file import DICTIONARIES, read_target

CHARUCO = {
    "kind": '"charuco"',
    "dictionary": '"DICT_4X4_100"',
    "squares": "[9, 7]",
    "square_mm": "40.0",
    "marker_mm": "20",
}
GRID = {
    "kind": '"marker-grid"',
    "dictionary": '"DICT_6X6_250"',
    "markers": "[6, 4]",
    "marker_mm": "35.0",
    "gap_mm": "10.0",
    "first_id": "3",
}


def write(folder: Path, keys: dict[str, str]) -> Path:
    path = folder / "board.toml"
    path.write_text("".join(f"{key} = {value}\n" for key, value in keys.items()))
    return path


def test_dictionaries_are_those_of_opencv() -> None:
    names = {name for name in dir(cv2.aruco) if name.startswith("DICT_")}
    # Names that differ only in case (36H11 and 36h11) are the same dictionary.
    assert {name.upper() for name in names} == {name.upper() for name in DICTIONARIES}
    for name, count in DICTIONARIES.items():
        dictionary = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, name))
        assert len(dictionary.bytesList) == count


def test_charuco_board_is_read(tmp_path: Path) -> None:
    board = read_target(write(tmp_path, CHARUCO))
    assert board.size == (360.0, 280.0)
    assert len(board.crossings) == 8 * 6
    assert board.dictionary == "DICT_4X4_100"
    assert board.ids.tolist() == list(range(31))


def test_legacy_pattern_moves_the_markers(tmp_path: Path) -> None:
    even = CHARUCO | {"squares": "[5, 4]"}
    new = read_target(write(tmp_path, even))
    old = read_target(write(tmp_path, even | {"legacy_pattern": "true"}))
    assert not np.array_equal(new.markers, old.markers)


def test_marker_grid_is_read(tmp_path: Path) -> None:
    board = read_target(write(tmp_path, GRID))
    assert board.size == (260.0, 170.0)
    assert len(board.crossings) == 0
    assert board.ids.tolist() == list(range(3, 27))


@pytest.mark.parametrize(
    ("base", "key", "value"),
    [
        (CHARUCO, "kind", '"chessboard"'),
        (CHARUCO, "kind", "3"),
        (CHARUCO, "dictionary", '"DICT_9X9_50"'),
        (CHARUCO, "square", "40.0"),
        (CHARUCO, "gap_mm", "3.0"),
        (CHARUCO, "square_mm", "-40.0"),
        (CHARUCO, "square_mm", '"40 mm"'),
        (CHARUCO, "square_mm", "true"),
        (CHARUCO, "square_mm", "nan"),
        (CHARUCO, "marker_mm", "40.0"),
        (CHARUCO, "squares", "[9]"),
        (CHARUCO, "squares", "[9, 1]"),
        (CHARUCO, "squares", "[9.5, 7]"),
        (CHARUCO, "squares", "9"),
        (CHARUCO, "first_id", "-1"),
        (CHARUCO, "first_id", "1.5"),
        (CHARUCO, "legacy_pattern", '"no"'),
        (GRID, "legacy_pattern", "true"),
        (GRID, "gap_mm", "0"),
        (GRID, "markers", "[0, 4]"),
    ],
)
def test_wrong_key_or_value_is_refused_by_name(
    tmp_path: Path, base: dict[str, str], key: str, value: str
) -> None:
    with pytest.raises(ScribeError) as refusal:
        read_target(write(tmp_path, base | {key: value}))
    assert refusal.value.kind == "target-file-key"
    assert repr(key) in refusal.value.where
    assert refusal.value.do.startswith("write ")


@pytest.mark.parametrize("key", ["kind", "dictionary", "squares", "square_mm", "marker_mm"])
def test_missing_key_is_refused_by_name(tmp_path: Path, key: str) -> None:
    keys = {name: value for name, value in CHARUCO.items() if name != key}
    with pytest.raises(ScribeError) as refusal:
        read_target(write(tmp_path, keys))
    assert refusal.value.kind == "target-file-key"
    assert repr(key) in refusal.value.where


def test_board_with_more_markers_than_its_dictionary_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ScribeError) as refusal:
        read_target(write(tmp_path, CHARUCO | {"first_id": "70"}))
    assert refusal.value.kind == "target-file-key"
    assert "'dictionary'" in refusal.value.where
    # 31 markers from 69 on end at 99, the last of DICT_4X4_100.
    assert read_target(write(tmp_path, CHARUCO | {"first_id": "69"})).ids[-1] == 99


def test_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ScribeError) as refusal:
        read_target(tmp_path / "none.toml")
    assert refusal.value.kind == "target-file-unreadable"


@pytest.mark.parametrize("content", [b"kind: charuco\n", b"\xff\xfe\x00"])
def test_file_that_is_not_toml_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "board.toml"
    path.write_bytes(content)
    with pytest.raises(ScribeError) as refusal:
        read_target(path)
    assert refusal.value.kind == "target-file-syntax"
