"""A lens as it stands in the sensor, and as it appears in a photo that was turned or resized.

Parameters are those of `Lens`. The photo is read upright, so a lens learnt from photos held one
way must be turned before it serves for another. Under a quarter turn (or a mirror image) of
the picture the principal point goes along, and so does (p2, p1), which is a vector in the plane
of the sensor: the tangential part of the model is 2 (p . x) x + |x|^2 p with p = (p2, p1).
Everything is linear in the parameters, so a covariance goes along exactly.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Size = tuple[int, int]

# What brings a stored pixel (x, y) upright, by the value of the Exif tag 0x0112.
_UPRIGHT: dict[int, tuple[tuple[int, int], tuple[int, int]]] = {
    1: ((1, 0), (0, 1)),
    2: ((-1, 0), (0, 1)),
    3: ((-1, 0), (0, -1)),
    4: ((1, 0), (0, -1)),
    5: ((0, 1), (1, 0)),
    6: ((0, -1), (1, 0)),
    7: ((0, -1), (-1, 0)),
    8: ((0, 1), (-1, 0)),
}


def stored_size(upright: Size, orientation: int) -> Size:
    """(width, height) px of the photo as it lies in its file."""
    return upright if orientation < 5 else (upright[1], upright[0])


def upright_from_stored(orientation: int, stored: Size) -> tuple[Array, Array]:
    """(8, 8) and (8,): upright parameters = matrix @ stored parameters + shift."""
    turn = np.array(_UPRIGHT[orientation], np.float64)
    far = np.array([stored[0] - 1, stored[1] - 1], np.float64)
    matrix, shift = np.eye(8), np.zeros(8)
    matrix[1:3, 1:3] = turn
    shift[1:3] = np.maximum(-turn, 0.0) @ far
    swap = np.array([[0.0, 1.0], [1.0, 0.0]])  # (p2, p1) from (p1, p2)
    matrix[5:7, 5:7] = swap @ turn @ swap
    return matrix, shift


def resized(factor: float) -> tuple[Array, Array]:
    """(8, 8) and (8,): parameters in a photo made `factor` times as large, edges kept."""
    matrix, shift = np.eye(8), np.zeros(8)
    matrix[0, 0] = matrix[1, 1] = matrix[2, 2] = factor
    shift[1:3] = 0.5 * factor - 0.5  # a pixel's edge, not its centre, stays where it was
    return matrix, shift
