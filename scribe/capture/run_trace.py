"""The photos of a run traced one by one, each along the stretch of the run that it shows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
import numpy.typing as npt

from scribe.capture.parallel import each
from scribe.capture.photo import read_photo
from scribe.capture.run_view import Placed
from scribe.capture.view import Trace
from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]
Kind = Literal["line", "edge"]

_LEAST_NEAR = 2  # points of a rough course that must lie in a photo for it to be asked about


@dataclass(frozen=True)
class Order:
    """What to trace in one photo. near: (N, 2) mm rough course in the frame of the run."""

    path: Path
    placed: Placed
    of: Kind
    height: float
    near: Array | None


@dataclass(frozen=True)
class Piece:
    """One photo's stretch of the outline.

    index: of the photo in the network. trace: in the frame of the run, at z = height over the
    board. tone: mm by which the photo moves an edge; 0 for a line.
    """

    index: int
    name: str
    placed: Placed
    height: float
    trace: Trace
    tone: float


def trace_run(
    orders: Sequence[Order], done: Callable[[int, int], None] = lambda _finished, _of: None
) -> list[Piece | ScribeError]:
    """Every photo's stretch, or why there is none, in the order given."""
    found = each(_traced, orders, done)
    return [
        it
        if isinstance(it, ScribeError)
        else Piece(k, order.path.name, order.placed, order.height, *it)
        for k, (order, it) in enumerate(zip(orders, found, strict=True))
    ]


def _traced(order: Order) -> tuple[Trace, float] | ScribeError:
    from scribe.capture.edge import trace_edge
    from scribe.capture.line import trace_line
    from scribe.capture.tone import black_growth

    try:
        photo = read_photo(order.path)
        view = order.placed.view(photo, order.height)
        near = None if order.near is None else _within(order.near, view.area)
        if order.of == "line":
            return trace_line(view, near=near), 0.0
        return trace_edge(view, near=near), black_growth(order.placed.on_strip(photo))
    except ScribeError as error:
        return error


def _within(course: Array, area: tuple[float, float, float, float]) -> Array | None:
    """The part of a rough course in the area of a photo; None where too little of it is."""
    x0, y0, x1, y1 = area
    inside = np.all((course >= [x0, y0]) & (course <= [x1, y1]), axis=1)
    return course[inside] if inside.sum() >= _LEAST_NEAR else None
