"""Passage: how a trapped piece goes into its place, or where it sticks, as positions to draw.

`scribe.fit` finds it and `scribe.output` draws it. Frame: mm; in its plane the piece is seen from
its face, y being the way in. Tilted, it is seen as a section through its thickness, y square to
the face.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Way = Literal["slide", "swing", "tilt"]


@dataclass(frozen=True)
class Passage:
    """way: in its plane, or tilted. positions: rings (N, 2) of the piece, from free to home.

    tight: the number of the position where least is to spare; spots: (K, 2) where that is.
    spare: mm there between the walls, negative where it is too wide. walls: (M, 2) each, the left
    one, the right one, and the one behind where there is one, the first two in order of y.
    names: what its left and its right end are called. words: how it goes, as a caption.
    """

    way: Way
    positions: tuple[Array, ...]
    tight: int
    spots: Array
    spare: float
    walls: tuple[Array, ...]
    names: tuple[str, str]
    words: str
