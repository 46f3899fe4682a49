"""Solids with a flat top at z_top, upright sides and an underside at z_low, seen from above.

A solid answers one question: how much of a spot `w` mm wide at x, y lies inside its plan
view (0 to 1; the share is straight in the distance to the nearest edge). Everything else,
top, sides and shadow, is asked through it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from tests.scenes.outlines import Array, Curve
from tests.scenes.texture import Texture

Box = tuple[float, float, float, float]


class Solid(Protocol):
    z_low: float
    z_top: float
    tint: tuple[float, float, float]
    side: float  # reflectance of its upright sides

    @property
    def box(self) -> Box:
        """x0, y0, x1, y1 mm round the plan view."""
        ...

    def cover(self, x: Array, y: Array, w: float) -> Array: ...

    def albedo(self, x: Array, y: Array, w: float) -> Array: ...


@dataclass(frozen=True)
class Board:
    """Below a curve, above a straight bottom, between two ends: a card, a board, a bar."""

    top: Curve
    bottom: float
    ends: tuple[float, float]
    z_low: float
    z_top: float
    surface: Texture
    tint: tuple[float, float, float]
    side: float

    @property
    def box(self) -> Box:
        return self.ends[0], self.bottom, self.ends[1], float(self.top.values.max())

    def cover(self, x: Array, y: Array, w: float) -> Array:
        """The spot is cut into two columns, each filled up to the curve in its middle."""
        x0, x1, y0, y1 = x.min(), x.max(), y.min(), y.max()
        low, high = self.top.between(x0 - w, x1 + w)
        low, high = low - 2 * w, high + 2 * w
        if y0 > high or y1 < self.bottom - w:
            return np.zeros_like(x)
        if y0 > self.bottom + w and y1 < low and x0 > self.ends[0] + w and x1 < self.ends[1] - w:
            return np.ones_like(x)
        quarter = x.dtype.type(w / 4)
        part = share(self.top.at(x - quarter) - y, w)
        part += share(self.top.at(x + quarter) - y, w)
        part *= x.dtype.type(0.5)
        part *= share(y - self.bottom, w)
        middle, half = (self.ends[0] + self.ends[1]) / 2, (self.ends[1] - self.ends[0]) / 2
        part *= share(half - np.abs(x - middle), w)
        return part

    def albedo(self, x: Array, y: Array, w: float) -> Array:
        return self.surface.at(x, y, w)


@dataclass(frozen=True)
class Pins:
    """A row of pins along y, pushed up against a wall; tips flat or round, both ends alike.

    first: x of the first pin. tips: (K,) y of each pin's upper end. half: half its width.
    The pins are extrusions: their visible outline from above lies at z_top.
    """

    first: float
    pitch: float
    half: float
    tips: Array
    length: float
    round: bool
    z_low: float
    z_top: float
    metal: Array  # (K,) reflectance of each pin
    streak: float  # of specular light along the middle, added
    tint: tuple[float, float, float]
    side: float

    @property
    def box(self) -> Box:
        last = self.first + (len(self.tips) - 1) * self.pitch
        low, high = self.tips.min() - self.length, self.tips.max()
        return self.first - self.half, float(low), last + self.half, float(high)

    def cover(self, x: Array, y: Array, w: float) -> Array:
        index, off = self._pin(x)
        reach = self.length / 2 - (self.half if self.round else 0.0)
        middle = (self.tips - self.length / 2).astype(x.dtype)[index]
        beyond = np.abs(y - middle) - x.dtype.type(reach)
        if self.round:
            return share(self.half - np.hypot(off, np.maximum(beyond, 0)), w)
        return share(self.half - off, w) * share(-beyond, w)

    def albedo(self, x: Array, y: Array, w: float) -> Array:  # noqa: ARG002 - as every solid
        index, off = self._pin(x)
        shine = np.exp(-((off / x.dtype.type(0.35 * self.half)) ** 2))
        # Light catches a pin here and there along its length, not evenly.
        shine *= 0.6 + 0.4 * np.sin(y * x.dtype.type(0.21) + index * x.dtype.type(1.7))
        return self.metal.astype(x.dtype)[index] + x.dtype.type(self.streak) * shine

    def _pin(self, x: Array) -> tuple[Array, Array]:
        """Number of the nearest pin, and the distance to its middle line."""
        place = (x - x.dtype.type(self.first)) / x.dtype.type(self.pitch)
        index = np.clip(np.floor(place + x.dtype.type(0.5)), 0, len(self.tips) - 1)
        off = np.abs(place - index) * x.dtype.type(self.pitch)
        return index.astype(np.int32), off


def share(inside: Array, w: float) -> Array:
    """How much of a spot w wide lies within an edge `inside` mm away (negative: outside)."""
    part = inside * inside.dtype.type(1 / w)
    part += inside.dtype.type(0.5)
    return np.clip(part, 0, 1, out=part)


def push_pins(
    wall: Curve, first: float, pitch: float, count: int, half: float, *, rounded: bool
) -> Array:
    """(K,) y of the pins' upper ends when each touches the wall, which lies above, by its tip.

    Flat tip: the lowest the wall comes over the pin's width. Round tip: the circle of
    radius `half` pushed up until it touches.
    """
    tips = []
    for x in first + pitch * np.arange(count):
        off = np.linspace(-half, half, 1201)
        bow = np.sqrt(np.maximum(half**2 - off**2, 0)) if rounded else np.zeros_like(off)
        lowest = (wall.at(x + off) - bow).min()
        tips.append(lowest + (half if rounded else 0.0))
    return np.array(tips)
