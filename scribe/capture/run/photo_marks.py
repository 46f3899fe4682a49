"""The marks that one photo of a run shows, sheet by sheet, and the lens they were found with."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.pose.lens_prior import LensPrior
from scribe.capture.pose.lens_turn import stored_size, upright_from_stored
from scribe.target import Target

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class SheetMarks:
    """The crossings of one sheet in one photo.

    points: (N, 2) mm as printed at 100 %. pixels: (N, 2) as measured, u: (N,) px their
    standard uncertainty before the fit.
    """

    target: Target
    points: Array
    pixels: Array
    u: Array

    @property
    def sheet(self) -> int:
        """Its number."""
        return self.target.number


@dataclass(frozen=True)
class PhotoMarks:
    """All sheets seen in one photo.

    size: (width, height) px of the upright photo; prior: of its lens as it appears there.
    orientation: how the camera was held (Exif tag 0x0112). blur_px: median of the marks.
    """

    name: str
    size: tuple[int, int]
    prior: LensPrior
    seen: tuple[SheetMarks, ...]
    orientation: int = 1
    blur_px: float = 0.0

    def lens_from_shared(self) -> tuple[Array, Array]:
        """(8, 8) and (8,): the lens in this photo = matrix @ the lens in the sensor + shift."""
        return upright_from_stored(self.orientation, stored_size(self.size, self.orientation))

    @property
    def sheets(self) -> tuple[int, ...]:
        """Numbers of the sheets seen."""
        return tuple(marks.sheet for marks in self.seen)
