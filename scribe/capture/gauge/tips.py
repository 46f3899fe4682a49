"""The apex of every pin's tip.

In: a view and the comb found in it. Out: `Tips` in the gauge's frame.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from scribe.capture.gauge.aslant import seen_aslant
from scribe.capture.gauge.beat import STANDS_OUT, comb_extent, count_pins
from scribe.capture.gauge.body import FAR_MM, of_body
from scribe.capture.gauge.covered import covered
from scribe.capture.gauge.domed import domed
from scribe.capture.gauge.edge import SCAN, Edge, light_below
from scribe.capture.gauge.find import Comb, Frame, not_found
from scribe.capture.gauge.spectrum import ROW
from scribe.capture.gauge.tip import Shape, usual_shape
from scribe.capture.view import View

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_SEEN_PART = 0.40  # of the pitch, either side of a pin's middle, that is fitted
_WHOLE_PART = 0.38  # of the pitch, either side, must lie on the comb for a pin to count
_SIDE_PINS = 6  # how many outermost ones may lie far below all others
_FLOOR_MM = 0.006  # nobody knows a tip better than this: burrs, dirt, unevenness of the light


@dataclass(frozen=True)
class Tips:
    """Pins in order. s, t: (K,) mm apexes in the frame; u: (K,) mm of t; index: (K,) number
    of the pin, with holes where a pin wasn't seen; pitch: mm; sunk_u: mm, standard uncertainty of
    how far below the plane the ends lie that were seen. unseen: (L,) s of pins besides of which
    only the gauge's body was seen.
    """

    frame: Frame
    s: Array
    t: Array
    u: Array
    index: npt.NDArray[np.int64]
    pitch: float
    shape: Shape
    sunk_u: float = 0.0
    unseen: Array = field(default_factory=lambda: np.zeros(0))

    @property
    def all_pins(self) -> int:
        """How many there are from the first to the last, and of the body besides."""
        between = int(self.index[-1] - self.index[0]) + 1 if len(self.s) else 0
        outside = (self.unseen < self.s[0]) | (self.unseen > self.s[-1]) if len(self.s) else []
        return between + int(np.sum(outside))

    @property
    def shown(self) -> float:
        """Part of all pins that was seen."""
        return len(self.index) / self.all_pins if len(self.s) else 0.0

    def only(self, keep: Mask | slice) -> Tips:
        """Those that are kept, of (K,)."""
        return replace(self, s=self.s[keep], t=self.t[keep], u=self.u[keep], index=self.index[keep])


def find_tips(view: View, comb: Comb, edge: Edge, *, by_lines: bool = False) -> Tips:
    """Every pin's apex on the edge of the pins; by_lines: only where they show lines between them.

    Refuses what has no pins ("gauge-not-found").
    """
    if not np.isfinite(edge.t).any():
        raise not_found(view, "no pin's end is sharp enough to be found")
    light = light_below(view, comb.frame, edge)
    # The ends of the body spoil the beat beside them: find them, leave them out, beat again.
    low, high = comb_extent(edge, light, count_pins(edge, light, np.ones(len(edge.s), bool)))
    beat = count_pins(edge, light, (edge.s > low) & (edge.s < high))
    told = beat.texture if by_lines else max(beat.notches, beat.texture)
    if told < STANDS_OUT or beat.row < ROW:
        raise not_found(view, "what lies in the window has no row of even pins")
    reach = _WHOLE_PART * beat.pitch
    whole = (beat.middles - reach > low) & (beat.middles + reach < high)
    middles = beat.middles[whole]
    touch = comb.frame.turned(np.zeros(1), np.ones(1))
    level = np.interp(middles, edge.s, edge.bridged())
    slope = (view.lean(comb.frame.sheet(middles, level)) * touch).sum(axis=1)
    dome = domed(view, comb.frame, middles, level, beat.pitch, comb.paper)
    tips = _apexes(comb.frame, edge, beat.pitch, middles, slope, view.height, dome)
    body = of_body(edge, light, tips.s, tips.t, tips.pitch)
    shown = ~(body | covered(edge, light, beat)[whole][tips.index])
    return _without_sides(replace(tips.only(shown), unseen=tips.s[body]))


def _without_sides(tips: Tips) -> Tips:
    """The tips without outermost ones that lie far below all others, where the gauge's body does,
    and without a last one that stands alone beyond a step: what is seen there is more often the
    side of the comb than a pin.
    """
    ends = [_side_pins(t) for t in (tips.t, tips.t[::-1])]
    return tips.only(slice(ends[0], len(tips.t) - ends[1]))


def _side_pins(t: Array) -> int:
    """How many of the first ones, from outside inwards, are none."""
    few = range(1, min(_SIDE_PINS, len(t) - 3) + 1)
    first = max((k for k in few if t[:k].max() < t[k:].min() - FAR_MM), default=0)
    rise = np.abs(np.diff(t[first:]))
    return first + int(len(rise) > 2 and rise[0] > 1.0 and rise[0] > 3.0 * rise[1])


def _apexes(
    frame: Frame, edge: Edge, pitch: float, middles: Array, slope: Array, height: float, dome: bool
) -> Tips:
    """One apex to a pin: the shape of all tips from their mean, then each by least squares.

    slope: (K,) of the line of sight at the middles, see `aslant`; height: mm of the plane; dome:
    whether the ends look domed.
    """
    half = int(_SEEN_PART * pitch / SCAN)
    centre = np.round((middles - edge.s[0]) / SCAN).astype(int)
    which = np.clip(centre[:, None] + np.arange(-half, half + 1), 0, len(edge.s) - 1)
    s, t = edge.s[which] - middles[:, None], edge.t[which]
    inside = (edge.s[which] > edge.s[0]) & (edge.s[which] < edge.s[-1])
    t = np.where(inside & (np.abs(s) <= _SEEN_PART * pitch), t, np.nan)
    number = np.arange(len(middles))
    keep = np.isfinite(t).mean(axis=1) > 0.3
    s, t, middles, number = s[keep], t[keep], middles[keep], number[keep]
    slope = slope[keep]
    shape, lag, lift = usual_shape(s, t, pitch, float(np.median(slope)), dome)
    if shape.flat > shape.round:
        lag = _lag_of_steps(edge, middles, t, pitch)
    apex, aside, u = _fit_each(s - lag, t, shape, pitch)
    aslant = seen_aslant(shape.ends, shape.flat + shape.round, height, slope)
    u, s = np.hypot(u, lift), middles + lag + aside
    return Tips(frame, s, apex - aslant.shift, u, number, pitch, shape, aslant.sunk_u)


def _lag_of_steps(edge: Edge, middles: Array, t: Array, pitch: float) -> float:
    """How far all middles of flat pins lie off, by the steps of the edge between them."""
    level = np.nanmedian(t, axis=1)
    rise = np.diff(level)
    use = (np.abs(rise) > 0.05) & (np.abs(rise) < 1.5) & (np.diff(middles) < 1.5 * pitch)
    if use.sum() < 5:
        return 0.0
    part = np.linspace(0.0, 1.0, 25)
    between = middles[:-1][use, None] + np.diff(middles)[use, None] * part
    edge_t = np.interp(between, edge.s, edge.bridged())
    risen = (edge_t - level[:-1][use, None]) / rise[use, None]
    lag = (0.5 - np.clip(risen, 0.0, 1.0).mean(axis=1)) * pitch
    order = np.argsort(lag)
    weight = np.cumsum(np.abs(rise[use])[order])
    return float(lag[order][np.searchsorted(weight, 0.5 * weight[-1])])


def _fit_each(s: Array, t: Array, shape: Shape, pitch: float) -> tuple[Array, Array, Array]:
    """Apex height, sideways offset and u of every pin; samples far off are left out."""
    reach = 0.98 * (shape.flat + shape.round)
    s = np.clip(s, -reach, reach)
    lean = (shape.seen(s + 0.01) - shape.seen(s - 0.01)) / 0.02  # moves when the pin moves aside
    raised = t + shape.seen(s)
    apex, aside = np.nanmedian(raised, axis=1), np.zeros(len(t))
    noise = 0.05 * np.ones(len(t))
    for _ in range(4):
        left = raised - apex[:, None] - lean * aside[:, None]
        noise = np.maximum(1.48 * np.nanmedian(np.abs(left), axis=1), 0.01)
        w = np.where(np.isfinite(left) & (np.abs(left) < 3.0 * noise[:, None]), 1.0, 0.0)
        # A pin strays sideways by a few hundredths of its pitch.
        prior = (noise / (0.04 * pitch)) ** 2
        value = np.where(w > 0, raised, 0.0)
        a, b, c = w.sum(axis=1), (w * lean).sum(axis=1), (w * lean**2).sum(axis=1) + prior
        p, q = (w * value).sum(axis=1), (w * lean * value).sum(axis=1)
        determinant = np.maximum(a * c - b * b, 1e-9)
        apex, aside = (c * p - b * q) / determinant, (a * q - b * p) / determinant
    # Neighbouring scan lines share pixels and burrs: three of them count once.
    u = noise * np.sqrt(3.0 * c / determinant)
    return apex, np.clip(aside, -0.15 * pitch, 0.15 * pitch), np.hypot(u, _FLOOR_MM)
