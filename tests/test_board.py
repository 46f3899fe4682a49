"""Where the marks of a described board lie, against OpenCV's own layouts."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from scribe.board import charuco_board, marker_grid


def opencv_frame(points: np.ndarray, height: float) -> np.ndarray:
    """OpenCV's board frame has y down from the upper left corner; ours y up from the lower."""
    return np.column_stack([points[:, 0], height - points[:, 1]])


@pytest.mark.parametrize("squares", [(9, 7), (5, 4), (6, 8), (3, 3)])
@pytest.mark.parametrize("legacy", [False, True])
def test_charuco_board_equals_opencv(squares: tuple[int, int], legacy: bool) -> None:
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100)
    board = cv2.aruco.CharucoBoard(squares, 40.0, 20.0, dictionary)
    board.setLegacyPattern(legacy)
    ours = charuco_board("DICT_4X4_100", squares, 40.0, 20.0, legacy_pattern=legacy)
    height = squares[1] * 40.0
    theirs = np.asarray(board.getChessboardCorners())
    assert np.allclose(opencv_frame(theirs, height), ours.crossings, atol=1e-3)
    markers = np.asarray(board.getObjPoints()).reshape(-1, 3)
    assert np.allclose(opencv_frame(markers, height), ours.marker_corners(), atol=1e-3)
    assert np.array_equal(np.ravel(board.getIds()), ours.ids)


@pytest.mark.parametrize("legacy", [False, True])
def test_charuco_squares_equal_the_board_opencv_draws(legacy: bool) -> None:
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100)
    board = cv2.aruco.CharucoBoard((5, 4), 40.0, 20.0, dictionary)
    board.setLegacyPattern(legacy)
    drawn = board.generateImage((200, 160))
    ours = charuco_board("DICT_4X4_100", (5, 4), 40.0, 20.0, legacy_pattern=legacy)
    squares = np.full((160, 200), True)
    for x0, y0, x1, y1 in ours.squares:
        squares[160 - int(y1) : 160 - int(y0), int(x0) : int(x1)] = False
    # Just inside each square's corner no marker reaches: black there means a black square.
    assert np.array_equal(drawn[3::40, 3::40] > 128, squares[3::40, 3::40])


def test_marker_grid_equals_opencv() -> None:
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_250)
    ids = np.arange(24) + 30
    board = cv2.aruco.GridBoard((6, 4), 35.0, 10.0, dictionary, ids)
    ours = marker_grid("DICT_6X6_250", (6, 4), 35.0, 10.0, first_id=30)
    markers = np.asarray(board.getObjPoints()).reshape(-1, 3)
    assert np.allclose(opencv_frame(markers, 4 * 45.0 - 10.0), ours.marker_corners(), atol=1e-3)
    assert np.array_equal(np.ravel(board.getIds()), ours.ids)
