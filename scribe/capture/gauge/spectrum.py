"""Spectra of what is seen along a row of pins: does it repeat at a pitch of pins, and how surely?

In: signals (N,), a sample every SCAN mm. Out: how far each frequency stands out, against all of
them or against its neighbours alone: grain and dirt have long waves, beside which the first of
the two is too easily impressed, while the second one prefers overtones and can't choose a pitch.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.gauge.edge import SCAN
from scribe.capture.gauge.find import PITCH_MM

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

# Score of a spectrum beside its neighbours. Boards without pins stay below 35, where a photo's
# compression repeats every eight pixels; combs whose lines or notches show lie above 150.
ROW = 60.0
_AROUND, _LEVELS = 1.6, 24  # neighbours: up to so many times the frequency; places worked out


@dataclass(frozen=True)
class Spectra:
    """Powers of some signals at `frequency`, 1 / mm; tried: where a pitch is looked for.

    A score adds half of the overtone's.
    """

    frequency: Array
    tried: Array
    powers: list[Array]

    def beside_all(self) -> list[Array]:
        """(T,) scores, each frequency held against the median where pitches are looked for."""
        band = (self.frequency > 0.8 / PITCH_MM[1]) & (self.frequency < 1.3 / PITCH_MM[0])
        return [self._score(power / (np.median(power[band]) + 1e-12)) for power in self.powers]

    def beside_neighbours(self) -> list[Array]:
        """(T,) scores, each frequency held against what is usual round it."""
        middle = np.geomspace(0.8 / PITCH_MM[1], 2.1 / PITCH_MM[0], _LEVELS)
        ends = [np.searchsorted(self.frequency, middle * far) for far in (1 / _AROUND, _AROUND)]
        scores = []
        for power in self.powers:
            usual = [np.median(power[a:b]) for a, b in zip(*ends, strict=True)]
            scores.append(self._score(power / (np.interp(self.frequency, middle, usual) + 1e-12)))
        return scores

    def _score(self, power: Array) -> Array:
        once, twice = (np.interp(many * self.tried, self.frequency, power) for many in (1, 2))
        return np.asarray(once + 0.5 * twice)


def spectra_of(signals: list[Array], inside: Mask) -> Spectra:
    """Of signals (N,), a sample every SCAN mm; inside: (N,) where they count."""
    frequency: Array = np.fft.rfftfreq(8 * len(inside), SCAN).astype(np.float64)
    tried = np.arange(1.0 / PITCH_MM[1], 1.0 / PITCH_MM[0], 0.1 * (frequency[1] - frequency[0]))
    return Spectra(frequency, tried, [_power(signal[inside], frequency) for signal in signals])


def repeats(light: Array) -> float:
    """How surely light (N,), a sample every SCAN, repeats as pins do; beside ROW."""
    inside = np.ones(len(light), bool)
    change = np.abs(np.gradient(light, SCAN))
    signals = [high_pass(light, inside), high_pass(change, inside)]
    return max(float(score.max()) for score in spectra_of(signals, inside).beside_neighbours())


def _power(signal: Array, frequency: Array) -> Array:
    part = np.linspace(0.0, 1.0, len(signal))
    taper = np.clip(12.0 * np.minimum(part, 1.0 - part), 0.0, 1.0)
    return np.asarray(np.abs(np.fft.rfft(signal * taper, 2 * (len(frequency) - 1))) ** 2)


def high_pass(signal: Array, inside: Mask) -> Array:
    """The signal without its slow changes, 0 outside."""
    sigma = 1.0 / SCAN
    slow = smooth(signal * inside, sigma) / np.maximum(smooth(inside.astype(float), sigma), 1e-6)
    return np.where(inside, signal - slow, 0.0)


def smooth(signal: Array, sigma: float) -> Array:
    """Gaussian mean over `sigma` samples, weights renormalised at the ends."""
    half = min(int(3.0 * sigma) + 1, len(signal) - 1)
    kernel = np.exp(-0.5 * (np.arange(-half, half + 1) / sigma) ** 2)
    ones = np.convolve(np.ones(len(signal)), kernel, "full")[half : half + len(signal)]
    return np.asarray(np.convolve(signal, kernel, "full")[half : half + len(signal)] / ones)
