"""A bank card lying in the window: a solid with round corners, turned at will."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tests.scenes.outlines import Array
from tests.scenes.scene import Scene, make_scene
from tests.scenes.solids import share

LONG, WIDE, THICK, RADIUS = 85.60, 53.98, 0.76, 3.18  # mm, ISO/IEC 7810 ID-1


@dataclass(frozen=True)
class Card:
    """middle: (x, y) mm. turn: rad. light: of its face; a stripe and a chip are darker."""

    middle: tuple[float, float]
    turn: float
    light: float
    z_low: float = 0.0
    z_top: float = THICK
    tint: tuple[float, float, float] = (0.7, 0.85, 1.2)
    side: float = 0.2

    @property
    def box(self) -> tuple[float, float, float, float]:
        reach = float(np.hypot(LONG, WIDE)) / 2
        x, y = self.middle
        return x - reach, y - reach, x + reach, y + reach

    def cover(self, x: Array, y: Array, w: float) -> Array:
        x0, y0, x1, y1 = self.box
        if x.min() > x1 + w or x.max() < x0 - w or y.min() > y1 + w or y.max() < y0 - w:
            return np.zeros_like(x)
        u, v = self._own(x, y)
        a, b = np.abs(u) - (LONG / 2 - RADIUS), np.abs(v) - (WIDE / 2 - RADIUS)
        outside = np.hypot(np.maximum(a, 0), np.maximum(b, 0)) + np.minimum(np.maximum(a, b), 0)
        return share((RADIUS - outside).astype(x.dtype), w)

    def albedo(self, x: Array, y: Array, w: float) -> Array:  # noqa: ARG002 - as every solid
        u, v = self._own(x, y)
        face = np.full_like(x, self.light)
        face[np.abs(v - 12.0) < 5.0] *= 0.4
        face[(np.abs(u + 28.0) < 6.0) & (np.abs(v + 4.0) < 5.0)] *= 1.8
        return face

    def _own(self, x: Array, y: Array) -> tuple[Array, Array]:
        cosine, sine = x.dtype.type(np.cos(self.turn)), x.dtype.type(np.sin(self.turn))
        dx, dy = x - x.dtype.type(self.middle[0]), y - x.dtype.type(self.middle[1])
        return cosine * dx + sine * dy, cosine * dy - sine * dx


def with_card(scene: Scene, middle: tuple[float, float], turn: float, light: float) -> Scene:
    """The scene with a card beside what lies in the window."""
    world = scene.world
    solids = (*world.solids, Card(middle, turn, light))
    return replace(scene, world=replace(world, solids=solids))


def card_scene(seed: int, *, turn: float, light: float = 0.25, **options: object) -> Scene:
    """A sheet with nothing but a card in its window."""
    scene = make_scene("line", seed, height=0.0, material="plain", **options)
    wide, tall = scene.world.paper
    card = Card((wide / 2 + 3.0, tall / 2 - 8.0), turn, light)
    world = replace(scene.world, solids=(card,), stroke=None, stroke_on=-1)
    return replace(scene, world=world)
