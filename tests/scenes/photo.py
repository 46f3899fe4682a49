"""The sensor and the file: blur, noise, tone, JPEG or PNG, EXIF."""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO
from typing import Literal

import cv2
import numpy as np
from PIL import Image

from tests.scenes.outlines import Array

# EXIF tags (CIPA DC-008): in the first directory and in the Exif one.
MAKE, MODEL, ORIENTATION, EXIF = 0x010F, 0x0110, 0x0112, 0x8769
FOCAL_MM, FOCAL_35MM = 0x920A, 0xA405
_BAND = 8  # rows exposed together: memory that is used again and again costs least
_TURNS = {1: 0, 3: 2, 6: 1, 8: 3}  # quarter turns from upright to stored, counter-clockwise


@dataclass(frozen=True)
class Sensor:
    """exposure: linear light 1.0 lands at this part of full scale. blur_px: Gaussian sigma.

    full_well: electrons at full scale. read_e: read noise, electrons. bend: how far the tone
    curve leaves sRGB in its middle (encoded values). sharpen: strength of the unsharp mask.
    orientation: EXIF value; the stored pixels are turned so that a reader who honours it
    sees the photo upright.
    """

    exposure: float = 0.85
    blur_px: float = 0.8
    full_well: float = 9000.0
    read_e: float = 4.0
    white: tuple[float, float, float] = (1.0, 0.985, 0.95)
    bend: float = 0.0
    sharpen: float = 0.0
    orientation: int = 1
    file: Literal["jpeg", "png"] = "jpeg"
    quality: int = 92
    exif: bool = True


def expose(light: Array, sensor: Sensor, seed: int) -> Array:
    """(H, W, 3) linear light -> (H, W, 3) uint8 as a phone stores it, upright."""
    if sensor.blur_px > 0:
        light = cv2.GaussianBlur(light, (0, 0), sensor.blur_px, borderType=cv2.BORDER_REPLICATE)
    rng = np.random.default_rng([seed, 77])
    table = tone(np.linspace(0, 1, 65536), sensor.bend).astype(np.float32)
    encoded = np.empty(light.shape, np.float32)
    for top in range(0, len(light), _BAND):
        band = slice(top, top + _BAND)
        seen = light[band] * np.float32(sensor.exposure) * np.float32(sensor.white)
        noise = np.maximum(seen, 0) / sensor.full_well + (sensor.read_e / sensor.full_well) ** 2
        np.sqrt(noise, out=noise)
        noise *= rng.standard_normal(seen.shape, dtype=np.float32)
        seen += noise
        np.clip(seen, 0, 1, out=seen)
        encoded[band] = table[(seen * 65535 + 0.5).astype(np.uint16)]
    if sensor.sharpen > 0:
        soft = cv2.GaussianBlur(encoded, (0, 0), 1.2)
        encoded += np.float32(sensor.sharpen) * (encoded - soft)
    return (np.clip(encoded, 0, 1) * 255 + 0.5).astype(np.uint8)


def tone(linear: Array, bend: float = 0.0) -> Array:
    """Linear light to encoded value: IEC 61966-2-1 (sRGB), bent a little in its middle."""
    srgb = np.where(
        linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055
    )
    return srgb + bend * np.sin(2 * np.pi * srgb) / 2


def encode(pixels: Array, sensor: Sensor, *, focal_35mm: int, focal_mm: float) -> bytes:
    """The photo file of an upright picture."""
    stored = Image.fromarray(np.ascontiguousarray(np.rot90(pixels, _TURNS[sensor.orientation])))
    options: dict[str, object] = {}
    if sensor.exif:
        tags = Image.Exif()
        tags[MAKE], tags[MODEL], tags[ORIENTATION] = "Harbour", "Scene maker", sensor.orientation
        inner = tags.get_ifd(EXIF)
        inner[FOCAL_MM], inner[FOCAL_35MM] = round(focal_mm, 2), focal_35mm
        options["exif"] = tags
    stream = BytesIO()
    if sensor.file == "jpeg":
        stored.save(stream, "JPEG", quality=sensor.quality, subsampling=2, **options)
    else:
        stored.save(stream, "PNG", compress_level=1, **options)
    return stream.getvalue()
