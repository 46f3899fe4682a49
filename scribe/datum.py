"""Datum: the straight line an outline is measured from (ISO 5459), mm in the outline's frame."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]


def frozen(values: npt.ArrayLike) -> Array:
    """A copy that nobody can write to."""
    array = np.array(values, dtype=np.float64)
    array.flags.writeable = False
    return array


@dataclass(frozen=True)
class Datum:
    """The straight line an outline is measured from (ISO 5459), in the outline's frame.

    origin: (2,) mm, the named end, where stations count from.
    direction: (2,) unit vector along which stations grow.
    association: how the line was found: "sheet axis", "chord", "two points",
        "least squares", "minimum zone"; of readings and drawings, what they were taken from
        ("straight edge", "laser", "level line", "drawing's axis").
    end: the name of the end at the origin, in the fitter's words ("left", "floor").
    """

    origin: Array
    direction: Array
    association: str
    end: str = "left"

    def __post_init__(self) -> None:
        direction = frozen(self.direction)
        length = float(np.hypot(*direction))
        if direction.shape != (2,) or not np.isfinite(length) or length == 0.0:
            raise ScribeError(
                "datum-invalid",
                what="the datum has no direction",
                where=f"datum ({self.association})",
                do="give two different points for it",
            )
        object.__setattr__(self, "origin", frozen(self.origin))
        object.__setattr__(self, "direction", frozen(direction / length))

    @property
    def of_itself(self) -> bool:
        """Whether it was found from the outline's own points, which then say nothing of how the
        outline lay.
        """
        return self.association in ("chord", "least squares", "minimum zone")

    @property
    def towards(self) -> Array:
        """(2,) unit vector square to the datum, to the left of its direction."""
        return np.array([-self.direction[1], self.direction[0]])


SHEET_AXIS = Datum(np.zeros(2), np.array([1.0, 0.0]), "sheet axis")
