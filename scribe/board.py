"""Boards of other origin as targets: laid out as OpenCV does, in mm from the lower-left corner."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.target import Target, marker_at

Array = npt.NDArray[np.float64]


def charuco_board(
    dictionary: str,
    squares: tuple[int, int],
    square_mm: float,
    marker_mm: float,
    *,
    first_id: int = 0,
    legacy_pattern: bool = False,
) -> Target:
    """A chessboard with markers in its white squares, laid out as OpenCV does.

    Identities run along rows from the upper left. In the legacy pattern a board with an
    even number of rows starts with a white square at the upper left.
    """
    across, down = squares
    white_first = legacy_pattern and down % 2 == 0
    black: list[list[float]] = []
    markers: list[Array] = []
    for row in range(down):
        for column in range(across):
            x, y = column * square_mm, (down - 1 - row) * square_mm
            if (row + column) % 2 == (1 if white_first else 0):
                black.append([x, y, x + square_mm, y + square_mm])
            else:
                markers.append(marker_at(x, y, square_mm, marker_mm))
    inner = [
        (i * square_mm, j * square_mm) for j in range(down - 1, 0, -1) for i in range(1, across)
    ]
    return _board(
        dictionary,
        (across * square_mm, down * square_mm),
        crossings=np.array(inner).reshape(-1, 2),
        markers=np.array(markers),
        first_id=first_id,
        squares=np.array(black),
        square_mm=square_mm,
    )


def marker_grid(
    dictionary: str,
    markers: tuple[int, int],
    marker_mm: float,
    gap_mm: float,
    *,
    first_id: int = 0,
) -> Target:
    """Rows of markers with gaps between; identities run along rows from the upper left."""
    across, down = markers
    pitch = marker_mm + gap_mm
    corners = [
        marker_at(i * pitch, (down - 1 - j) * pitch, marker_mm, marker_mm)
        for j in range(down)
        for i in range(across)
    ]
    return _board(
        dictionary,
        (across * pitch - gap_mm, down * pitch - gap_mm),
        crossings=np.zeros((0, 2)),
        markers=np.array(corners),
        first_id=first_id,
        squares=np.zeros((0, 4)),
        square_mm=marker_mm,
    )


def _board(
    dictionary: str,
    size: tuple[float, float],
    *,
    crossings: Array,
    markers: Array,
    first_id: int,
    squares: Array,
    square_mm: float,
) -> Target:
    return Target(
        name="described board",
        form="board",
        paper="",
        size=size,
        number=0,
        dictionary=dictionary,
        crossings=crossings,
        markers=markers,
        ids=first_id + np.arange(len(markers)),
        squares=squares,
        square_mm=square_mm,
    )
