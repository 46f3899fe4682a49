"""Smooth an outline along its length, and leave its corners sharp.

The Gaussian profile filter (ISO 16610-21, ends as ISO 16610-28) runs along the arc length,
so that upright parts are smoothed like level ones. The outline is parted at its corners,
every run is filtered by itself, and the corner itself is put where the two runs meet when each is
carried on straight. Points move square to the outline only: they keep their place along it.

Uncertainty: only what differs from point to point ("localisation" and "line width" in the
budget, taken as uncorrelated) shrinks. Camera, scale and height move neighbours together, and
no smoothing takes that away; without a budget nothing shrinks. What the filter takes off a
curve (0.0176 Lc^2 / R on a radius R) is added as "smoothing".

What it can't do: corners of less than 25 degrees, or nearer than the cutoff to one another
or to an end, are smoothed like anything else; keep the cutoff below the shortest detail that
matters.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.geom.corners import corners
from scribe.geom.polyline import stations
from scribe.geom.profile_filter import GaussianFilter
from scribe.outline import Outline

Array = npt.NDArray[np.float64]

RANDOM = ("localisation", "line width")  # the entries of the budget that average out
_BRIDGE = 1e-3  # weight of a point that nobody measured
_CORNER_DEG = 25.0
_NEAR = 3  # a corner lies within so many points of the break that found it
_SAME = 1e-9  # mm


class _Run:
    """One smooth run between corners, filtered. points (n, 2), slopes (2, 2) at its two ends."""

    def __init__(self, outline: Outline, part: slice, cutoff: float) -> None:
        raw = outline.points[part]
        trust = np.where(outline.measured[part], 1.0, _BRIDGE)
        # Noise makes a raw polyline too long: measure the length along a first smoothing.
        first = GaussianFilter(stations(raw), cutoff, trust).values(raw)
        s = np.cumsum(np.r_[0.0, np.maximum(np.hypot(*np.diff(first, axis=0).T), 1e-9)])
        kept = GaussianFilter(s, cutoff, trust)
        filtered, slope = kept.values(raw), kept.slopes(raw)
        along = slope / np.maximum(np.hypot(*slope.T), 1e-12)[:, None]
        left = np.column_stack([-along[:, 1], along[:, 0]])
        across = ((filtered - raw) * left).sum(axis=1)
        self.points = raw + across[:, None] * left
        self.directions = along[[0, -1]]
        # What a second pass takes off once more is what the first took off a curve.
        again = ((kept.values(filtered) - filtered) * left).sum(axis=1)
        self.bias = np.abs(again)
        self.random = {
            name: kept.u_values(outline.budget[name][part])
            for name in RANDOM
            if name in outline.budget
        }


def smooth(outline: Outline, cutoff_mm: float, *, keep_corners: bool = True) -> Outline:
    """The outline without waves shorter than the cutoff (mm), its corners kept sharp.

    Unmeasured points count a thousandth of a measured one. Runs of fewer than three points
    stay as they are. Points at a corner are replaced by one: the corner.

    Refuses with "smooth-cutoff" a cutoff that isn't positive.
    """
    if not (np.isfinite(cutoff_mm) and cutoff_mm > 0.0):
        raise ScribeError(
            "smooth-cutoff",
            what=f"the cutoff must be a length in mm, not {cutoff_mm}",
            where=outline.origin or "outline",
            do="give the shortest wave to keep, such as 5 mm; leave smoothing out to keep all",
        )
    s = stations(outline.points)
    lone = [outline.budget[name] ** 2 for name in RANDOM if name in outline.budget]
    random = np.sqrt(sum(lone)) if lone else outline.u
    places = (
        corners(outline.points, random, angle_deg=_CORNER_DEG, reach=cutoff_mm)
        if keep_corners
        else np.zeros(0)
    )
    bounds: list[int] = [0, *np.searchsorted(s, places).tolist(), len(s)]
    parts = [slice(a, b) for a, b in pairwise(bounds)]
    runs = [_Run(outline, part, cutoff_mm) for part in parts]
    bias = np.concatenate([run.bias for run in runs])
    budget = {name: part.copy() for name, part in outline.budget.items()}
    variance = outline.u**2 + bias**2
    for name in runs[0].random:
        shrunk = np.concatenate([run.random[name] for run in runs])
        variance = np.maximum(variance - budget[name] ** 2, 0.0) + shrunk**2
        budget[name] = shrunk
    if budget:
        budget["smoothing"] = np.hypot(budget.get("smoothing", 0.0), bias)
    points, source = _put_together(runs, bounds)
    note = f"smoothed, cutoff {cutoff_mm:g} mm, {len(bounds) - 2} corners kept"
    return outline.with_(
        points=points,
        u=np.sqrt(variance)[source],
        measured=outline.measured[source],
        budget={name: part[source] for name, part in budget.items()},
        shared={name: modes[:, source] for name, modes in outline.shared.items()},
        origin=outline.noted(note),
    )


def _put_together(runs: list[_Run], bounds: list[int]) -> tuple[Array, npt.NDArray[np.int64]]:
    """The runs joined at their corners: points (M, 2) and the index each one stems from (M,)."""
    points, source = runs[0].points, np.arange(bounds[1])
    for k, run in enumerate(runs[1:]):
        fresh, index = run.points, np.arange(bounds[k + 1], bounds[k + 2])
        corner = _meeting(points, runs[k].directions[-1], fresh, run.directions[0])
        if corner is not None:
            # What the break left on the wrong side of the corner belongs to neither run.
            short = (points - corner) @ runs[k].directions[-1] < -_SAME
            short[: max(len(points) - _NEAR, 1)] = True
            beyond = (fresh - corner) @ run.directions[0] > _SAME
            beyond[_NEAR:] = True
            beyond[-1] = True
            points = np.vstack([points[short], corner])
            source = np.append(source[short], bounds[k + 1])
            fresh, index = fresh[beyond], index[beyond]
        points, source = np.vstack([points, fresh]), np.concatenate([source, index])
    return points, source


def _meeting(before: Array, leaving: Array, after: Array, arriving: Array) -> Array | None:
    """(2,) where two runs meet when both are carried on straight, None when that is far off."""
    cross = leaving[0] * arriving[1] - leaving[1] * arriving[0]
    gap = after[0] - before[-1]
    if abs(cross) < 0.1:  # nearly one direction, or right back: no point is well fixed
        return None
    ahead = float(gap[0] * arriving[1] - gap[1] * arriving[0]) / cross
    behind = float(gap[0] * leaving[1] - gap[1] * leaving[0]) / cross
    reach = _NEAR * max(np.hypot(*(run[1] - run[0])) for run in (before[-2:], after[:2]))
    if max(abs(ahead), abs(behind)) > max(reach, float(np.hypot(*gap))):
        return None
    return np.asarray(before[-1] + ahead * leaving, np.float64)
