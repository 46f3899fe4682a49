"""Surfaces: the printed sheet from its own PDF, wood and grey board; each with its mip levels."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np
import pypdfium2

from scribe.output.target_sheet import target_pdf
from scribe.target import DICTIONARY, Form, page

Array = np.ndarray
DPI = 600
INK, PAPER = 0.035, 0.86  # linear reflectance (common practice, no source)


@dataclass(frozen=True)
class Texture:
    """A picture on the plane: levels of 8-bit values, each half the size of the one before.

    origin: (2,) mm, its lower-left corner. size: (2,) mm. Texel (i, j) of a level covers its
    own equal share of the size. low, high: the reflectance of the values 0 and 255.
    """

    levels: tuple[Array, ...]
    origin: tuple[float, float]
    size: tuple[float, float]
    low: float
    high: float

    def at(self, x: Array, y: Array, footprint: float) -> Array:
        """Reflectance at x, y (H, W) float32 mm, averaged over about the footprint (mm)."""
        texel = self.size[0] / self.levels[0].shape[1]
        level = int(np.clip(np.round(np.log2(max(footprint / texel, 1))), 0, len(self.levels) - 1))
        picture = self.levels[level]
        rows, columns = picture.shape
        u = (x - np.float32(self.origin[0])) * np.float32(columns / self.size[0]) - np.float32(0.5)
        v = np.float32(rows - 0.5) - (y - np.float32(self.origin[1])) * np.float32(
            rows / self.size[1]
        )
        value = cv2.remap(picture, u, v, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        return value * np.float32((self.high - self.low) / 255) + np.float32(self.low)


def _levels(picture: Array, count: int) -> tuple[Array, ...]:
    # Sides that are whole multiples of the coarsest texel, so that no level shifts.
    unit = 2 ** (count - 1)
    size = [-(-side // unit) * unit for side in picture.shape[::-1]]
    if size != list(picture.shape[::-1]):
        picture = cv2.resize(picture, size, interpolation=cv2.INTER_LINEAR)
    levels = [picture]
    for _ in range(count - 1):
        half = [side // 2 for side in levels[-1].shape[::-1]]
        levels.append(cv2.resize(levels[-1], half, interpolation=cv2.INTER_AREA))
    return tuple(levels)


@lru_cache(maxsize=4)
def printed(paper: str, form: Form, number: int) -> Texture:
    """One page of `scribe target` as printed at 100 %: ink is as black as the page says.

    The page's grey levels are shares of a texel covered with ink: linear, not sRGB.
    """
    sheet = page(paper, form, number)
    markers = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, DICTIONARY))
    across = markers.markerSize + 2
    bits = {
        int(each): markers.generateImageMarker(int(each), across) == 0
        for target, _ in sheet.targets
        for each in target.ids
    }
    document = pypdfium2.PdfDocument(target_pdf([sheet], bits))
    size = document[0].get_width() / 72 * 25.4, document[0].get_height() / 72 * 25.4
    # Whole texels in both directions and at every level: a little finer than asked for.
    picture = document[0].render(scale=DPI / 72, grayscale=True).to_numpy().copy()
    document.close()
    return Texture(_levels(picture.reshape(picture.shape[:2]), 4), (0.0, 0.0), size, INK, PAPER)


@lru_cache(maxsize=2)
def wood(
    seed: int,
    origin: tuple[float, float],
    size: tuple[float, float],
    *,
    low: float,
    high: float,
    texel: float,
    along: str = "x",
) -> Texture:
    """Grain: long streaks of several widths, some darker rings, fine pores."""
    rng = np.random.default_rng(seed)
    length, across = size if along == "x" else size[::-1]
    shape = int(across / texel), int(length / texel)
    grain = np.zeros(shape, np.float32)
    for width, run, weight in ((6.0, 200.0, 1.0), (1.5, 90.0, 0.8), (0.4, 25.0, 0.5)):
        coarse = (max(int(across / width), 3), max(int(length / run), 3))
        noise = rng.standard_normal(coarse).astype(np.float32)
        grain += weight * cv2.resize(noise, shape[::-1], interpolation=cv2.INTER_CUBIC)
    rows = np.arange(shape[0], dtype=np.float32)[:, None] * texel
    bend = cv2.resize(
        rng.standard_normal((3, 5)).astype(np.float32), shape[::-1], interpolation=cv2.INTER_CUBIC
    )
    grain += 0.7 * np.sin(rows * (2 * np.pi / rng.uniform(7, 12)) + 2.5 * bend + 0.4 * grain)
    low_, high_ = np.percentile(grain, [1, 99])
    value = np.clip((grain - low_) / (high_ - low_), 0, 1)
    picture = (value * 255).astype(np.uint8)
    if along != "x":
        picture = np.ascontiguousarray(picture.T)
    return Texture(_levels(picture, 3), origin, size, low, high)


@lru_cache(maxsize=2)
def plain(
    seed: int,
    origin: tuple[float, float],
    size: tuple[float, float],
    *,
    low: float,
    high: float,
    texel: float,
) -> Texture:
    """Card, painted board, stone: fine mottle without a direction."""
    rng = np.random.default_rng(seed)
    shape = int(size[1] / texel), int(size[0] / texel)
    value = np.full(shape, 127.0, np.float32)
    for coarse, weight in ((40, 14.0), (8, 12.0), (2, 14.0)):
        small = (shape[0] // coarse + 2, shape[1] // coarse + 2)
        noise = rng.standard_normal(small).astype(np.float32)
        value += weight * cv2.resize(noise, shape[::-1], interpolation=cv2.INTER_LINEAR)
    picture = np.clip(value, 0, 255).astype(np.uint8)
    return Texture(_levels(picture, 3), origin, size, low, high)
