"""The fewest stations to mark so that a straight edge, or a sprung batten, joins them.

For a fitter without a printer: so many marks, joined, are the cut line within a tolerance.
In: what to remove along an edge, as a profile (stations rising, mm). Out: the stations and
what to mark there. The joined line never takes more than the profile, and leaves at most the
tolerance: marks stand off by half of what the tolerance leaves after their rounding.

A straight edge: among all chains of marks on the profile the one of fewest links, by dynamic
programming over chords that stay within the band (Imai and Iri, 1988, polygonal approximation
with a given error). For a batten pressed against its marks (`geom.batten`) marks are added and left
out one by one, so that few are left, though not provably the fewest.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.geom.batten import batten
from scribe.piece import Join, Marks
from scribe.quantity import round_down_mm

Array = npt.NDArray[np.float64]

MARK_MM = 0.1  # people mark to a tenth with a sharp knife and a rule
TOLERANCE_MM = 0.3
LONGEST_MM = 2000.0  # a straight edge longer than this is rarely in the van
_SAMPLE_MM = 2.0
_MOST_MARKS = 60  # a batten that needs more follows nothing
_HAIR = 1e-9


def marks(station: Array, remove: Array, join: Join, tolerance: float = TOLERANCE_MM) -> Marks:
    """The marks that stand for a profile (N,), N >= 2, stations rising.

    tolerance: mm, at least twice MARK_MM. Where a batten would need more marks than a straight
    edge, or can't follow at all, the answer is for the straight edge.
    """
    half = (tolerance - MARK_MM) / 2.0
    whole = np.arange(np.ceil(station[0]), station[-1], _SAMPLE_MM)
    s = np.unique(np.concatenate([station, whole]))
    r = np.interp(s, station, remove)
    marked = np.array([round_down_mm(max(float(each), 0.0), MARK_MM) for each in r - half])
    chosen = _fewest(s, r, half, _markable(s, r, half))
    left = r - np.interp(s, s[chosen], marked[chosen])
    if join == "batten":
        sprung = _sprung(s, r, marked, tolerance)
        if 0 < len(sprung) <= len(chosen):
            left = r - batten(s[sprung], marked[sprung], s)
            return Marks(join, s[sprung], marked[sprung], float(left.max()))
    return Marks("straight edge", s[chosen], marked[chosen], float(left.max()))


def _markable(s: Array, r: Array, half: float) -> npt.NDArray[np.bool_]:
    """(N,) where a mark may stand: on whole mm, at the ends, and where the profile bends sharply
    enough for a millimetre to matter.
    """
    whole = np.abs(s - np.round(s)) < _HAIR
    whole[[0, -1]] = True
    slope = np.diff(r) / np.diff(s)
    whole[1:-1] |= np.abs(np.diff(slope)) > half / 2.0
    return whole


def _fewest(s: Array, r: Array, half: float, may: npt.NDArray[np.bool_]) -> npt.NDArray[np.int64]:
    """Indices of the shortest chain of chords that stay within +-half of the profile."""
    links = np.full(len(s), len(s), np.int64)
    before = np.zeros(len(s), np.int64)
    links[0] = 0
    for i in np.flatnonzero(may[:-1]):
        if links[i] == len(s):
            continue  # no chain leads here
        last = int(np.searchsorted(s, s[i] + LONGEST_MM, "right"))
        run = s[i + 1 : last] - s[i]
        slope = (r[i + 1 : last] - r[i]) / run
        # A chord to a later mark passes all between when its slope lies in all their wedges.
        steepest = np.minimum.accumulate(slope + half / run)
        flattest = np.maximum.accumulate(slope - half / run)
        passes = (slope <= steepest + _HAIR) & (slope >= flattest - _HAIR) & may[i + 1 : last]
        fits = np.flatnonzero(passes) + i + 1
        better = fits[links[fits] > links[i] + 1]
        links[better], before[better] = links[i] + 1, i
    chain = [len(s) - 1]
    while chain[-1]:
        chain.append(int(before[chain[-1]]))
    return np.array(chain[::-1])


def _sprung(s: Array, r: Array, marked: Array, tolerance: float) -> npt.NDArray[np.int64]:
    """Marks for a batten: added where it leaves the band, then left out where it doesn't.

    Empty where a batten can't follow: a corner, or a bend sharper than its marks.
    """

    def beyond(kept: npt.NDArray[np.int64]) -> Array:
        left = r - batten(s[kept], marked[kept], s)
        return np.maximum(-left, left - tolerance)

    kept = np.array([0, len(s) - 1])
    while (off := beyond(kept)).max() > _HAIR:
        more = np.unique(np.append(kept, int(off.argmax())))
        if len(more) == len(kept) or len(more) > _MOST_MARKS:
            return np.zeros(0, np.int64)
        kept = more
    while len(kept) > 2:
        worst = [float(beyond(np.delete(kept, k)).max()) for k in range(1, len(kept) - 1)]
        least = int(np.argmin(worst))
        if worst[least] > _HAIR:
            break
        kept = np.delete(kept, least + 1)
    return kept
