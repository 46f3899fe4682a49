"""The photos of a run traced one by one, each along the stretch of the run that it shows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.scan import distance_to
from scribe.capture.photo_file import read_photo
from scribe.capture.run.parallel import each
from scribe.capture.run.view import Placed
from scribe.capture.view import Trace
from scribe.errors import ScribeError
from scribe.places import asking_instead

Array = npt.NDArray[np.float64]
Kind = Literal["line", "edge"]

_LOST_MM = 15.0  # of a course that a photo shows: what is missing of it
_COURSE_MM = 10.0  # between points of a rough course
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
    board. tone: mm by which the photo moves an edge; 0 for a line. unsquare: mm, standard
    uncertainty of where the upper edge lies over a foot that was traced in its place; 0 where it
    was traced itself.
    """

    index: int
    name: str
    placed: Placed
    height: float
    trace: Trace
    tone: float
    unsquare: float = 0.0

    @property
    def parts(self) -> dict[str, Array]:
        """name -> (N,) mm: what the u of the trace is made of, localisation first."""
        return {"localisation": self.trace.localisation, **self.trace.parts}


def trace_run(
    orders: Sequence[Order], done: Callable[[int, int], None] = lambda _finished, _of: None
) -> list[Piece | ScribeError]:
    """Every photo's stretch, or why there is none, in the order given.

    A photo in which the outline can't be told from what lies beside it, or is lost before it
    leaves the photo, is looked at once more along the course that the others show.
    """
    found = each(_traced, orders, done)
    course = _course([it[0] for it in found if not isinstance(it, ScribeError)])
    if course is not None:
        again = [k for k, it in enumerate(found) if _lost(orders[k], it, course)]
        hinted = [replace(orders[k], near=course) for k in again]
        for k, it in zip(again, each(_traced, hinted), strict=True):
            if isinstance(it, ScribeError):
                continue
            before = found[k]
            if isinstance(before, ScribeError) or len(it[0].points) > len(before[0].points):
                found[k] = it
    return [
        it
        if isinstance(it, ScribeError)
        else Piece(k, order.path.name, order.placed, order.height, *it)
        for k, (order, it) in enumerate(zip(orders, found, strict=True))
    ]


def _lost(order: Order, found: tuple[Trace, float] | ScribeError, course: Array) -> bool:
    """Whether a photo shows more of the course than was traced in it, and nobody said where."""
    if order.near is not None:
        return False
    if isinstance(found, ScribeError):
        return True
    shown = _within(course, order.placed.area)
    return shown is not None and float(distance_to(shown, found[0].points).max()) > _LOST_MM


def _course(traces: Sequence[Trace]) -> Array | None:
    """(N, 2) mm: the rough course that these stretches show, from one end of the run to the
    other; where none of them was, straight on.
    """
    if not traces:
        return None
    points = np.vstack([trace.points for trace in traces])
    axis = 0 if np.ptp(points[:, 0]) >= np.ptp(points[:, 1]) else 1
    cell = np.floor(points[:, axis] / _COURSE_MM).astype(np.int64)
    known = np.array([np.median(points[cell == each], axis=0) for each in np.unique(cell)])
    place = known[:, axis]
    every = np.linspace(place[0], place[-1], int(np.ptp(place) / _COURSE_MM) + 2)
    return np.column_stack([np.interp(every, place, known[:, k]) for k in (0, 1)])


def _traced(order: Order) -> tuple[Trace, float] | ScribeError:
    from scribe.capture.edges.edge import trace_edge
    from scribe.capture.lines.trace import trace_line
    from scribe.capture.sheet.tone import black_growth

    try:
        photo = read_photo(order.path)
        view = order.placed.view(photo, order.height)
        near = None if order.near is None else _within(order.near, view.area)
        if order.of == "line":
            return trace_line(view, near=near), 0.0
        return trace_edge(view, near=near, upright=False), black_growth(
            order.placed.on_strip(photo)
        )
    except ScribeError as error:
        return _of_run(error)


def _of_run(error: ScribeError) -> ScribeError:
    """Where a run ends doesn't say which way it takes through each photo: a rough course does."""
    do = asking_instead(error.do, {"ends": "near", "ends or near": "near"})
    return ScribeError(error.kind, what=error.what, where=error.where, do=do)


def _within(course: Array, area: tuple[float, float, float, float]) -> Array | None:
    """The part of a rough course in the area of a photo; None where too little of it is."""
    x0, y0, x1, y1 = area
    inside = np.all((course >= [x0, y0]) & (course <= [x1, y1]), axis=1)
    return course[inside] if inside.sum() >= _LEAST_NEAR else None
