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
_SOME = 4  # every so manieth frequency
_OVERTONE = 0.4  # of a frequency's power at its half, from where on it is the half's overtone
_AROUND, _LEVELS = 1.6, 24  # neighbours: up to so many times the frequency; places worked out


@dataclass(frozen=True)
class Spectra:
    """Powers (K, F) of K signals at `frequency` (F,), 1 / mm; tried: (T,) where a pitch is looked
    for.

    A score adds half of the overtone's.
    """

    frequency: Array
    tried: Array
    powers: Array

    def beside_all(self) -> Array:
        """(K, T) scores, each frequency held against the median where pitches are looked for."""
        band = (self.frequency > 0.8 / PITCH_MM[1]) & (self.frequency < 1.3 / PITCH_MM[0])
        usual = np.median(self.powers[:, band], axis=1, keepdims=True)
        return self._scores(self.powers / (usual + 1e-12))

    def beside_neighbours(self) -> Array:
        """(K, T) scores, each frequency held against what is usual round it."""
        middle = np.geomspace(0.8 / PITCH_MM[1], 2.1 / PITCH_MM[0], _LEVELS)
        ends = [np.searchsorted(self.frequency, middle * far) for far in (1 / _AROUND, _AROUND)]
        # Padded signals have smooth spectra: some of their frequencies have the median of all.
        some = [slice(a, b, _SOME) for a, b in zip(*ends, strict=True)]
        usual = [np.median(self.powers[:, each], axis=1) for each in some]
        level = [np.interp(self.frequency, middle, each) for each in np.transpose(usual)]
        return self._scores(self.powers / (np.array(level) + 1e-12))

    def fundamental(self, best: int) -> int:
        """Index of the frequency of which the best one (T,) is the overtone, or its own.

        A row of even pins has nothing at half its frequency. Its overtone may be the stronger
        of the two where narrow gaps let the light of the paper through.
        """
        half = 0.5 * self.tried[best]
        if half < self.tried[0]:
            return best
        low, high = (
            np.array([np.interp(each, self.frequency, power) for power in self.powers])
            for each in (half, 2.0 * half)
        )
        if np.median(low / (high + 1e-12)) < _OVERTONE:
            return best
        return int(np.argmin(np.abs(self.tried - half)))

    def _scores(self, powers: Array) -> Array:
        once, twice = (
            np.array([np.interp(many * self.tried, self.frequency, power) for power in powers])
            for many in (1, 2)
        )
        return np.asarray(once + 0.5 * twice)


def spectra_of(signals: Array, inside: Mask, long: int) -> Spectra:
    """Of signals (K, N), a sample every SCAN mm; inside: (N,) where they count.

    long: samples to which a signal is padded; the more, the finer the frequencies.
    """
    frequency: Array = np.fft.rfftfreq(long, SCAN).astype(np.float64)
    tried = np.arange(1.0 / PITCH_MM[1], 1.0 / PITCH_MM[0], 0.1 * (frequency[1] - frequency[0]))
    return Spectra(frequency, tried, _power(signals[:, inside], frequency))


def repeats(lights: Array) -> float:
    """How surely one of the lights (K, N), a sample every SCAN, repeats as pins do; beside ROW."""
    inside = np.ones(lights.shape[1], bool)
    changes = np.abs(np.gradient(lights, SCAN, axis=1))
    signals = np.array([high_pass(each, inside) for each in (*lights, *changes)])
    long = 1 << (8 * len(inside)).bit_length() - 1  # a power of two: the quickest transforms
    return float(spectra_of(signals, inside, long).beside_neighbours().max())


def _power(signals: Array, frequency: Array) -> Array:
    part = np.linspace(0.0, 1.0, signals.shape[1])
    taper = np.clip(12.0 * np.minimum(part, 1.0 - part), 0.0, 1.0)
    return np.asarray(np.abs(np.fft.rfft(signals * taper, 2 * (len(frequency) - 1))) ** 2)


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
