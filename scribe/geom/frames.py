"""Rigid frames in the plane: a turn, then a shift; never a mirror, never a stretch.

A frame change is named after the two frames it joins, result first, so that a wrong chain
looks wrong: `sheet_from_job = sheet_from_datum @ datum_from_job`. mm; angles in radians
here only, as `numpy` has them. (The planar case of a rigid displacement, SE(2).)
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Rigid:
    """rotation: (2, 2), determinant +1. translation: (2,) mm, in the frame that comes out."""

    rotation: Array
    translation: Array

    def apply(self, points: npt.ArrayLike) -> Array:
        """(..., 2) points of the inner frame, expressed in the outer frame, mm."""
        return np.asarray(points, np.float64) @ self.rotation.T + self.translation

    def turn(self, vectors: npt.ArrayLike) -> Array:
        """(..., 2) directions: turned, not shifted."""
        return np.asarray(vectors, np.float64) @ self.rotation.T

    def inverse(self) -> Rigid:
        """The way back: `sheet_from_datum.inverse()` is datum_from_sheet."""
        return Rigid(self.rotation.T, -self.rotation.T @ self.translation)

    def __matmul__(self, inner: Rigid) -> Rigid:
        """a_from_b @ b_from_c = a_from_c."""
        return Rigid(
            self.rotation @ inner.rotation, self.rotation @ inner.translation + self.translation
        )


def outer_from_axis(origin: npt.ArrayLike, direction: npt.ArrayLike) -> Rigid:
    """The frame whose origin is `origin` (2,) and whose x runs along `direction` (2,), not zero.

    >>> sheet_from_datum = outer_from_axis((10.0, 0.0), (0.0, 2.0))
    >>> sheet_from_datum.apply((5.0, 1.0)).tolist()
    [9.0, 5.0]
    """
    x, y = np.asarray(direction, np.float64) / np.hypot(*np.asarray(direction, np.float64))
    return Rigid(np.array([[x, -y], [y, x]]), np.array(origin, np.float64))


def turned_about(centre: Array, angle: float, shift: npt.ArrayLike) -> Rigid:
    """Turn counter-clockwise about `centre` (2,) by `angle` in radians, then shift by (2,) mm."""
    rotation = turned(angle).rotation
    return Rigid(rotation, centre + np.asarray(shift, np.float64) - rotation @ centre)


def turned(angle: float, translation: npt.ArrayLike = (0.0, 0.0)) -> Rigid:
    """Turn counter-clockwise by `angle` in radians, then shift by `translation` (2,) mm."""
    cosine, sine = np.cos(angle), np.sin(angle)
    return Rigid(np.array([[cosine, -sine], [sine, cosine]]), np.array(translation, np.float64))
