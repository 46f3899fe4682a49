"""What the user said of where an outline runs, and the refusals of what can't be followed.

In mm on the plane of the view, as the photo's overlay shows them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.view import Box
from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Wish:
    """What the user said about the way: its ends, or a rough polyline (N, 2); mm."""

    start: Array | None = None
    end: Array | None = None
    near: Array | None = None

    @property
    def silent(self) -> bool:
        """True when the way has to be found without help."""
        return self.start is None and self.end is None and self.near is None


def forwards(way: Array, wish: Wish) -> Array:
    """Travelled from the start that was given; otherwise with x growing, or y when upright."""
    first, last = way[0], way[-1]
    if wish.start is not None:
        turn = np.hypot(*(first - wish.start)) > np.hypot(*(last - wish.start))
    elif wish.end is not None:
        turn = np.hypot(*(last - wish.end)) > np.hypot(*(first - wish.end))
    elif wish.near is not None:
        turn = (last - first) @ (wish.near[-1] - wish.near[0]) < 0
    else:
        dx, dy = last - first
        turn = dx < 0 if abs(dx) >= 0.2 * abs(dy) else dy < 0
    return way[::-1] if turn else way


def refuse_outside(area: Box, wish: Wish, where: str) -> None:
    """Refuse ends or lines that the user wants outside of what the marks support."""
    for given in (wish.start, wish.end, wish.near):
        if given is None:
            continue
        low, high = np.min(np.atleast_2d(given), axis=0), np.max(np.atleast_2d(given), axis=0)
        if (low < area[:2]).any() or (high > area[2:]).any():
            raise ScribeError(
                "outline-outside-marks",
                what="the outline would run outside of the marks, where nothing supports it",
                where=where,
                do="stay between {:.0f}, {:.0f} and {:.0f}, {:.0f} mm, "
                "or lay the sheet so that the marks surround the outline".format(*area),
            )


def ambiguous(where: str, what: str) -> ScribeError:
    """The refusal when two ways are about equally good."""
    return ScribeError(
        "outline-ambiguous",
        what=what,
        where=where,
        do="say which one with {ends or near}",
    )


def no_line(where: str, what: str) -> ScribeError:
    """The refusal when there is no line to follow."""
    do = "draw it darker (on a dark board: on light tape) or light it better"
    return _not_found(where, what, do)


def no_edge(where: str, what: str) -> ScribeError:
    """The refusal when there is no edge to follow."""
    return _not_found(where, what, "let the light fall on it, keep all else out of the window")


def shadowed(where: str) -> ScribeError:
    """The refusal of an edge that its shadow hides."""
    return ScribeError(
        "edge-shadow",
        what="the edge can't be told from its shadow",
        where=where,
        do="turn the sheet so that the light falls on this edge, or light it from both sides",
    )


def covered(where: str, points: Array) -> ScribeError:
    """The refusal of an edge along which something lies across it, at points (N, 2) mm."""
    x, y = np.median(points, axis=0)
    return ScribeError(
        "edge-covered",
        what=f"round {x:.0f}, {y:.0f} mm something of another colour lies inside the edge",
        where=where,
        do="take hands and tools off it and take the photo again; or name the part to trace"
        " with {ends}",
    )


def _not_found(where: str, what: str, do: str) -> ScribeError:
    do += ", or say where it runs with {ends}"
    return ScribeError("outline-not-found", what=what, where=where, do=do)
