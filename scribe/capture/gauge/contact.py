"""Undo the tips of a profile gauge: from the apexes of its pins to the surface they touched.

In: `Tips`. Out: `Surface`, both in the gauge's frame. Pins pushed against a wall trace its
dilation by the tip's shape; the wall comes back by the erosion (morphological profile
filters, ISO 16610-41). A tip is a segment grown by a disk, so two steps undo it: the
parallel curve of the line through the disks' centres, then a shift of half the segment to
the corner that touches on a slope.

What it can't know: what lies between pins, and where between two pins a step stands. Both
go into u; hollows the tips can't enter, and steps, are marked as not measured.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.gauge.tip import Shape
from scribe.capture.gauge.tips import Tips

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_STEP_SLOPE = 0.5  # a slope between two pins that neither neighbour prepares: a step
_STEEPEST = 4.0  # beyond it, pins are stopped by their sides
_PLAY_MM = 0.02  # of pins in their slots and of their rest against the wall: an estimate, no source
_FLANK = 0.08  # of a tip's half width: on slopes the next pin's blur hides one flank; from trials
_ALONE_MM = 1.5  # a single pin that lies off both neighbours by more is doubted


@dataclass(frozen=True)
class Surface:
    """points: (N, 2) s, t along the wall; u: (N,) mm across it; normals: (N, 2) into the wall;
    measured: (N,) bool; steps, doubted: how many of each.

    pins: (N,) mm, the part of u that is the gauge's: play, tips and what lies between pins.
    """

    points: Array
    u: Array
    pins: Array
    normals: Array
    measured: Mask
    steps: int
    doubted: int


@dataclass(frozen=True)
class _Stretch:
    """Contact points of pins between two steps. slope: (K,) of the wall there.

    u: (K,) mm across it; seen: (K,) mm, the part of it from where the apex was seen.
    """

    s: Array
    t: Array
    slope: Array
    u: Array
    seen: Array


def contact_surface(tips: Tips, step: float) -> Surface:
    """The wall at about every `step` mm, with both edges of every step."""
    trusted = ~_alone(tips.t)
    s, t, u = tips.s[trusted], tips.t[trusted], tips.u[trusted]
    breaks = _steps(s, t, tips.pitch)
    t = _off_the_corner(s, t, breaks, tips.shape)
    bounds = [0, *(np.nonzero(breaks)[0] + 1), len(s)]
    parts: list[tuple[Array, Array, Array, Array, Mask]] = []
    stretches = [
        _touched(s[a:b], t[a:b], u[a:b], tips.shape, tips.pitch)
        for a, b in itertools.pairwise(bounds)
    ]
    places = [_step_place(s[b - 1 : b + 1], t[b - 1 : b + 1], tips) for b in bounds[1:-1]]
    for k, stretch in enumerate(stretches):
        left = places[k - 1] if k else None
        right = places[k] if k < len(places) else None
        parts.append(_sampled(stretch, left, right, tips, step))
    points, across, pins, slope, measured = (
        np.concatenate(each) for each in zip(*parts, strict=True)
    )
    normals = np.stack([-slope, np.ones(len(slope))], axis=1)
    normals /= np.hypot(normals[:, 0], normals[:, 1])[:, None]
    return Surface(
        points, across, pins, normals, measured, int(breaks.sum()), int((~trusted).sum())
    )


def _alone(t: Array) -> Mask:
    """(K,) single pins that lie behind both neighbours, and one or two together that lie beyond
    them, though those agree.
    """
    alone = np.zeros(len(t), bool)
    for many, sign in ((1, -1.0), (1, 1.0), (2, 1.0)):
        if len(t) < many + 2:
            continue
        level = sign * t
        before, after = level[: -many - 1], level[many + 1 :]
        least = np.lib.stride_tricks.sliding_window_view(level[1:-1], many).min(axis=1)
        stand = least > np.maximum(before, after) + _ALONE_MM
        first = np.nonzero(stand & (np.abs(before - after) < _ALONE_MM))[0] + 1
        alone[(first[:, None] + np.arange(many)).ravel()] = True
    return alone


def _steps(s: Array, t: Array, pitch: float) -> Mask:
    """(K - 1,) True between two pins where the slope jumps and jumps back."""
    slope = np.diff(t) / np.diff(s)
    near = np.diff(s) < 1.5 * pitch
    before, after = np.r_[slope[1:2], slope[:-1]], np.r_[slope[1:], slope[-2:-1]]
    excess = slope - np.clip(slope, np.minimum(before, after), np.maximum(before, after))
    return near & ((np.abs(excess) > _STEP_SLOPE) | (np.abs(slope) > _STEEPEST))


def _off_the_corner(s: Array, t: Array, breaks: Mask, shape: Shape) -> Array:
    """Take back pins beside a step that rest on its arris with their flank.

    Such a pin stands further out than its neighbours on the same level by less than its
    rounding; its neighbours tell the level.
    """
    t = t.copy()
    for k in np.nonzero(breaks)[0]:
        low, inward = (k, -1) if t[k] < t[k + 1] else (k + 1, 1)
        inner = low + inward * np.arange(1, 4)
        inside = (inner >= 0) & (inner < len(t))
        crossed = np.minimum(inner, inner - inward)
        if not inside.all() or breaks[crossed].any():
            continue
        level = np.polyval(np.polyfit(s[inner], t[inner], 1), s[low])
        if 0.05 < t[low] - level < shape.round + 0.1:
            t[low] = level
    return t


def _touched(s: Array, t: Array, u: Array, shape: Shape, pitch: float) -> _Stretch:
    """Where each tip of one stretch touches the wall; what lies in a loop is left out."""
    slope, bend = _slope(s, t), np.zeros(len(s))
    if len(s) > 2:
        bend = _slope(s, slope)
    # On a bulge the tip rolls over its flat part, elsewhere it stands on a corner.
    rolled = np.clip(slope / np.maximum(bend, 1e-3), -shape.flat, shape.flat)
    shift = np.where(bend > 0.0, rolled, shape.flat * np.tanh(slope / 0.03))
    stretch = np.sqrt(1.0 + slope**2)
    contact_s = s - shift - shape.round * slope / stretch
    contact_t = t - shape.round + shape.round / stretch
    # Across the wall: apex, play, width of the tip, and the noise of the slope it is undone with.
    reach = shape.flat + shape.round
    across = u**2 + _PLAY_MM**2 + ((shape.u + _FLANK * reach) * slope) ** 2
    across = across / stretch**2 + (0.02 * reach * np.minimum(np.abs(bend) * pitch, 1.0)) ** 2
    inside = contact_s[:, None] - s
    floor = np.where(np.abs(inside) <= reach, t - shape.drop(inside), -np.inf)
    clear = contact_t > floor.max(axis=1) - 0.05
    forward = contact_s >= np.maximum.accumulate(
        np.r_[-np.inf, np.where(clear, contact_s, -np.inf)[:-1]]
    )
    keep = clear & forward
    return _Stretch(
        contact_s[keep], contact_t[keep], slope[keep], np.sqrt(across[keep]), (u / stretch)[keep]
    )


def _slope(s: Array, t: Array) -> Array:
    if len(s) == 1:
        return np.zeros(1)
    return np.asarray(np.gradient(t, s, edge_order=2 if len(s) > 2 else 1))


def _step_place(s: Array, t: Array, tips: Tips) -> float:
    """s of a step between two pins.

    The pin on the lower level still meets it with some part of its width, the other one
    clears it: the step stands within one pitch, taken at the middle.
    """
    half = tips.shape.flat + min(tips.shape.round, 0.5 * tips.pitch)
    return float(np.mean(s) - half) if t[1] > t[0] else float(np.mean(s) + half)


def _sampled(
    stretch: _Stretch, left: float | None, right: float | None, tips: Tips, step: float
) -> tuple[Array, Array, Array, Array, Mask]:
    """Points, u, the pins' part of it, slope and measured, out to the steps at the ends."""
    s, t, slope = stretch.s, stretch.t, stretch.slope
    first = s[0] if left is None else left + 1e-3
    last = s[-1] if right is None else max(right - 1e-3, first + 1e-3)
    inner = np.arange(max(first, s[0]), min(last, s[-1]) + 1e-9, step)
    ends = [first] if left is not None else []
    at = np.unique(np.concatenate([ends, inner, [last]]))
    height, lean, chord, gap = _between(s, t, slope, at)
    u = np.interp(at, s, stretch.u)
    steep = np.sqrt(1.0 + lean**2)
    # The chord and the curve through the same points and slopes differ by what bending
    # could hide between two pins; wider gaps hide more.
    bend = 0.3 * np.abs(height - chord) / steep
    hidden = 0.08 * np.maximum(gap - 2.0 * tips.pitch, 0.0)
    u = np.sqrt(u**2 + bend**2 + hidden**2)
    measured = gap < 2.3 * tips.pitch
    for edge in (left, right):
        if edge is not None:
            beside = np.abs(at - edge) < 0.01
            u = np.where(beside, np.hypot(u, tips.pitch / np.sqrt(12.0)), u)
            measured &= ~beside
    pins = np.sqrt(np.maximum(u**2 - np.interp(at, s, stretch.seen) ** 2, 0.0))
    return np.stack([at, height], axis=1), u, pins, lean, measured


def _between(s: Array, t: Array, slope: Array, at: Array) -> tuple[Array, Array, Array, Array]:
    """Cubic Hermite through contact points -> height, slope, chord's height, width of the gap.

    Beyond the ends the line goes on straight.
    """
    if len(s) == 1:
        flat = np.full(len(at), t[0]) + slope[0] * (at - s[0])
        return flat, np.full(len(at), slope[0]), flat, np.zeros(len(at))
    k = np.clip(np.searchsorted(s, at, side="right") - 1, 0, len(s) - 2)
    gap = s[k + 1] - s[k]
    gap = np.maximum(gap, 1e-6)
    x = np.clip((at - s[k]) / gap, 0.0, 1.0)
    mean = (t[k + 1] - t[k]) / gap
    # Slopes that overshoot the chord are held back (F. N. Fritsch, R. E. Carlson, SIAM J. Numer.
    # Anal. 17, 1980, from memory: three times the chord's slope keeps a curve monotone).
    limit = 3.0 * np.abs(mean) + 0.3
    m0, m1 = np.clip(slope[k], -limit, limit) * gap, np.clip(slope[k + 1], -limit, limit) * gap
    rise = t[k + 1] - t[k]
    height = t[k] + x * m0 + x**2 * (3 * rise - 2 * m0 - m1) + x**3 * (m0 + m1 - 2 * rise)
    lean = (m0 + 2 * x * (3 * rise - 2 * m0 - m1) + 3 * x**2 * (m0 + m1 - 2 * rise)) / gap
    beyond = at - np.clip(at, s[0], s[-1])
    return height + lean * beyond, lean, t[k] + x * rise, np.where(beyond == 0.0, gap, 0.0)
