"""The outline of a run drawn over each of its photos, over the cores."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from scribe.capture.overlay import draw_overlay
from scribe.capture.photo_file import read_photo
from scribe.capture.run.parallel import each
from scribe.capture.run.view import Placed
from scribe.outline import Outline

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Sketch:
    """points, u, measured: of the whole run's outline. caption: one line, set below it."""

    path: Path
    placed: Placed
    height: float
    points: Array
    u: Array
    measured: npt.NDArray[np.bool_]
    caption: str


def draw_run(sketches: Sequence[Sketch]) -> tuple[bytes, ...]:
    """A PNG for each."""
    return tuple(each(_drawn, sketches))


def _drawn(sketch: Sketch) -> bytes:
    view = sketch.placed.view(read_photo(sketch.path), sketch.height)
    inside = view.shows(sketch.points)
    part = Outline(
        sketch.points[inside], sketch.u[inside], "left", measured=sketch.measured[inside]
    )
    return draw_overlay(view, part, sketch.caption)
