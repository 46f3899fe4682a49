"""What is drawn on a sheet or a board: strokes and words, as light that a surface loses."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np

from scribe.target import window_sheet
from tests.scenes.outlines import Array
from tests.scenes.scene import Scene
from tests.scenes.texture import Texture

_TEXEL, _SPARE = 1 / 12, 30.0  # mm: of drawings, and round the window


@dataclass(frozen=True)
class Drawn:
    """A surface with something drawn on it. left: (H, W) uint8, percent of the light, row 0 above;
    corner: its lower left one, mm.
    """

    below: Texture
    left: Array
    corner: tuple[float, float]

    @property
    def low(self) -> float:
        return self.below.low

    @property
    def high(self) -> float:
        return self.below.high

    def at(self, x: Array, y: Array, footprint: float) -> Array:
        scale = np.float32(1 / _TEXEL)
        u = (x - np.float32(self.corner[0])) * scale - np.float32(0.5)
        v = np.float32(len(self.left) - 0.5) - (y - np.float32(self.corner[1])) * scale
        left = cv2.remap(self.left, u, v, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        return self.below.at(x, y, footprint) * left.astype(np.float32) * np.float32(0.01)


class Sketch:
    """A drawing as large as the window and a little more."""

    def __init__(self) -> None:
        x0, y0, x1, y1 = window_sheet("A4", 1).window or (0.0, 0.0, 0.0, 0.0)
        self.corner = x0 - _SPARE, y0 - _SPARE
        size = np.array([y1 - y0 + 2 * _SPARE, x1 - x0 + 2 * _SPARE]) / _TEXEL
        self.left = np.full(size.astype(int), 100, np.uint8)

    def at(self, point: Array) -> tuple[int, int]:
        x, y = (np.asarray(point) - self.corner) / _TEXEL
        return round(x), round(len(self.left) - y)

    def stroke(self, points: Array, dark: float, width: float) -> None:
        pixels = np.array([self.at(point) for point in points])
        thick = max(round(width / _TEXEL), 2)
        cv2.polylines(self.left, [pixels], False, round(100 * (1 - dark)), thick, cv2.LINE_AA)

    def word(self, text: str, point: Array, tall: float, dark: float, width: float) -> None:
        thick = max(round(width / _TEXEL), 2)
        font, size = cv2.FONT_HERSHEY_SIMPLEX, tall / _TEXEL / 21
        ink = round(100 * (1 - dark))
        cv2.putText(self.left, text, self.at(point), font, size, ink, thick, cv2.LINE_AA)

    def on_sheet(self, scene: Scene) -> Scene:
        world = scene.world
        return replace(
            scene, world=replace(world, sheet=Drawn(world.sheet, self.left, self.corner))
        )

    def on_board(self, scene: Scene) -> Scene:
        """On the board whose edge it is or that carries the line; else on the sheet."""
        if scene.kind == "gauge" or not scene.world.solids:
            return self.on_sheet(scene)
        board, *others = scene.world.solids
        board = replace(board, surface=Drawn(board.surface, self.left, self.corner))
        return replace(scene, world=replace(scene.world, solids=(board, *others)))
