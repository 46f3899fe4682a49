"""One window of a template: what is free in it for words, and what has been written into it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from scribe.output.piece.drawing import Box, Path, Text, centred, text_box
from scribe.output.piece.free_space import FreeSpace, rectangle
from scribe.piece import Piece, Polygon

Array = npt.NDArray[np.float64]
Wish = tuple[str, float]  # words and their height in mm

GAP = 1.5  # mm left free round words


class WordWindow:
    """A page, or a part of the drawing: `keep` is free on the piece, `air` beside the blank."""

    def __init__(self, piece: Piece, area: Polygon, taken: Sequence[Box]) -> None:
        low, high = area.outer.min(axis=0).tolist(), area.outer.max(axis=0).tolist()
        self.window: Box = (*low, *high)
        self.piece, self.area, self.taken = piece, area, taken
        self.paths: list[Path] = []
        self.texts: list[Text] = []
        self.keep = FreeSpace(piece.keep, self.window)
        self.air = FreeSpace(rectangle(self.window), self.window)
        self.air.take_area(piece.blank.shape)
        self.keep.only(area)
        self.air.only(area)
        for room in piece.room:
            self.air.take_line(room.outline.points, GAP)
        for line in piece.splits:
            self.keep.take_line(line, GAP)
        for box in taken:
            self.keep.take(box, GAP)
            self.air.take(box, GAP)

    def put(
        self,
        space: FreeSpace,
        wanted: Array,
        wishes: Sequence[Wish],
        *,
        angle_deg: float = 0.0,
        bold: bool = True,
        within: float = np.inf,
        gap: float = GAP,
    ) -> bool:
        """Write the first wish that fits, as near as it goes to a place; within: mm from it."""
        for said, size in wishes:
            text = Text((0.0, 0.0), said, size, angle_deg=angle_deg, bold=bold)
            x0, y0, x1, y1 = text_box(text)
            found = space.place((x1 - x0 + 2 * gap, y1 - y0 + 2 * gap), wanted)
            if found is not None and np.hypot(*(found - wanted)) <= within:
                text = centred(text, found)
                space.take(text_box(text), gap)
                self.texts.append(text)
                return True
        return False

    def waste_space(self) -> FreeSpace:
        """What is free in the largest waste."""
        space = FreeSpace(self.piece.waste[0] if self.piece.waste else self.area, self.window)
        space.only(self.area)
        for box in (*self.taken, *(text_box(text) for text in self.texts)):
            space.take(box, GAP)
        return space

    def sees(self, at: Array) -> bool:
        """Whether a point (2,) lies in the window."""
        return bool(self.inside(at[None])[0])

    def inside(self, points: Array) -> npt.NDArray[np.bool_]:
        """(N,) whether points (N, 2) lie in the window: convex, counter-clockwise."""
        ring = self.area.outer
        way, off = np.roll(ring, -1, axis=0) - ring, points[:, None] - ring
        across = way[:, 0] * off[..., 1] - way[:, 1] * off[..., 0]
        return np.asarray((across >= -1e-6).all(axis=1))
