"""Few marks for a batten: a spline bent through them stays within a band.

Marks are added where the batten leaves the band. Then one after the other is left out, those
that remain moving by up to some millimetres and tenths until the batten lies within the band
again, down to the number below which none would do (`scribe.fit.marks.bound`). Where it ends above
that number few are left, though not provably the fewest.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from scribe.fit.marks.band import HAIR, MARK_MM, Band
from scribe.geom.batten import batten

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.int64]
Chosen = tuple[Index, Array]

_MOST_MARKS = 60  # a batten that needs more follows nothing
_ROUNDS = 6  # of moving every mark once
_FAR = 3.0  # tolerances beyond the band: no moving makes up for a mark that is missed so much
_MOVES_MM = (4.0, 16.0, 48.0)


def sprung(band: Band, least: int, most: int) -> Chosen | None:
    """Indices of stations and what to mark there; None where it takes more than `most` marks,
    or a batten can't follow: at a corner, or in a bend sharper than its marks. least: the number
    below which none would do.
    """
    if least > most:
        return None
    found = _added(band)
    if found is None:
        return None
    while len(found[0]) > least:
        fewer = _with_one_less(band, found)
        if fewer is None:
            break
        found = fewer
    return found if len(found[0]) <= most else None


def _beyond(band: Band, chosen: Sequence[Chosen]) -> list[float]:
    """mm by which each batten leaves the band at most; all through equally many marks."""
    if not chosen:
        return []
    at, marked = (np.array(part) for part in zip(*chosen, strict=True))
    return list(band.beyond(batten(band.s[at], marked, band.s)).tolist())


def _added(band: Band) -> Chosen | None:
    """Marks in the middle of the band, one more at a time where the batten leaves it most."""
    at = np.array([0, len(band.s) - 1])
    while True:
        marked = (band.low[at] + band.high[at] + 1) // 2 * MARK_MM
        left = band.left(batten(band.s[at], marked, band.s))
        off = np.maximum(-left, left - band.tolerance)
        if off.max() <= HAIR:
            return at, marked
        more = np.unique(np.append(at, band.places[int(off[band.places].argmax())]))
        if len(more) == len(at) or len(more) > _MOST_MARKS:
            return None
        at = more


def _with_one_less(band: Band, found: Chosen) -> Chosen | None:
    """One mark left out and the rest moved until it does; those are tried first whose want shows
    least.
    """
    at, marked = found
    without = [(np.delete(at, k), np.delete(marked, k)) for k in range(1, len(at) - 1)]
    for k in np.argsort(_beyond(band, without), kind="stable")[:2]:
        moved = _moved(band, without[k])
        if moved is not None:
            return moved
    return None


def _moved(band: Band, chosen: Chosen) -> Chosen | None:
    """The marks moved one by one, each to where the batten leaves the band least."""
    (worst,) = _beyond(band, [chosen])
    if worst > _FAR * band.tolerance:
        return None
    for _ in range(_ROUNDS):
        if worst <= HAIR:
            return chosen
        before = worst
        for k in range(len(chosen[0])):
            others = _neighbours(band, chosen, k)
            for other, off in zip(others, _beyond(band, others), strict=True):
                if off < worst - HAIR:
                    chosen, worst = other, off
        if worst >= before - HAIR:
            return None
    return chosen if worst <= HAIR else None


def _neighbours(band: Band, chosen: Chosen, k: int) -> list[Chosen]:
    """The same marks with one of them a tenth higher or lower, or some millimetres aside."""
    at, marked = chosen
    low, high = band.low, band.high
    heights = np.arange(low[at[k]], high[at[k]] + 1) * MARK_MM
    found = [(at, _put(marked, k, float(height))) for height in heights if height != marked[k]]
    if 0 < k < len(at) - 1:
        for move in (sign * mm for mm in _MOVES_MM for sign in (1.0, -1.0)):
            n = _place(band, band.s[at[k]] + move)
            if at[k - 1] < n < at[k + 1]:
                moved = at.copy()
                moved[k] = n
                height = float(np.clip(marked[k], low[n] * MARK_MM, high[n] * MARK_MM))
                found.append((moved, _put(marked, k, height)))
    return found


def _put(marked: Array, k: int, height: float) -> Array:
    changed = marked.copy()
    changed[k] = height
    return changed


def _place(band: Band, station: float) -> int:
    """The place for a mark that is nearest to a station."""
    return int(band.places[np.abs(band.s[band.places] - station).argmin()])
