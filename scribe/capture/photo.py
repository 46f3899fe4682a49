"""Photo: the picture as the camera took it, upright, read in linear light.

Files are sRGB encoded (IEC 61966-2-1). Edges are located in linear light: the middle
between two encoded levels is not the middle between two amounts of light. Pixel centres
lie at integers, x right, y down. Nothing is resampled but what is asked for.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache, cached_property
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from scribe.capture.exif import Exif

Array = npt.NDArray[np.float64]
Grey = npt.NDArray[np.uint8 | np.uint16]
Planes = npt.NDArray[np.uint8]

_ROUGH = 4


@dataclass(frozen=True)
class Photo:
    """name: of the file. grey: (H, W) encoded, 8 or 16 bit, upright. exif: what the file says.

    colours: (3, H/2, W/2) red, green, blue, encoded, upright: a JPEG holds them at half its size.
    None of a picture that has none.
    """

    name: str
    grey: Grey
    exif: Exif
    colours: Planes | None = field(default=None, repr=False)

    @property
    def size(self) -> tuple[int, int]:
        """(width, height) px."""
        return self.grey.shape[1], self.grey.shape[0]

    @cached_property
    def rough(self) -> npt.NDArray[np.uint8]:
        """The photo at a quarter of its size, by area averages, 8 bit."""
        return reduced(self.grey, 1.0 / _ROUGH)

    def light(self, pixels: Array) -> Array:
        """(...) linear light 0 to 1 at pixels (..., 2), bilinear; NaN outside the photo."""
        return _bilinear(self.grey, pixels)

    @cached_property
    def half(self) -> npt.NDArray[np.uint8]:
        """The photo at half of its size, by area averages, 8 bit."""
        return reduced(self.grey, 0.5)

    def rough_light(self, pixels: Array) -> Array:
        """As light, read in `rough`."""
        return _bilinear(self.rough, (pixels + 0.5) / _ROUGH - 0.5)

    def half_light(self, pixels: Array) -> Array:
        """As light, read in `half`."""
        return _bilinear(self.half, (pixels + 0.5) / 2.0 - 0.5)


def colour_at(colours: Planes, pixels: Array) -> Array:
    """(..., 3) linear red, green, blue at pixels (..., 2) of a photo with those `colours`."""
    half = (pixels + 0.5) / 2.0 - 0.5
    return np.stack([_bilinear(plane, half) for plane in colours], axis=-1)


def reduced(grey: Grey, factor: float) -> npt.NDArray[np.uint8]:
    """An 8 bit copy at `factor` of the size, by area averages."""
    small: npt.NDArray[Any] = grey
    if factor != 1.0:
        small = cv2.resize(grey, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)
    if small.dtype == np.uint16:
        small = cv2.convertScaleAbs(small, alpha=1.0 / 257.0)
    return np.asarray(small, dtype=np.uint8)


@cache
def linear_table(bytes_per_value: int) -> Array:
    """Linear light 0 to 1 of every encoded value: the sRGB curve of IEC 61966-2-1."""
    top = 256**bytes_per_value - 1
    encoded = np.arange(top + 1) / top
    table: Array = np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)
    table.flags.writeable = False
    return table


def _bilinear(grey: Grey, pixels: Array) -> Array:
    height, width = grey.shape
    x, y = pixels[..., 0], pixels[..., 1]
    inside = (x >= 0) & (y >= 0) & (x <= width - 1) & (y <= height - 1)
    x, y = np.where(inside, x, 0.0), np.where(inside, y, 0.0)
    column = np.minimum(x.astype(np.intp), width - 2)
    row = np.minimum(y.astype(np.intp), height - 2)
    right, down = x - column, y - row
    left, up = 1.0 - right, 1.0 - down
    table = linear_table(grey.dtype.itemsize)
    flat = grey.ravel()
    corner = row * width + column
    upper = table.take(flat.take(corner)) * left + table.take(flat.take(corner + 1)) * right
    corner += width
    lower = table.take(flat.take(corner)) * left + table.take(flat.take(corner + 1)) * right
    return np.where(inside, upper * up + lower * down, np.nan)
