"""The fewest rectangles that cover a line, stretch after stretch.

A line is parted into bins; the places between two bins are gates. A rectangle, turned and moved
at will, covers the bins between two gates if it holds their points, and what two neighbours need
to be joined at the gates. The chain with the fewest rectangles is found from the far end back:
the best from a gate on is one rectangle to some later gate and the best from there (dynamic
programming; Bellman 1957). No other chain over these gates, turns and sizes takes fewer.

What is lost against all gates and turns: less than a bin at each gate, and half a step between
two turns: 0.5 degrees cost a rectangle 170 mm high less than 170 sin 0.5 deg = 1.5 mm of width.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from scribe.geom.frames import turned

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_NONE = 10**9  # rectangles, where there is no chain


class Line(NamedTuple):
    """A line of B bins. points: (N, 2) mm; pad: (N,) mm kept round each; bin: (N,) to which it
    belongs, from 0, each bin having one at least, in order.

    leave, enter: (B + 1, Q, 2) what the rectangles that end and begin at a gate need for being
    joined there; their first and last are not looked at. gate: (B + 1,) where a joint may be.
    """

    points: Array
    pad: Array
    bin: npt.NDArray[np.int64]
    leave: Array
    enter: Array
    gate: Mask


class Rectangle(NamedTuple):
    """first, last: gates. turn: radians by which the line is turned into its axes. size: which of
    the sizes. low, high: (2,) of what it must hold, turned.
    """

    first: int
    last: int
    turn: float
    size: int
    low: Array
    high: Array


class _Bounds(NamedTuple):
    """low, high: (T, N, 2) of the points of each bin, or of each gate, in every turn."""

    low: Array
    high: Array


def cover(line: Line, sizes: Array, turns: Array) -> list[Rectangle] | None:
    """The chain of fewest rectangles, the longest stretch as short as it can be; None if none.

    sizes: (S, 2) mm. turns: (T,) radians, the preferred first.
    """
    leave, enter = _bounds(line.leave, turns), _bounds(line.enter, turns)
    bins, count = _bin_bounds(line, turns), len(line.gate) - 1
    firsts = line.points[np.searchsorted(line.bin, np.arange(count))]
    best = [(_NONE, _NONE)] * count + [(0, 0)]  # rectangles, bins of the longest
    step = [0] * count
    reach = float(np.hypot(*sizes.T).max())
    for first in range(count - 1, -1, -1):
        if first > 0 and not line.gate[first]:
            continue
        fits = _fits(_held(bins, leave, enter, first, _within(firsts, first, reach)), sizes)
        for length in np.flatnonzero(fits.any(axis=(0, 1))) + 1:
            last = first + int(length)
            if last < count and not line.gate[last]:
                continue
            rest, longest = best[last]
            found = rest + 1, max(longest, int(length))
            if found < best[first]:
                best[first], step[first] = found, last
    if best[0][0] >= _NONE:
        return None
    chain: list[Rectangle] = []
    first = 0
    while first < count:
        held = _held(bins, leave, enter, first, step[first] - first)
        chain.append(_chosen(held, sizes, turns, first, step[first], chain))
        first = step[first]
    return chain


def _bounds(points: Array, turns: Array) -> _Bounds:
    at = np.stack([turned(float(angle)).apply(points) for angle in turns])
    return _Bounds(at.min(axis=2), at.max(axis=2))


def _bin_bounds(line: Line, turns: Array) -> _Bounds:
    at = np.stack([turned(float(angle)).apply(line.points) for angle in turns])
    begin = np.searchsorted(line.bin, np.arange(len(line.gate) - 1))
    pad = line.pad[:, None]
    return _Bounds(
        np.minimum.reduceat(at - pad, begin, axis=1), np.maximum.reduceat(at + pad, begin, axis=1)
    )


def _within(points: Array, first: int, reach: float) -> int:
    """How many bins from the first on could share a rectangle with it, at most.

    points: (B, 2), one of each bin.
    """
    beyond = np.flatnonzero(np.hypot(*(points[first:] - points[first]).T) > reach)
    return int(beyond[0]) if len(beyond) else len(points) - first


def _held(bins: _Bounds, leave: _Bounds, enter: _Bounds, first: int, count: int) -> _Bounds:
    """(T, count, 2): what a rectangle from gate `first` over 1, 2 ... bins must hold."""
    last, total = first + count, bins.low.shape[1]
    low = np.minimum.accumulate(bins.low[:, first:last], axis=1)
    high = np.maximum.accumulate(bins.high[:, first:last], axis=1)
    if first > 0:
        low = np.minimum(low, enter.low[:, first, None])
        high = np.maximum(high, enter.high[:, first, None])
    inner = min(count, total - 1 - first)  # the far end needs no joint
    low[:, :inner] = np.minimum(low[:, :inner], leave.low[:, first + 1 : first + 1 + inner])
    high[:, :inner] = np.maximum(high[:, :inner], leave.high[:, first + 1 : first + 1 + inner])
    return _Bounds(low, high)


def _fits(held: _Bounds, sizes: Array) -> Mask:
    """(S, T, count) whether a rectangle of that size and turn holds so many bins."""
    spans = held.high - held.low
    return np.asarray((spans[None] <= sizes[:, None, None] + 1e-9).all(axis=3))


def _chosen(
    held: _Bounds, sizes: Array, turns: Array, first: int, last: int, before: list[Rectangle]
) -> Rectangle:
    """The preferred turn if it does, else that of the rectangle before, else the roomiest."""
    low, high = held.low[:, -1], held.high[:, -1]
    slack = (sizes[:, None] - (high - low)[None]).min(axis=2)  # (S, T)
    fits = slack.max(axis=0) >= -1e-9
    same = np.flatnonzero(turns == before[-1].turn) if before else np.array([], np.int64)
    liked = [turn for turn in (0, *same.tolist()) if fits[turn]]
    turn = int(liked[0] if liked else slack.max(axis=0).argmax())
    size = int(slack[:, turn].argmax())
    return Rectangle(first, last, float(turns[turn]), size, low[turn], high[turn])
