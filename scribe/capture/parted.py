"""Does a gap part the thing along the edge that was traced: has its offcut been left lying there?

In: the view, and what was traced in it as an edge. Out: nothing, or a refusal. A piece that was
sawn and not drawn apart looks like one board, whose edge is the offcut's; between them a gap runs
from side to side, in shade or with paper in it, unlike all grain, narrow, and with the same face on
both its sides. Where the face is as light as paper, what lies behind may be paper, and the gap a
shadow.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.scan import along
from scribe.capture.view import Trace, View, inside
from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]

_EVERY_MM, _STEP = 3.0, 0.4  # mm between looks across the thing, and between samples of one
_LOOK = np.arange(2.0, 120.0, _STEP)  # mm from the edge,
_FACE = 8.0  # up to which the thing's face is told
_UNLIKE = 0.35  # logarithm of light by which a gap differs from the face: 30 %
_NARROW, _WIDE = 1.2, 12.0  # mm
_BEHIND = 4.0  # mm of face behind it,
_LIKE = 0.25  # as light as the face before it, logarithm; paper is lighter by more than that
_OUTSIDE = np.arange(3.0, 15.0, 1.0)  # mm beyond the edge, where the lightest is paper
_PART = 0.85  # of the looks that must meet it,
_ASTRAY, _STRAY = 4.0, 0.15  # mm from where those beside do, but for so many
# Logarithm by which it differs more than the streaks of the face on both sides of it, all but the
# strongest, and how many times as much; samples clear of it, and of the face behind it.
_MORE, _ALL, _TIMES, _CLEAR, _FACE_BEHIND = 0.25, 0.95, 2.5, 3, 60


def refuse_parted(view: View, found: Trace) -> None:
    """Refuse an edge behind which a gap runs across the thing, as long as the edge."""
    place = along(found.points)
    at = np.searchsorted(place, np.arange(_EVERY_MM, place[-1] - _EVERY_MM, _EVERY_MM))
    if not len(at):
        return
    inwards = found.normals[at, None] * (1.0 if found.facts["object"] == "above" else -1.0)
    points = found.points[at, None] + _LOOK[:, None] * inwards
    light = view.rough_light(points)
    light[~inside(points, view.window)] = np.nan
    beyond = view.rough_light(found.points[at, None] - _OUTSIDE[:, None] * inwards)
    paper = float(np.median(np.nan_to_num(beyond).max(axis=1)))
    gaps = _gaps(np.log(np.maximum(light / paper, 1e-3)))
    if gaps is not None:
        x, y = points[len(at) // 2, int(np.median(gaps))]
        raise ScribeError(
            "edge-parted",
            what=f"a gap runs across the thing round {x:.0f}, {y:.0f} mm: the edge that was"
            " found may be that of an offcut left lying there",
            where=view.where,
            do="take the offcut away and take the photo again; if there is none, name the edge"
            " with {ends}",
        )


def _gaps(light: Array) -> Array | None:
    """(M,) the samples at which a gap begins along those looks (N, S) that meet it; None without.

    light: logarithm of parts of the paper's.
    """
    face = float(np.nanmedian(light[:, _LOOK < _FACE]))
    if face > -_LIKE:
        return None
    unlike = np.abs(light - face)
    met = [(k, *gap) for k, look in enumerate(unlike) if (gap := _gap(look))]
    if len(met) < _PART * len(light):
        return None
    begins = np.array(met)[:, 1]
    five = np.lib.stride_tricks.sliding_window_view(np.pad(begins, 2, mode="edge"), 5)
    stray = np.abs(begins - np.median(five, axis=1)) > _ASTRAY / _STEP
    differs = any(_differs(away, met) for away in (face - light, light - face))  # shade, paper
    return np.asarray(begins) if stray.mean() < _STRAY and differs else None


def _differs(away: Array, met: list[tuple[int, int, int]]) -> bool:
    """Whether what is met differs more from the face than the streaks beside it do."""
    gap = np.median([np.median(away[k, a:b]) for k, a, b in met])
    beside = [away[k, i : max(j, 0)] for k, a, b in met for i, j in _beside(a, b)]
    streaks = float(np.nanquantile(np.concatenate(beside), _ALL))
    return bool(gap > streaks + _MORE and gap > _TIMES * streaks)


def _beside(begin: int, end: int) -> tuple[tuple[int, int], tuple[int, int]]:
    """Which samples of a look are the face before a gap, and which behind it."""
    return (0, begin - _CLEAR), (end + _CLEAR, end + _CLEAR + _FACE_BEHIND)


def _gap(look: Array) -> tuple[int, int] | None:
    """From which to which sample of a look (S,) the clearest gap reaches."""
    apart = look > _UNLIKE
    apart[1:-1] |= apart[:-2] & apart[2:]  # from the shade in it to the paper
    unlike = np.concatenate([[False], apart, [False]]).astype(np.int8)
    starts, ends = (np.flatnonzero(np.diff(unlike) == turn) for turn in (1, -1))
    found = []
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        behind = look[end : end + round(_BEHIND / _STEP)]
        same = len(behind) and abs(float(np.median(behind))) < _LIKE
        if same and _NARROW <= (end - start) * _STEP <= _WIDE:
            found.append((start, end))
    return max(found, key=lambda gap: float(np.median(look[slice(*gap)])), default=None)
