"""The fewest stations to mark so that a straight edge, or a sprung batten, joins them.

For a fitter without a printer: so many marks, joined, are the cut line within a tolerance.
In: what to remove along an edge, as a profile (stations rising, mm). Out: the stations and
what to mark there. The joined line never takes more than the profile and leaves at most the
tolerance. Marks stand on whole millimetres of station and on whole tenths of what to remove.

A straight edge: of all chains of such marks the one of fewest links, layer by layer over every
chord that stays within the band (shortest path; after Imai and Iri, 1988, polygonal
approximation with a given error, whose marks lie on the profile itself). A batten is searched
for in `scribe.fit.marks.sprung`, and `scribe.fit.marks.bound` tells below which number none is.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from scribe.fit.marks.band import HAIR, MARK_MM, Band, band_of
from scribe.fit.marks.bound import fewest_marks
from scribe.fit.marks.sprung import sprung
from scribe.geom.batten import batten
from scribe.piece import Join, Marks

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.int64]

TOLERANCE_MM = 0.3
LONGEST_MM = 2000.0  # a straight edge longer than this is rarely in the van
_SAMPLE_MM = 2.0  # from place to place where a mark may stand, and more on a long edge:
_MOST_PLACES = 1000
_FIRST_LOOK = 128  # stations that are looked at first; most chords end before


def marks(station: Array, remove: Array, join: Join, tolerance: float = TOLERANCE_MM) -> Marks:
    """The marks that stand for a profile (N,), N >= 2, stations rising.

    tolerance: mm, at least twice MARK_MM. Where a batten needs no fewer marks than a
    straight edge, or can't follow at all, the answer is for the straight edge.
    """
    apart = max(_SAMPLE_MM, np.ceil((station[-1] - station[0]) / _MOST_PLACES))
    whole = np.arange(np.ceil(station[0]), station[-1], apart)
    s = np.unique(np.concatenate([station, whole]))
    r = np.maximum(np.interp(s, station, remove), 0.0)
    band = band_of(s, r, tolerance, _markable(s, r, whole, tolerance))
    at, marked = _fewest(band)
    if join == "batten":
        least = fewest_marks(band)
        found = sprung(band, least, len(at) - 1)
        if found is not None:
            at, marked = found
            left = band.left(batten(s[at], marked, s))
            return Marks(join, s[at], marked, float(left.max()), len(at) == least)
    left = band.left(np.interp(s, s[at], marked))
    return Marks("straight edge", s[at], marked, float(left.max()), proved=True)


def _markable(s: Array, r: Array, whole: Array, tolerance: float) -> npt.NDArray[np.bool_]:
    """(N,) where a mark may stand: on the whole mm given, at the ends, and where the profile bends
    so sharply that a mark a millimetre beside it would leave half of the tolerance.
    """
    may = np.isin(s, whole)
    may[[0, -1]] = True
    bend = np.interp(s - 1.0, s, r) - 2.0 * r + np.interp(s + 1.0, s, r)
    may[1:-1] |= np.abs(bend[1:-1]) > tolerance / 2.0
    return may


def _fewest(band: Band) -> tuple[Index, Array]:
    """Stations (as indices) and heights of the shortest chain of chords within the band.

    Where whole millimetres alone don't do, a mark may stand on every station of the profile.
    """
    for may in (band.may, np.ones(len(band.s), bool)):
        found = _chain(replace(band, may=may))
        if found is not None:
            return found
    raise AssertionError("from station to station every profile can be marked")


def _chain(band: Band) -> tuple[Index, Array] | None:
    """Layer by layer: every mark that so many chords lead to, until one is at the last station."""
    last = len(band.s) - 1
    low, high = band.low, band.high
    wide = int((high - low).max()) + 1
    # before: the mark that led to a mark, both as station * wide + tenths above the lowest.
    before = np.full(len(band.s) * wide, -1, np.int64)
    seen = np.zeros((len(band.s), wide), bool)
    seen |= np.arange(wide) > (high - low)[:, None]  # no such height
    seen[~band.may] = True
    layer = np.arange(int(high[0] - low[0]) + 1)
    seen[0] = True
    while len(layer):
        reached: list[Index] = []
        for mark in layer[::-1].tolist():
            n, up = divmod(mark, wide)
            new = _chords(band, low, seen, n, float(low[n] + up) * MARK_MM)
            before[new] = mark
            reached.append(new)
        layer = np.sort(np.concatenate(reached))
        if len(layer) and layer[-1] // wide == last:
            chain = [int(layer[-1])]
            while chain[-1] >= wide:  # the marks of the first station lead the numbers
                chain.append(int(before[chain[-1]]))
            at, tenths = np.divmod(np.array(chain[::-1], np.int64), wide)
            return at, np.asarray((low[at] + tenths) * MARK_MM)
    return None


def _chords(band: Band, low: Index, seen: npt.NDArray[np.bool_], n: int, start: float) -> Index:
    """Every mark not yet seen (and seen from now on) that a straight edge joins with one at
    station n, `start` mm high, without leaving the band between.
    """
    last = int(np.searchsorted(band.s, band.s[n] + LONGEST_MM, "right"))
    size = _FIRST_LOOK
    while True:
        part = slice(n + 1, min(n + 1 + size, last))
        run = band.s[part] - band.s[n]
        # A chord passes all between when its slope lies in all their wedges.
        rise = band.r[part] - start
        steepest = np.minimum.accumulate(rise / run) + HAIR
        flattest = np.maximum.accumulate((rise - band.tolerance) / run) - HAIR
        if part.stop == last or steepest[-1] < flattest[-1]:
            break
        size *= 4
    wide = seen.shape[1]
    slope = ((low[part, None] + np.arange(wide)) * MARK_MM - start) / run[:, None]
    new = (flattest[:, None] <= slope) & (slope <= steepest[:, None]) & ~seen[part]
    seen[part] |= new
    return np.asarray((n + 1) * wide + np.flatnonzero(new))
