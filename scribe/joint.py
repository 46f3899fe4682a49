"""Joint: how two outlines of one edge, taken by themselves, hang together."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Literal, get_args

from scribe.errors import ScribeError

By = Literal["overlap", "corner", "crossing"]
BY: tuple[By, ...] = get_args(By)

# U (k = 2) where the fitter states none (common practice, no source): mm of a pencil mark found
# on both, or of an end that is said to lie in the corner; degrees of a bevel laid into a
# corner, and of two lines each set by a level (a millimetre on a metre).
MARK_U95 = 1.0
BEVEL_U95_DEG = 0.5
LEVEL_U95_DEG = 0.06
BEVEL_MM = 200.0  # length of a bevel's blades


@dataclass(frozen=True)
class Joint:
    """The end of a first outline and the beginning of a second, building on the left.

    by "overlap": both show about `overlap` mm of one stretch; mark: stations of one mark on
        the first and on the second, where the stretch is too straight to tell.
    by "corner": the end of the first is the beginning of the second. angle: degrees between
        them on the room's side; diagonal: mm from the corner along the first, along the second,
        and between these two places; neither: both lie as they were taken, level and plumb.
    by "crossing": both were taken in one frame and meet where they cross; reach: mm that
        either may be carried on straight to get there.
    u95: mm, U of the mark or of an end in the corner. angle_u95: degrees.
    """

    by: By
    overlap: float = 0.0
    mark: tuple[float, float] | None = None
    angle: float | None = None
    diagonal: tuple[float, float, float] | None = None
    reach: float = 0.0
    u95: float = MARK_U95
    angle_u95: float | None = None

    def __post_init__(self) -> None:
        lengths = {"overlap": self.overlap if self.by == "overlap" else None, "u95": self.u95}
        lengths |= dict.fromkeys(("diagonal",), min(self.diagonal) if self.diagonal else None)
        for name, value in lengths.items():
            if value is not None and not 0.0 < value < inf:
                raise _wrong(name, f"{value:g} mm", "a length of more than 0")
        for name, angle, most in (
            ("angle", self.angle, 360.0),
            ("angle_u95", self.angle_u95, 45.0),
        ):
            if angle is not None and not 0.0 < angle < most:
                raise _wrong(name, f"{angle:g} deg", f"degrees between 0 and {most:g}")


def _wrong(name: str, given: str, wanted: str) -> ScribeError:
    return ScribeError(
        "join-value",
        what=f"{name.replace('_', '-')} is {given}, and makes no sense",
        where="joint",
        do=f"give {wanted}",
    )
