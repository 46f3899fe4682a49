"""The view of a coloured board and its shadow, red, green and blue each a picture of its own."""

from __future__ import annotations

import numpy as np

from tests.capture.fake_view import Array, FakeView, board_paint, seen

# Its upper side has an arris, as every outline may.
CORNERS = np.array([[20.0, 8.0], [92.0, 8.0], [92.0, 36.0], [60.0, 40.0], [20.0, 35.0]])
LUMA = np.array([0.2126, 0.7152, 0.0722])  # of linear red, green, blue (ITU-R BT.709)
_PAPER = 0.8


def coloured(
    colour: tuple[float, ...],
    *,
    shadow: tuple[float, float] = (0, 0),
    depth: tuple[float, float, float] = (0.45, 0.45, 0.45),
    soft: float = 0.3,
    corners: Array = CORNERS,
    seed: int = 0,
) -> FakeView:
    """colour: reflectance of the board over that of paper. depth: what its shadow takes of each."""
    planes = [
        seen(
            board_paint(
                corners, face=_PAPER * part, paper=_PAPER, shadow=shadow, soft=soft, depth=less
            ),
            noise=0.0,
        ).picture
        for part, less in zip(colour, depth, strict=True)
    ]
    rng = np.random.default_rng(seed)
    grey = np.tensordot(LUMA, np.stack(planes), axes=1)
    view = FakeView(np.clip(grey + rng.normal(0, 0.006, grey.shape), 0, 1), blur_px=0.85)
    view.colours = np.stack([_half(plane) for plane in planes])
    view.colours += rng.normal(0, 0.008, view.colours.shape)
    return view


def _half(plane: Array) -> Array:
    rows, columns = plane.shape
    return plane.reshape(rows // 2, 2, columns // 2, 2).mean(axis=(1, 3))
