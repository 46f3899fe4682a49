"""The stretches of a run laid together: one outline, weighed where photos overlap.

A base line is put together from stretches that follow each other, cut in the middle of their
overlaps. Where several photos show a place, each moves it across the base line by its weight,
which fades out towards the ends of its stretch so that no step is left there. What the
photos' cameras share (lens, print, the sheets between them) is carried as common errors.

How well a stretch is located hangs on the pencil and on the board far more than on the photo's
noise, and both are the same in all photos: more photos of one place don't make it better, so
these parts are averaged as they are, not as the squares of errors that are independent.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.run.trace import Piece
from scribe.errors import ScribeError
from scribe.geom.polyline import nearest, normals, stations
from scribe.outline import Outline

Array = npt.NDArray[np.float64]

_FAR_MM = 6.0  # further apart than this two stretches are of two things
_GAP_MM = 3.0  # what is left out between two stretches and bridged without a word
_FADE_MM = 30.0  # at a stretch's ends its weight grows from nothing over this length
_OWN_PX = 0.03  # nobody locates a line better than this part of a pixel
_KNOT_MM = 25.0  # between the places where common errors are worked out
_LEAST_MM = 1e-3  # a common error that moves nothing by more than this is left out


@dataclass(frozen=True)
class _Share:
    """What one stretch says of the places of the base line.

    share: (N,) its part of the weight. shift: (N,) mm across the base line, to the left.
    parts: name -> (N,) mm, what its own u is made of there.
    """

    share: Array
    shift: Array
    parts: Mapping[str, Array]


def merged_run(
    pieces: Sequence[Piece],
    roots: Mapping[str, Array],
    height_u: float,
    origin: str,
    missing: str = "",
) -> Outline:
    """One outline of all stretches in the frame of the run, its common errors with it.

    roots: of the cameras, see `Network.roots`. height_u: mm, of the plane. Refuses a run with a
    gap ("run-gap"). missing: why other photos aren't there, for that refusal.
    """
    axis = run_axis(pieces)
    base = _base(pieces, axis, missing)
    shares = _shares(base, pieces, axis)
    share = np.array([each.share for each in shares])
    normal = normals(base)
    across = sum(each.share * each.shift for each in shares)
    points = base + np.asarray(across)[:, None] * normal
    smooth = np.array([piece.placed.oriented.smooth_mm for piece in pieces])
    shared = _common(points, normal, pieces, share, roots, height_u)
    budget = {
        name: np.asarray(sum(each.share * each.parts[name] for each in shares))
        for name in shares[0].parts
    }
    budget["paper"] = np.sqrt((share**2).T @ smooth**2)
    for name, modes in shared.items():
        budget[name] = np.sqrt((np.einsum("knd,nd->kn", modes, normal) ** 2).sum(axis=0))
    return Outline(
        points=points,
        u=np.sqrt(sum(part**2 for part in budget.values())),
        solid="left",
        origin=origin,
        measured=_measured(base, pieces),
        budget=budget,
        shared=shared,
    )


def run_axis(pieces: Sequence[Piece]) -> Array:
    """(2,) unit vector along the run, with x growing, or y where it goes upwards."""
    points = np.vstack([piece.trace.points for piece in pieces])
    _, vectors = np.linalg.eigh(np.cov(points.T))
    axis = np.asarray(vectors[:, -1], dtype=np.float64)
    leading = axis[0] if abs(axis[0]) >= 0.2 * abs(axis[1]) else axis[1]
    return axis if leading > 0.0 else -axis


def _base(pieces: Sequence[Piece], axis: Array, missing: str) -> Array:
    """(N, 2) mm: stretch after stretch, each up to the middle of its overlap with the next."""
    ordered = [_forwards(piece.trace.points, axis) for piece in pieces]
    spans = np.array([[(p @ axis).min(), (p @ axis).max()] for p in ordered])
    refuse_gaps(spans, missing)
    now = int(np.lexsort((-spans[:, 1], spans[:, 0]))[0])
    parts, begin = [], -np.inf
    while True:
        candidates = np.flatnonzero(
            (spans[:, 0] <= spans[now, 1] + _GAP_MM) & (spans[:, 1] > spans[now, 1])
        )
        place = ordered[now] @ axis
        if not len(candidates):
            parts.append(ordered[now][place > begin])
            break
        following = int(candidates[np.argmax(spans[candidates, 1])])
        cut = 0.5 * (spans[now, 1] + max(spans[following, 0], begin))
        parts.append(ordered[now][(place > begin) & (place <= cut)])
        now, begin = following, cut
    base = np.vstack(parts)
    apart = np.hypot(*np.diff(base, axis=0).T)
    return np.asarray(base[np.concatenate([[True], apart > 1e-3])])


def refuse_gaps(spans: Array, missing: str) -> None:
    """Refuse stretches (K, 2) mm along the run between which nothing was seen."""
    reach = -np.inf
    for first, last in spans[np.argsort(spans[:, 0])]:
        if first > reach + _GAP_MM and np.isfinite(reach):
            raise ScribeError(
                "run-gap",
                what=f"there is nothing between {reach:.0f} and {first:.0f} mm"
                + (f" ({missing})" if missing else ""),
                where=f"the run from {spans.min():.0f} to {spans.max():.0f} mm",
                do=f"take one more photo there, so that it shows the strips on both sides of"
                f" {(reach + first) / 2:.0f} mm"
                + (", in place of one that isn't there" if missing else ""),
            )
        reach = max(reach, last)


def _forwards(points: Array, axis: Array) -> Array:
    return points if (points[-1] - points[0]) @ axis > 0.0 else points[::-1]


def _shares(base: Array, pieces: Sequence[Piece], axis: Array) -> list[_Share]:
    """What each stretch says of every place of the base line, with weights that add up to 1."""
    found = []
    place = base @ axis
    for piece in pieces:
        points = piece.trace.points
        own = points @ axis
        rows = np.flatnonzero((place > own.min() - _FAR_MM) & (place < own.max() + _FAR_MM))
        weight, shift = np.zeros(len(base)), np.zeros(len(base))
        feet = nearest(base[rows], points)
        s = stations(points)
        inner = np.minimum(feet.station, s[-1] - feet.station)
        normal = normals(base)[rows]
        away = ((feet.point - base[rows]) * normal).sum(axis=1)
        fade = np.clip(inner / _FADE_MM, 1e-4, 1.0)
        pixel = piece.placed.oriented.camera.mm_per_px(feet.point, piece.height)
        near = (np.abs(feet.distance) < _FAR_MM) & (inner >= 0.0)
        alone = np.interp(feet.station, s, piece.trace.u)
        seen = np.interp(feet.station, s, piece.trace.measured.astype(float)) > 0.99
        own_u = np.hypot(alone, np.hypot(_OWN_PX * pixel, piece.placed.oriented.smooth_mm))
        own_u = np.hypot(own_u, piece.unsquare)
        trust = np.where(seen, 1.0, 1e-6)
        weight[rows] = np.where(near, trust * fade / own_u**2, 0.0)
        shift[rows] = np.where(near, away, 0.0)
        parts = {name: np.zeros(len(base)) for name in piece.parts}
        for name, part in piece.parts.items():
            parts[name][rows] = np.interp(feet.station, s, part)
        found.append((weight, shift, parts))
    total = np.sum([weight for weight, _, _ in found], axis=0)
    return [_Share(weight / total, shift, parts) for weight, shift, parts in found]


def _measured(base: Array, pieces: Sequence[Piece]) -> npt.NDArray[np.bool_]:
    """(N,) where at least one stretch saw the outline."""
    seen = np.zeros(len(base), bool)
    for piece in pieces:
        points = piece.trace.points
        x0, y0 = points.min(axis=0) - _FAR_MM
        x1, y1 = points.max(axis=0) + _FAR_MM
        rows = np.flatnonzero(np.all((base > [x0, y0]) & (base < [x1, y1]), axis=1))
        feet = nearest(base[rows], points)
        there = np.interp(feet.station, stations(points), piece.trace.measured.astype(float))
        seen[rows] |= (there > 0.99) & (np.abs(feet.distance) < _FAR_MM)
    return seen


def _common(
    points: Array,
    normal: Array,
    pieces: Sequence[Piece],
    share: Array,
    roots: Mapping[str, Array],
    height_u: float,
) -> dict[str, Array]:
    """name -> (K, N, 2) mm: how the points move together.

    Worked out at knots along the outline, turned to principal causes, and interpolated.
    """
    s = stations(points)
    knots = np.unique(np.searchsorted(s, np.arange(0.0, s[-1] + _KNOT_MM, _KNOT_MM)))
    knots = np.unique(np.append(knots[knots < len(s)], len(s) - 1))
    raw = {name: np.zeros((root.shape[2], len(knots), 2)) for name, root in roots.items()}
    lift = np.zeros((1, len(knots), 2))
    for piece, part in zip(pieces, share[:, knots], strict=True):
        here = np.flatnonzero(part > 0.0)
        if not len(here):
            continue
        camera, at = piece.placed.oriented.camera, points[knots[here]]
        moves = part[here, None, None] * camera.plane_sensitivity(at, piece.height)
        for name, root in roots.items():
            raw[name][:, here] += (moves @ root[piece.index]).transpose(2, 0, 1)
        if piece.unsquare > 0.0:
            continue  # a foot doesn't move with the height of the upper edge
        by_height = camera.height_sensitivity(at, piece.height)
        lift[0, here] += height_u * part[here, None] * by_height
    raw["height"] = lift
    shared = {name: _along(_principal(modes), s[knots], s) for name, modes in raw.items()}
    for name, own in (
        ("tone", [p.tone for p in pieces]),
        ("squareness", [p.unsquare for p in pieces]),
    ):
        if name == "tone" or any(own):
            shared[name] = ((share.T @ np.array(own))[:, None] * normal)[None]
    return {name: modes for name, modes in shared.items() if len(modes)}


def _principal(modes: Array) -> Array:
    """The same joint covariance by the fewest modes (singular values)."""
    flat = modes.reshape(len(modes), -1)
    _, strength, along = np.linalg.svd(flat, full_matrices=False)
    turned = (strength[:, None] * along).reshape(-1, *modes.shape[1:])
    return np.asarray(turned[np.abs(turned).max(axis=(1, 2)) > _LEAST_MM])


def _along(modes: Array, knots: Array, s: Array) -> Array:
    """(K, N, 2) modes given at knots, at all stations."""
    return (
        np.array([[np.interp(s, knots, mode[:, axis]) for axis in (0, 1)] for mode in modes])
        .reshape(len(modes), 2, len(s))
        .transpose(0, 2, 1)
    )
