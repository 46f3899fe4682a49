"""Count the pins of a comb: their pitch, the middle of each, and where the comb ends.

In: the edge and the light below it. Pins are counted by what repeats: notches and steps of
the edge between pins, gaps and streaks below it. The phase of all of them is followed along
the comb, so that uneven pins don't add up. Blades that touch without any line between them
and stand level can't be counted.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.gauge.edge import SCAN, Edge
from scribe.capture.gauge.spectrum import high_pass, smooth, spectra_of

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

STANDS_OUT = 25.0  # score of a spectrum; a card without pins stays below 22
_FINE = 8  # times its length to which a signal is padded
CLEAR = 60.0  # from here on a cell without lines carries no pin
_AGREE = 0.4  # of two signals' phases: 1 when equal
_CAP_MM = 20.0  # longest end of a gauge's body that carries no pins
_SHORT_CAP = 4.0  # mm: an end that may show its sides only
_CAPS_ALIKE = 1.0  # mm: both ends of a body are level
_TURN_UNKNOWN = 0.02  # slope of the body against the frame


@dataclass(frozen=True)
class Beat:
    """pitch: mm; middles: (K,) of the pins along s; notches, texture: how clearly the edge and
    the light below the tips beat with them; row: how surely either of them does, beside ROW.
    """

    pitch: float
    middles: Array
    notches: float
    texture: float
    row: float


def count_pins(edge: Edge, light: Array, inside: Mask) -> Beat:
    """The pitch, and the middle of every pin along s. light: (N,) below the tips; inside: (N,)
    where to look.
    """
    slope = np.clip(np.gradient(edge.bridged(), edge.s), -3.0, 3.0)
    lean = smooth(slope, 1.0 / SCAN)
    rough = np.clip(high_pass(slope, inside), -1.5, 1.5)
    # Between round tips the edge is steep to both sides; between flat ones it steps the way
    # the wall leans. Light shows gaps and streaks, and its changes from pin to pin.
    change = np.abs(np.gradient(light, edge.s))
    each = (np.abs(rough), rough * np.clip(lean, -0.5, 0.5), light, change)
    signals = np.array([high_pass(signal, inside) for signal in each])
    spectra = spectra_of(signals, inside, _FINE * len(inside))
    scores = spectra.beside_all()
    best = spectra.fundamental(int(np.argmax(np.sum(scores, axis=0))))
    strength = [float(score[best]) for score in scores]
    found = float(spectra.tried[best])
    middles = _middles(edge.s, signals, strength, found, inside)
    pitch = float(np.median(np.diff(middles))) if len(middles) > 1 else 1.0 / found
    row = float(spectra.beside_neighbours()[:, best].max())
    return Beat(pitch, middles, max(strength[:2]), max(strength[2:]), row)


def _middles(
    s: Array, signals: Array, strength: list[float], frequency: float, inside: Mask
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
    known = max(strength[:2]) > STANDS_OUT
    for texture in waves[2:]:
        turned = wave * np.conj(texture)
        if known:
            far = 6.0 / (frequency * SCAN)
            lag = np.angle(smooth(turned.real, far) + 1j * smooth(turned.imag, far))
        else:
            lag = np.full(len(s), np.pi)
        wave = wave + texture * np.exp(1j * lag)
        known = True
    slow = np.interp(s, s[inside], np.unwrap(np.angle(wave[inside])))
    phase = np.maximum.accumulate(2.0 * np.pi * frequency * s + slow)
    first, last = np.ceil(phase[0] / (2 * np.pi) - 0.5), np.floor(phase[-1] / (2 * np.pi) - 0.5)
    return np.interp((np.arange(first, last + 1) + 0.5) * 2.0 * np.pi, phase, s)


def comb_extent(edge: Edge, light: Array, beat: Beat) -> tuple[float, float]:
    """Between which s the comb lies, without ends that carry no pins: caps, a thumb.

    There the lines between pins are missing; where pins show no lines at all, the ends carry
    no notches and lie as deep as the body, below every pin. light: (N,) below the tips.
    """
    which, found = cells_of(edge, beat)
    bridged = edge.bridged()
    level = np.median(bridged[which], axis=1)
    bare = plain(light[which], found)
    level_bare = plain(bridged[which], found) & (level < level[found].min() + 0.5)
    lineless = bare & (beat.texture > STANDS_OUT)
    empty = bare if beat.texture > CLEAR else level_bare | lineless
    ways = (slice(None), slice(None, None, -1))
    caps = [_cap(level[way], empty[way], ~found[way], beat.pitch) for way in ways]
    body = min((deep for *_, deep, bare in caps if bare), default=-np.inf)
    # Caps too short to show a cell without a side, or pins without lines: level with each
    # other as far as the turn is known, below every pin.
    alike = _CAPS_ALIKE + _TURN_UNKNOWN * (edge.s[-1] - edge.s[0])
    inner = level[caps[0][1] : len(level) - caps[1][1]]
    if not len(inner):  # caps that meet are none
        return float(edge.s[0]), float(edge.s[-1])
    longest = _SHORT_CAP if beat.texture > CLEAR else _CAP_MM
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


def cells_of(edge: Edge, beat: Beat) -> tuple[npt.NDArray[np.int64], Mask]:
    """(K, C) scan lines across each pin and its gaps, and (K,) whether its edge was found."""
    half = round(0.55 * beat.pitch / SCAN)
    which = np.round((beat.middles - edge.s[0]) / SCAN).astype(np.int64)[:, None]
    which = np.clip(which + np.arange(-half, half + 1), 0, len(edge.s) - 1)
    return which, np.isfinite(edge.t[which]).mean(axis=1) > 0.3


def plain(cells: Array, found: Mask) -> Mask:
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


def _demodulated(signal: Array, s: Array, frequency: float, inside: Mask) -> Array:
    """The signal's slowly changing amplitude and phase at one frequency."""
    margin = np.convolve(inside, np.ones(round(0.6 / (frequency * SCAN)) | 1), "same")
    wave = np.where(margin > margin.max() - 0.5, signal, 0.0) * np.exp(-2j * np.pi * frequency * s)
    sigma = 2.5 / (frequency * SCAN)
    return smooth(wave.real, sigma) + 1j * smooth(wave.imag, sigma)
