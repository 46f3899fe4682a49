"""Several photos of one thing on one sheet: its height, whether it moved, and one outline of all.

Every photo is traced by itself on the plane z = height. Where that height is wrong by d, a
point found from photo k lies off by -d s_k, s_k being how the point found moves with the plane;
photos from different sides disagree, and so tell d: of n (p_k - p_0) = -d n (s_k - s_0), n
across the outline, all points of all photos are solved together by weighted least squares.
What is left after that is judged: a thing that was moved between the photos, or another
thing, leaves more than the photos' own uncertainty.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.capture.photo_view import PhotoView
from scribe.capture.view import Trace
from scribe.errors import ScribeError
from scribe.geom.polyline import Feet, nearest, normals, stations
from scribe.outline import Outline

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_FAR_MM = 6.0  # further apart than this two traces are of two things
_SEARCHED = np.arange(0.0, 81.0, 3.0)  # mm, planes on which two traces may come together
_CLOSE_MM = 0.7  # traces this near need no search for the plane
_OVERLAP = 0.5  # of the first trace, at least, must be seen by each of the others
_OUTLIERS = 4.0  # robust standard deviations
_LEFT = 3.0  # times the photos' own u: what is left over beyond it is no chance
_LEAST_MM = 0.05  # and nobody minds less
_TOGETHER = 20.0  # neighbouring points of a trace that share one error, about
_OWN = {"localisation", "pose", "lens"}  # entries of the budget that are a photo's own


@dataclass(frozen=True)
class Height:
    """height, u: mm, as the photos say and how well. left: mm rms that no height explains;
    expected: mm rms that chance would leave.
    """

    height: float
    u: float
    left: float
    expected: float


def height_from(traces: Sequence[Trace], views: Sequence[PhotoView]) -> Height:
    """The height at which two or more traces agree; the views' own is where they were traced.

    Refuses traces that aren't of one thing, with "photos-of-two-things".
    """
    traces, views = _brought_near(traces, views)
    gaps, slopes, weights, errors = [], [], [], []
    first, first_view = traces[0], views[0]
    for trace, view in zip(traces[1:], views[1:], strict=True):
        at, foot = _pairs(first, trace, view.where)
        normal = first.normals[at]
        gaps.append(((foot.point - first.points[at]) * normal).sum(axis=1))
        own = first_view.oriented.camera.height_sensitivity(first.points[at], first_view.height)
        other = view.oriented.camera.height_sensitivity(foot.point, view.height)
        slopes.append(((other - own) * normal).sum(axis=1))
        u = np.hypot(first.u[at], np.interp(foot.station, stations(trace.points), trace.u))
        weights.append(1.0 / np.maximum(u, 0.005) ** 2)
        errors.append(_camera_effects(first_view, first.points[at], view, foot.point, normal))
    gap, slope, weight = (np.concatenate(each) for each in (gaps, slopes, weights))
    kept = np.ones(len(gap), bool)
    for _ in range(3):
        step = _solved(gap[kept], slope[kept], weight[kept])
        left = gap + step * slope
        spread = 1.4826 * float(np.median(np.abs(left[kept] - np.median(left[kept]))))
        kept = np.abs(left - np.median(left[kept])) <= max(_OUTLIERS * spread, _LEAST_MM)
    lever = float((weight[kept] * slope[kept] ** 2).sum())
    rms = float(np.sqrt(np.average(left[kept] ** 2, weights=weight[kept])))
    own_u = float(np.sqrt(1.0 / weight[kept].mean()))
    camera = _blocks(errors)[kept]
    expected = float(np.hypot(own_u, float(np.sqrt((camera**2).sum(axis=1).mean()))))
    # Points beside each other err together: what is left counts as so many as are apart.
    pull = (weight[kept] * slope[kept]) @ camera / max(lever, 1e-12)
    alone = np.sqrt(_TOGETHER / max(lever, 1e-12)) * max(rms / own_u, 1.0)
    height_u = float(np.hypot(alone, float(np.sqrt((pull**2).sum()))))
    return Height(first_view.height + step, height_u, rms, expected)


def refuse_moved(found: Height, where: str) -> None:
    """Refuse photos between which the thing was moved, or the sheet bent."""
    if found.left > max(_LEFT * found.expected, _LEAST_MM):
        raise ScribeError(
            "photos-disagree",
            what=f"the photos disagree by {found.left:.2f} mm, whatever height is taken, where "
            f"{found.expected:.2f} would be chance: the thing or the sheet was moved between them",
            where=where,
            do="take the photos again without touching anything between them",
        )


def merged(outlines: Sequence[Outline], origin: str) -> Outline:
    """One outline of several in the same frame, each point weighed by its uncertainties.

    What is each photo's own (localisation, pose, lens) shrinks; what they share (print scale,
    tone, paper, height) does not, though a height seen from two sides nearly cancels.
    """
    first = outlines[0]
    shifts, weights = [np.zeros(len(first))], [_weight(first)]
    carried = [_Carried(first.shared, first.budget)]
    for outline in outlines[1:]:
        foot = nearest(first.points, outline.points)
        s = stations(outline.points)
        near = np.abs(foot.distance) < _FAR_MM
        near &= (foot.station > 0.0) & (foot.station < s[-1])
        # nearest() has points left of the line positive; the outline lies the other way.
        shifts.append(np.where(near, -foot.distance, 0.0))
        weights.append(np.where(near, np.interp(foot.station, s, _weight(outline)), 0.0))
        carried.append(
            _Carried(
                outline.shared_at(foot.station),
                {name: np.interp(foot.station, s, part) for name, part in outline.budget.items()},
            )
        )
    share = np.array(weights) / np.sum(weights, axis=0)
    normal = normals(first.points)
    points = first.points + (share * np.array(shifts)).sum(axis=0)[:, None] * normal
    shared: dict[str, Array] = {}
    for name in first.shared:
        parts = [part[:, None] * each.shared.get(name, np.zeros((0, len(first), 2)))
                 for part, each in zip(share, carried, strict=True)]  # fmt: skip
        shared[name] = np.concatenate(parts) if name in _OWN else np.sum(parts, axis=0)
    budget = {}
    for name in first.budget:
        if name in shared:
            modes = np.einsum("knd,nd->kn", shared[name], normal)
            budget[name] = np.sqrt((modes**2).sum(axis=0))
        else:
            parts = [part * each.budget[name] for part, each in zip(share, carried, strict=True)]
            total = np.square(parts).sum(axis=0) if name in _OWN else np.sum(parts, axis=0) ** 2
            budget[name] = np.sqrt(total)
    return first.with_(
        points=points,
        u=np.sqrt(sum(part**2 for part in budget.values())),
        budget=budget,
        shared=shared,
        origin=origin,
    )


@dataclass(frozen=True)
class _Carried:
    shared: Mapping[str, Array]
    budget: Mapping[str, Array]


def _brought_near(
    traces: Sequence[Trace], views: Sequence[PhotoView]
) -> tuple[Sequence[Trace], Sequence[PhotoView]]:
    """The traces as they are, or on the plane where they come nearest if that is needed.

    On a plane far from the right one, traces of one thing lie further apart than those of two,
    and a wall's waves meet the wrong ones.
    """
    best, least = (traces, views), _apart(traces)
    if least < _CLOSE_MM:
        return best
    for height in _SEARCHED:
        there = [_on_plane(*each, height) for each in zip(traces, views, strict=True)]
        apart = _apart(there)
        if apart < least:
            best, least = (there, [replace(view, height=height) for view in views]), apart
    return best


def _apart(traces: Sequence[Trace]) -> float:
    """mm between the first trace and that of the others which lies furthest (medians)."""
    first = traces[0].points
    return max(
        float(np.median(np.abs(nearest(first, trace.points).distance))) for trace in traces[1:]
    )


def _on_plane(trace: Trace, view: PhotoView, height: float) -> Trace:
    """The trace as its pixels lie on another plane."""
    camera = view.oriented.camera
    points = camera.on_plane(camera.plane_pixels(trace.points, view.height), height)
    return replace(trace, points=points)


def _pairs(first: Trace, other: Trace, where: str) -> tuple[Mask, Feet]:
    """(N,) which points of the first trace have a foot on the other, and those feet."""
    feet = nearest(first.points, other.points)
    along = stations(other.points)
    inside = (feet.station > 0.0) & (feet.station < along[-1])
    before = np.clip(np.searchsorted(along, feet.station, "right") - 1, 0, len(along) - 2)
    seen = other.measured[before] & other.measured[before + 1]
    near = first.measured & inside & seen & (np.abs(feet.distance) < _FAR_MM)
    if near.sum() < max(_OVERLAP * first.measured.sum(), 10):
        raise ScribeError(
            "photos-of-two-things",
            what="this photo and the first don't show one and the same outline",
            where=where,
            do="give photos of one thing that nobody touched between them",
        )
    return near, Feet(feet.station[near], feet.point[near], feet.distance[near])


def _solved(gap: Array, slope: Array, weight: Array) -> float:
    """The step of the height, that closes the gaps best."""
    lever = float((weight * slope**2).sum())
    return -float((weight * slope * gap).sum()) / lever if lever > 0.0 else 0.0


def _camera_effects(
    first: PhotoView, at: Array, view: PhotoView, there: Array, normal: Array
) -> Array:
    """(N, K) mm by which the gap changes for one standard uncertainty of each camera's causes."""
    effects = []
    for each, points, sign in ((first, at, -1.0), (view, there, 1.0)):
        camera = each.oriented.camera
        moves = camera.plane_sensitivity(points, each.height)
        root = camera.pose_given_lens() + camera.lens_with_pose()
        effects.append(sign * np.einsum("ndk,nd->nk", moves @ root, normal))
    return np.concatenate(effects, axis=1)


def _blocks(errors: Sequence[Array]) -> Array:
    """Every photo has a camera of its own; the first one's causes are common to all pairs."""
    own = errors[0].shape[1] // 2
    rows = []
    for k, effect in enumerate(errors):
        row = np.zeros((len(effect), own * (len(errors) + 1)))
        row[:, :own] = effect[:, :own]
        row[:, own * (k + 1) : own * (k + 2)] = effect[:, own:]
        rows.append(row)
    return np.concatenate(rows)


def _weight(outline: Outline) -> Array:
    """(N,) by what is a photo's own; bridged points hardly count."""
    own = sum(outline.budget[name] ** 2 for name in _OWN if name in outline.budget)
    trust = np.where(outline.measured, 1.0, 1e-6)
    return np.asarray(trust / np.maximum(own, 1e-6))
