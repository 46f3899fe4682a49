"""How a photo and its outline lie on each other, for a screen on which a finger points.

The way from the photo to the sheet is kept as a grid over the photo: between its nodes it is
bilinear, which with 33 nodes to a side is off by some micrometres (perspective bends little
over a thirty-second of a picture), far below what a finger can aim.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from scribe.outline import Outline

if TYPE_CHECKING:
    from scribe.capture.photo_view import PhotoView

Array = npt.NDArray[np.float64]

NODES = 33


@dataclass(frozen=True)
class Sight:
    """photo: its name. size_px: upright. outline_px: (N, 2), the stretch of the outline that it
    shows; first: which point of the outline is the first of them. grid_mm: (NODES, NODES, 2),
    the sheet's points under nodes that divide the photo evenly, rows from its top.
    """

    photo: str
    size_px: tuple[int, int]
    outline_px: Array
    grid_mm: Array
    first: int = 0

    def sheet(self, pixels: Array) -> Array:
        """(N, 2) mm of the sheet under pixels (N, 2)."""
        width, height = self.size_px
        at = pixels / np.array([width - 1, height - 1]) * (NODES - 1)
        cell = np.clip(np.floor(at).astype(int), 0, NODES - 2)
        (x, y), (i, j) = (at - cell).T[:, :, None], cell.T
        g = self.grid_mm
        top = (1 - x) * g[j, i] + x * g[j, i + 1]
        foot = (1 - x) * g[j + 1, i] + x * g[j + 1, i + 1]
        return np.asarray((1 - y) * top + y * foot)

    def along(self) -> float:
        """Where along the sheet's x the photo's middle lies, mm: the order of photos of a run."""
        return float(self.grid_mm[NODES // 2, NODES // 2, 0])

    def content(self) -> dict[str, Any]:
        """As JSON has it."""
        return {
            "photo": self.photo,
            "size_px": list(self.size_px),
            "outline_px": np.round(self.outline_px, 2).tolist(),
            "grid_mm": np.round(self.grid_mm, 5).tolist(),
            "first": self.first,
        }

    @staticmethod
    def of_content(content: dict[str, Any]) -> Sight:
        """The reverse."""
        width, height = content["size_px"]
        return Sight(
            content["photo"],
            (int(width), int(height)),
            np.array(content["outline_px"], float).reshape(-1, 2),
            np.array(content["grid_mm"], float),
            int(content["first"]),
        )


def sight_of(view: PhotoView, outline: Outline | None) -> Sight:
    """Of a photo and the stretch that it shows of an outline traced on the plane of its view;
    None: of the photo alone.
    """
    camera, photo = view.oriented.camera, view.oriented.photo
    width, high = photo.size
    xs, ys = np.meshgrid(np.linspace(0, width - 1, NODES), np.linspace(0, high - 1, NODES))
    nodes = np.stack([xs, ys], axis=-1).reshape(-1, 2)
    grid = camera.on_plane(nodes, view.height).reshape(NODES, NODES, 2)
    if outline is None:
        return Sight(photo.name, photo.size, np.empty((0, 2)), grid)
    shown = np.flatnonzero(view.shows(outline.points))
    first, last = (int(shown[0]), int(shown[-1]) + 1) if shown.size else (0, 0)
    pixels = camera.plane_pixels(outline.points[first:last], view.height)
    return Sight(photo.name, photo.size, pixels, grid, first)
