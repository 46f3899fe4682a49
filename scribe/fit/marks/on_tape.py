"""Marks at stations that a tape shows: halves of a millimetre, kept on the safe side.

The fewest marks may stand at odd places: at the ends of a stretch, and where the line bends. Each
goes to the nearest half millimetre, an end towards the waste, as far as the joined line then still
takes nothing from the piece.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from scribe.fit.marks.band import HAIR, MARK_MM
from scribe.geom.batten import batten
from scribe.piece import Marks
from scribe.quantity import round_down_mm

Array = npt.NDArray[np.float64]

TAPE_MM = 0.5  # a tape is read to half a millimetre
_SAMPLE_MM = 2.0


def on_tape(found: Marks, station: Array, remove: Array, *, out: tuple[bool, bool]) -> Marks:
    """The same marks at stations that a tape shows, as far as none then cuts into the piece.

    station, remove: (N,) the profile they stand for. out: whether its first and its last station
    may be passed: beyond them lies waste. A mark that would have to give way
    by more than a tenth stays where it is.
    """
    at = np.array([_down(each + TAPE_MM / 2.0) for each in found.station.tolist()])
    first, last = float(found.station[0]), float(found.station[-1])
    at[0] = _down(first) if out[0] else -_down(-first)
    at[-1] = -_down(-last) if out[1] else _down(last)
    low = np.minimum(found.remove, np.interp(at, station, remove))
    marked = np.array([round_down_mm(max(each, 0.0), MARK_MM) for each in low.tolist()])
    line = batten if found.join == "batten" else _straight
    lowered = np.zeros(len(at), bool)
    while True:
        moved = at != found.station
        if not moved.any() or (np.diff(at) <= 0.0).any():
            return found
        whole = np.arange(np.ceil(at[0]), at[-1], _SAMPLE_MM)
        s = np.unique(np.concatenate([station, whole, at]))
        s = s[(s >= at[0]) & (s <= at[-1])]
        over = line(at, marked, s) - np.interp(s, station, remove)
        if over.max() <= HAIR:
            return replace(found, station=at, remove=marked, most_left=float(-over.min()))
        back = np.flatnonzero(moved)
        back = back[np.abs(at[back] - s[int(over.argmax())]).argmin()]
        if not lowered[back] and marked[back] >= MARK_MM:
            lowered[back] = True
            marked[back] = round_down_mm(marked[back] - MARK_MM, MARK_MM)
        else:
            at[back], marked[back] = found.station[back], found.remove[back]


def _straight(marks: Array, offsets: Array, at: Array) -> Array:
    return np.interp(at, marks, offsets)


def _down(station: float) -> float:
    return round_down_mm(station, TAPE_MM)
