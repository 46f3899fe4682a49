"""Find every pin of a profile gauge, the apex of its tip, and the shape all tips share.

In: a view and the comb found in it. Out: `Tips` in the gauge's frame. The edge between
paper and pins is fitted along scan lines parallel to the pins; the pins are counted by what
repeats: dark gaps and streaks below the tips, notches and steps of the edge itself. Their
phase is followed along the comb, so that uneven pins don't add up.

A tip is taken for a flat of half width `flat` between two corners of radius `round`
(a full round when flat is 0): a segment grown by a disk.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.capture.gauge_find import PITCH_MM, Comb, Frame, no_contrast, not_found
from scribe.capture.profile import fit_step
from scribe.capture.view import View

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_SCAN = 0.09  # mm, between scan lines
_STANDS_OUT = 25.0  # score of a spectrum; a card without pins stays below 22
_CLEAR = 60.0  # from here on a cell without lines carries no pin
_SEEN_PART = 0.40
_HALF_WIDTH = 0.47  # of the pitch: half of a pin, thin gaps left between
_LEAST_CONTRAST = 0.10  # of the paper's light
_WHOLE_PART = 0.38  # of the pitch, either side, must lie on the comb for a pin to count
_SHORT_CAP = 4.0
_TURN_UNKNOWN = 0.02  # slope of the body against the frame
_AGREE = 0.4
_NEAREST_MM = 0.6
_CAPS_ALIKE = 1.0  # mm: both ends of a body are level
_CAP_MM = 20.0  # longest end of a gauge's body that carries no pins
_FLOOR_MM = 0.006  # nobody knows a tip better than this: burrs, dirt, unevenness of the light


@dataclass(frozen=True)
class Shape:
    """Of a tip. flat, round: mm, see the module; u: mm, of how far its corners reach; known:
    False where the tips lie too level or too close to show their shape.
    """

    flat: float
    round: float
    u: float
    known: bool

    def drop(self, s: Array) -> Array:
        """How far the tip lies below its apex, at s mm from the pin's middle."""
        out = np.clip(np.abs(s) - self.flat, 0.0, self.round)
        return np.asarray(self.round - np.sqrt(np.maximum(self.round**2 - out**2, 0.0)))


@dataclass(frozen=True)
class Tips:
    """Pins in order. s, t: (K,) mm apexes in the frame; u: (K,) mm of t; index: (K,) number
    of the pin, with holes where a pin wasn't seen; pitch: mm.
    """

    frame: Frame
    s: Array
    t: Array
    u: Array
    index: npt.NDArray[np.int64]
    pitch: float
    shape: Shape


@dataclass(frozen=True)
class _Edge:
    """The fitted edge. s: (N,) even; t: (N,) nan where not found; blur mm."""

    s: Array
    t: Array
    blur: float

    def bridged(self) -> Array:
        """(N,) t with what was not found filled in straight."""
        seen = np.isfinite(self.t)
        return np.interp(self.s, self.s[seen], self.t[seen])


@dataclass(frozen=True)
class _Beat:
    """pitch: mm; middles: (K,) of the pins along s; notches, texture: how clearly the edge and
    the light below the tips beat with them.
    """

    pitch: float
    middles: Array
    notches: float
    texture: float


def find_tips(view: View, comb: Comb) -> Tips:
    """Every pin's apex. Refuses what has no pins ("gauge-not-found") or no edge."""
    edge = _edge(view, comb)
    light = _texture(view, comb.frame, edge)
    # The ends of the body spoil the beat beside them: find them, leave them out, beat again.
    low, high = _extent(edge, light, _beat(edge, light, np.ones(len(edge.s), bool)))
    beat = _beat(edge, light, (edge.s > low) & (edge.s < high))
    if max(beat.notches, beat.texture) < _STANDS_OUT:
        raise not_found(view, "what lies in the window has no row of even pins")
    reach = _WHOLE_PART * beat.pitch
    whole = (beat.middles - reach > low) & (beat.middles + reach < high)
    return _without_sides(_apexes(comb.frame, edge, beat.pitch, beat.middles[whole]))


def _without_sides(tips: Tips) -> Tips:
    """The tips without an outermost one that stands alone beyond a step: what is seen there is
    more often the side of the comb than a pin.
    """
    rise = np.abs(np.diff(tips.t))
    alone = (rise > 1.0) & (rise > 3.0 * np.roll(rise, -1))
    first = int(len(rise) > 2 and alone[0])
    alone = (rise > 1.0) & (rise > 3.0 * np.roll(rise, 1))
    last = len(tips.t) - int(len(rise) > 2 and alone[-1])
    keep = slice(first, last)
    return replace(tips, s=tips.s[keep], t=tips.t[keep], u=tips.u[keep], index=tips.index[keep])


def _edge(view: View, comb: Comb) -> _Edge:
    """The edge between paper and pins along scan lines, to a small part of a pixel."""
    s = np.arange(comb.s[0], comb.s[-1], _SCAN)
    known = np.nonzero(np.isfinite(comb.top))[0]
    if len(known) * (comb.s[1] - comb.s[0]) < 5.0:
        raise not_found(view, "no row of pin ends was found on the paper")
    # Where a streak as light as the paper hid the edge, the nearest column shows where to look.
    after = np.clip(np.searchsorted(comb.s[known], s), 1, len(known) - 1)
    pair = comb.s[known[np.stack([after - 1, after])]]
    nearest = np.where(s - pair[0] < pair[1] - s, known[after - 1], known[after])
    rough = comb.top[nearest]
    have = np.abs(comb.s[nearest] - s) < _NEAREST_MM
    pixel = view.pixel(comb.frame.sheet(s[have], rough[have]))
    size = float(np.median(pixel))
    reach = max(0.7, 6.0 * size)
    away = np.linspace(-reach, reach, 2 * round(reach / (0.75 * size)) + 1)
    lines = view.light(comb.frame.sheet(s[have][:, None], rough[have][:, None] + away))
    lines = np.nan_to_num(lines)
    fit = fit_step(away, lines, pixel=pixel, near=np.zeros(len(lines)))
    contrast = fit.high - fit.low
    if not fit.ok.any() or np.median(contrast[fit.ok]) < _LEAST_CONTRAST * comb.paper:
        raise no_contrast(view)
    good = (
        fit.ok
        & (contrast > _LEAST_CONTRAST * comb.paper)
        & (fit.blur < 2.0 * np.median(fit.blur[fit.ok]))
    )
    t = np.full(len(s), np.nan)
    t[have] = np.where(good, rough[have] + fit.position, np.nan)
    return _Edge(s, t, float(np.median(fit.blur[good])))


def _texture(view: View, frame: Frame, edge: _Edge) -> Array:
    """(N,) light below the tips, averaged along the pins."""
    level = edge.bridged()
    depth = np.arange(1.0, 4.6, 0.4)
    light = view.light(frame.sheet(edge.s, level - depth[:, None]))
    return np.asarray(np.nan_to_num(light).mean(axis=0))


def _beat(edge: _Edge, light: Array, inside: Mask) -> _Beat:
    """The pitch, and the middle of every pin along s. light: (N,) below the tips; inside: (N,)
    where to look.
    """
    slope = np.clip(np.gradient(edge.bridged(), edge.s), -3.0, 3.0)
    lean = _smooth(slope, 1.0 / _SCAN)
    rough = np.clip(_high_pass(slope, inside), -1.5, 1.5)
    # Between round tips the edge is steep to both sides; between flat ones it steps the way
    # the wall leans. Light shows gaps and streaks, and its changes from pin to pin.
    change = np.abs(np.gradient(light, edge.s))
    each = (np.abs(rough), rough * np.clip(lean, -0.5, 0.5), light, change)
    signals = [_high_pass(signal, inside) for signal in each]
    frequency: Array = np.fft.rfftfreq(8 * len(edge.s), _SCAN).astype(np.float64)
    tried = np.arange(1.0 / PITCH_MM[1], 1.0 / PITCH_MM[0], 0.1 * (frequency[1] - frequency[0]))
    scores = []
    for signal in signals:
        power = _power(signal[inside], frequency)
        scores.append(
            np.interp(tried, frequency, power) + 0.5 * np.interp(2 * tried, frequency, power)
        )
    best = int(np.argmax(np.sum(scores, axis=0)))
    strength = [float(score[best]) for score in scores]
    middles = _middles(edge.s, signals, strength, float(tried[best]), inside)
    pitch = float(np.median(np.diff(middles))) if len(middles) > 1 else 1.0 / float(tried[best])
    return _Beat(pitch, middles, max(strength[:2]), max(strength[2:]))


def _middles(
    s: Array, signals: list[Array], strength: list[float], frequency: float, inside: Mask
) -> Array:
    """Where the phase of all signals, followed along s, says that a pin's middle is."""
    waves = []
    for signal, weight in zip(signals, strength, strict=True):
        wave = _demodulated(signal, s, frequency, inside)
        waves.append(wave * np.sqrt(weight / (np.mean(np.abs(wave) ** 2) + 1e-12)))
    # Notches and steps of the edge lie between pins. The texture follows the same beat with a
    # lag that changes slowly: gaps are dark here and let light through there. Without notches
    # its dark is a gap.
    # The two signs of the edge agree where tips are flat; where they are round, the second
    # one turns with the slope.
    agree = np.real(np.sum(waves[0] * np.conj(waves[1]))) / np.sum(np.abs(waves[0] * waves[1]))
    wave = waves[0] + waves[1] if agree > _AGREE else waves[0]
    known = max(strength[:2]) > _STANDS_OUT
    for texture in waves[2:]:
        turned = wave * np.conj(texture)
        if known:
            far = 6.0 / (frequency * _SCAN)
            lag = np.angle(_smooth(turned.real, far) + 1j * _smooth(turned.imag, far))
        else:
            lag = np.full(len(s), np.pi)
        wave = wave + texture * np.exp(1j * lag)
        known = True
    slow = np.interp(s, s[inside], np.unwrap(np.angle(wave[inside])))
    phase = np.maximum.accumulate(2.0 * np.pi * frequency * s + slow)
    first, last = np.ceil(phase[0] / (2 * np.pi) - 0.5), np.floor(phase[-1] / (2 * np.pi) - 0.5)
    return np.interp((np.arange(first, last + 1) + 0.5) * 2.0 * np.pi, phase, s)


def _extent(edge: _Edge, light: Array, beat: _Beat) -> tuple[float, float]:
    """Between which s the comb lies, without ends that carry no pins: caps, a thumb.

    There the lines between pins are missing; where pins show no lines at all, the ends carry
    no notches and lie as deep as the body, below every pin. light: (N,) below the tips.
    """
    half = round(0.55 * beat.pitch / _SCAN)
    which = np.round((beat.middles - edge.s[0]) / _SCAN).astype(int)[:, None]
    which = np.clip(which + np.arange(-half, half + 1), 0, len(edge.s) - 1)
    found = np.isfinite(edge.t[which]).mean(axis=1) > 0.3
    bridged = edge.bridged()
    level = np.median(bridged[which], axis=1)
    bare = _plain(light[which], found)
    level_bare = _plain(bridged[which], found) & (level < level[found].min() + 0.5)
    plain = bare if beat.texture > _CLEAR else level_bare | (bare & (beat.texture > _STANDS_OUT))
    ways = (slice(None), slice(None, None, -1))
    caps = [_cap(level[way], plain[way], ~found[way], beat.pitch) for way in ways]
    body = min((deep for *_, deep, bare in caps if bare), default=-np.inf)
    # Caps too short to show a cell without a side, or pins without lines: level with each
    # other as far as the turn is known, below every pin.
    alike = _CAPS_ALIKE + _TURN_UNKNOWN * (edge.s[-1] - edge.s[0])
    inner = level[caps[0][1] : len(level) - caps[1][1]]
    longest = _SHORT_CAP if beat.texture > _CLEAR else _CAP_MM
    low = [
        bare or (skipped < count and deep < inner.min() - 0.4)
        for skipped, count, deep, bare in caps
    ]
    if all(low) and all((count - skipped) * beat.pitch < longest for skipped, count, *_ in caps):
        body = min(deep for *_, deep, _ in caps)
    ends = []
    for way, (skipped, count, deep, _) in zip(ways, caps, strict=True):
        capped = abs(deep - body) < alike
        at = min(count if capped else skipped, len(level) - 2)
        near = np.abs(edge.s[way] - beat.middles[way][at]) < 1.5 * beat.pitch
        above = (
            bridged[way] > 0.5 * (deep + level[way][at + 1]) if capped else np.isfinite(edge.t[way])
        )
        ends.append(float(edge.s[way][np.argmax(near & above)]))
    return ends[0], ends[1]


def _plain(cells: Array, found: Mask) -> Mask:
    """(K,) rows that leave their own straight line by much less than most of the found ones."""
    line = np.linspace(-1.0, 1.0, cells.shape[1])
    part = cells - cells.mean(axis=1, keepdims=True)
    part = part - line * (part @ line / (line @ line))[:, None]
    ripple = part.std(axis=1)
    return np.asarray(ripple < 0.4 * np.median(ripple[found]))


def _cap(level: Array, plain: Mask, empty: Mask, pitch: float) -> tuple[int, int, float, bool]:
    """The beginning of the comb: how many cells are empty, how many (with those) lie before a
    jump of level, that level, and whether no lines are seen there.

    The outermost cell and the one at the jump show sides of the body and of the comb.
    """
    first = int(np.argmin(empty))
    jumps = np.nonzero(np.abs(np.diff(level[first:])) > 0.4)[0] + 1
    jumps = jumps[(jumps * pitch < _CAP_MM) & (first + jumps <= len(level) // 2)]
    if not len(jumps):
        return first, first, np.inf, False
    # The outermost cell alone may show the body's side: then the next jump ends the cap.
    count, bare = int(jumps[0]), False
    for jump in jumps[: 2 if count == 1 else 1]:
        cells = plain[first : first + jump]
        if cells[1:-1].mean() >= 0.5 if jump > 2 else cells.any():
            count, bare = int(jump), True
    return first, first + count, float(np.median(level[first : first + count])), bare


def _power(signal: Array, frequency: Array) -> Array:
    """Spectrum over the median of its part where pitches are looked for."""
    power = np.abs(np.fft.rfft(signal * np.hanning(len(signal)), 2 * (len(frequency) - 1))) ** 2
    band = (frequency > 0.8 / PITCH_MM[1]) & (frequency < 1.3 / PITCH_MM[0])
    return np.asarray(power / (np.median(power[band]) + 1e-12))


def _high_pass(signal: Array, inside: Mask) -> Array:
    """The signal without its slow changes, 0 outside."""
    sigma = 1.0 / _SCAN
    slow = _smooth(signal * inside, sigma) / np.maximum(_smooth(inside.astype(float), sigma), 1e-6)
    return np.where(inside, signal - slow, 0.0)


def _demodulated(signal: Array, s: Array, frequency: float, inside: Mask) -> Array:
    """The signal's slowly changing amplitude and phase at one frequency."""
    margin = np.convolve(inside, np.ones(round(0.6 / (frequency * _SCAN)) | 1), "same")
    wave = np.where(margin > margin.max() - 0.5, signal, 0.0) * np.exp(-2j * np.pi * frequency * s)
    sigma = 2.5 / (frequency * _SCAN)
    return _smooth(wave.real, sigma) + 1j * _smooth(wave.imag, sigma)


def _smooth(signal: Array, sigma: float) -> Array:
    """Gaussian mean over `sigma` samples, weights renormalised at the ends."""
    half = min(int(3.0 * sigma) + 1, len(signal) - 1)
    kernel = np.exp(-0.5 * (np.arange(-half, half + 1) / sigma) ** 2)
    ones = np.convolve(np.ones(len(signal)), kernel, "full")[half : half + len(signal)]
    return np.asarray(np.convolve(signal, kernel, "full")[half : half + len(signal)] / ones)


def _apexes(frame: Frame, edge: _Edge, pitch: float, middles: Array) -> Tips:
    """One apex to a pin: the shape of all tips from their mean, then each by least squares."""
    half = int(_SEEN_PART * pitch / _SCAN)
    centre = np.round((middles - edge.s[0]) / _SCAN).astype(int)
    which = np.clip(centre[:, None] + np.arange(-half, half + 1), 0, len(edge.s) - 1)
    s, t = edge.s[which] - middles[:, None], edge.t[which]
    inside = (edge.s[which] > edge.s[0]) & (edge.s[which] < edge.s[-1])
    t = np.where(inside & (np.abs(s) <= _SEEN_PART * pitch), t, np.nan)
    number = np.arange(len(middles))
    central = np.isfinite(t) & (np.abs(s) < 0.2 * pitch)
    keep = (np.isfinite(t).mean(axis=1) > 0.4) & central.any(axis=1)
    s, t, middles, number = s[keep], t[keep], middles[keep], number[keep]
    shape, lag = _shape(s, t, pitch)
    if shape.flat > shape.round:
        lag = _lag_of_steps(edge, middles, t, pitch)
    apex, aside, u = _fit_each(s - lag, t, shape, pitch)
    return Tips(frame, middles + lag + aside, apex, u, number, pitch, shape)


def _lag_of_steps(edge: _Edge, middles: Array, t: Array, pitch: float) -> float:
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


def _shape(s: Array, t: Array, pitch: float) -> tuple[Shape, float]:
    """The tip that fits the median of all pins, and how far all middles lie off."""
    level = np.nanmedian(np.where(np.abs(s) < 0.2 * pitch, t, np.nan), axis=1, keepdims=True)
    bins = np.round(s / (0.05 * pitch)).astype(int)
    places = np.unique(bins)
    drops = {b: (t - level)[(bins == b) & np.isfinite(t)] for b in places if abs(b) < 0.37 / 0.05}
    seen = [b for b, each in drops.items() if len(each) > 2]  # a streak may hide one in all pins
    place = np.array(seen) * 0.05 * pitch
    drop = np.array([np.median(drops[b]) for b in seen])
    half = _HALF_WIDTH * pitch
    fits: list[tuple[float, float]] = []  # cost, lag
    radii = np.concatenate([np.linspace(0.02, 1.0, 25), [1.2, 1.5, 2.0, 3.0]]) * half
    lags = np.linspace(-0.12, 0.12, 25) * pitch
    for radius in radii:
        trial = Shape(max(half - radius, 0.0), float(radius), 0.0, True)
        left = drop + trial.drop(np.clip(place - lags[:, None], -half, half))
        left -= np.median(left, axis=1, keepdims=True)
        cost = np.abs(left).mean(axis=1) + 0.002 * np.abs(lags) / pitch
        cost += 0.006 * max(radius / half - 1.0, 0.0)  # rounder than wide is not usually made
        fits.append((float(cost.min()), float(lags[np.argmin(cost)])))
    costs = np.array([cost for cost, _ in fits])
    alike = radii[costs < costs.min() + 0.004]
    # What can't be told apart is taken for the shape that is made: sharp corners, or one round.
    best = int(np.argmin(costs))
    if alike.min() < 0.4 * half:
        best = 0
    elif alike.min() <= half <= alike.max():
        best = int(np.argmin(np.abs(radii - half)))
    spread = (min(float(alike.max()), half) - min(float(alike.min()), half)) / 4.0
    u = float(np.hypot(spread, 0.03 * pitch))
    shape = Shape(max(half - float(radii[best]), 0.0), float(radii[best]), u, spread < 0.2 * half)
    return shape, fits[best][1]


def _fit_each(s: Array, t: Array, shape: Shape, pitch: float) -> tuple[Array, Array, Array]:
    """Apex height, sideways offset and u of every pin; samples far off are left out."""
    reach = 0.98 * (shape.flat + shape.round)
    s = np.clip(s, -reach, reach)
    lean = (shape.drop(s + 0.01) - shape.drop(s - 0.01)) / 0.02  # moves when the pin moves aside
    raised = t + shape.drop(s)
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
    few = np.maximum(a / 3.0, 1.0)  # neighbouring scan lines share pixels and burrs
    return (
        apex,
        np.clip(aside, -0.15 * pitch, 0.15 * pitch),
        np.hypot(noise / np.sqrt(few), _FLOOR_MM),
    )
