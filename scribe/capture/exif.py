"""What the camera wrote into the file: which way is up, and how long the lens is.

A value that is not credible counts as missing: a wrong focal length is worse than none.
Tags after the Exif standard (CIPA DC-008); orientation values as its table of tag 0x0112.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from scribe.standards import FULL_FRAME_DIAGONAL_MM, MM_PER_INCH

ORIENTATION = 0x0112
MAKE, MODEL = 0x010F, 0x0110
FOCAL_LENGTH, FOCAL_LENGTH_35 = 0x920A, 0xA405
PLANE_X_RESOLUTION, PLANE_UNIT = 0xA20E, 0xA210
PIXEL_WIDTH, PIXEL_HEIGHT = 0xA002, 0xA003

_PLANE_UNIT_MM = {2: MM_PER_INCH, 3: 10.0}
_CREDIBLE_35_MM = (8.0, 400.0)  # from the widest to the longest lens a phone or a camera carries


@dataclass(frozen=True)
class Exif:
    """orientation: 1 to 8. focal_px: px of the photo as it stands, None if not credible.

    same_frame: False when the pixel dimensions in the file contradict the picture's shape:
    the photo was cropped after it was taken, and its centre says nothing about the lens.
    """

    orientation: int
    focal_px: float | None
    camera: str
    same_frame: bool


def read_exif(tags: Mapping[int, Any], size: tuple[int, int]) -> Exif:
    """Read the tags of a photo of size (width, height) px as stored."""
    orientation = tags.get(ORIENTATION, 1)
    if orientation not in range(1, 9):
        orientation = 1
    written = sorted(
        number for tag in (PIXEL_WIDTH, PIXEL_HEIGHT) if (number := _number(tags, tag))
    )
    same_frame = True
    if len(written) == 2:
        stored = sorted(size)
        same_frame = abs(written[1] / written[0] / (stored[1] / stored[0]) - 1.0) < 0.01
    names = (str(tags.get(tag, "")).strip().strip("\0") for tag in (MAKE, MODEL))
    focal = _focal_px(tags, size, written) if same_frame else None
    return Exif(int(orientation), focal, " ".join(name for name in names if name), same_frame)


def _focal_px(tags: Mapping[int, Any], size: tuple[int, int], written: list[float]) -> float | None:
    diagonal = math.hypot(*size)
    equivalent = _number(tags, FOCAL_LENGTH_35)
    if equivalent is None:
        focal, per_unit = _number(tags, FOCAL_LENGTH), _number(tags, PLANE_X_RESOLUTION)
        unit = _PLANE_UNIT_MM.get(tags.get(PLANE_UNIT, 2))
        if focal is None or per_unit is None or unit is None:
            return None
        shrunk = max(size) / written[1] if len(written) == 2 else 1.0
        equivalent = focal * per_unit / unit * shrunk * FULL_FRAME_DIAGONAL_MM / diagonal
    if not _CREDIBLE_35_MM[0] <= equivalent <= _CREDIBLE_35_MM[1]:
        return None
    return equivalent * diagonal / FULL_FRAME_DIAGONAL_MM


def _number(tags: Mapping[int, Any], tag: int) -> float | None:
    try:
        number = float(tags[tag])
    except (KeyError, TypeError, ValueError, ZeroDivisionError):
        return None
    return number if math.isfinite(number) and number > 0.0 else None
