"""Gaussian profile filter after ISO 16610-21, kept honest to the ends as ISO 16610-28.

Weighting function  s(x) = exp(-pi (x / (alpha Lc))^2) / (alpha Lc),  alpha = sqrt(ln 2 / pi):
a wave as long as the cutoff Lc passes with half its height. At every place a straight line
is fitted to the neighbours with these weights and its value taken there (moment retainment
of order 1). Inside an evenly measured profile this is the plain Gaussian filter; at the ends
and beside gaps it keeps constants and ramps, where zero padding or mirroring would bend them.

Stations need not be even: every sample counts for the length it stands for. What the filter
does to a curve: a parabola of radius R is moved to its hollow side by 0.01756 Lc^2 / R.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

ALPHA = float(np.sqrt(np.log(2.0) / np.pi))  # ISO 16610-21, 4.2
_HALF_WIDTH = 1.0  # in cutoffs; 1e-7 of the weight lies beyond
_CHUNK = 2_000_000  # weights held in memory at once


@dataclass(frozen=True)
class GaussianFilter:
    """A filter ready for profiles measured at `stations`.

    stations: (N,) mm, growing. cutoff: mm. weight: (N,) > 0, how much each sample is
    trusted, in addition to the length it stands for; left out, all alike.
    """

    stations: Array
    cutoff: float
    weight: Array | None = None

    def values(self, profile: Array) -> Array:
        """(N,) or (N, K) filtered profile."""
        out = np.empty(np.shape(profile), np.float64)
        for rows, columns, weights in self._blocks():
            out[rows] = np.einsum("rc,rc...->r...", weights, profile[columns])
        return out

    def slopes(self, profile: Array) -> Array:
        """(N,) or (N, K) slope of the fitted line at every station, per mm."""
        out = np.empty(np.shape(profile), np.float64)
        for rows, columns, weights in self._blocks(slope=True):
            out[rows] = np.einsum("rc,rc...->r...", weights, profile[columns])
        return out

    def u_values(self, u: Array) -> Array:
        """(N,) standard uncertainty of filtered values of uncorrelated inputs (GUM 5.1.2)."""
        out = np.empty(len(self.stations))
        for rows, columns, weights in self._blocks():
            out[rows] = np.sqrt((weights**2 * u[columns] ** 2).sum(axis=1))
        return out

    def _blocks(self, *, slope: bool = False) -> list[tuple[slice, npt.NDArray[np.int64], Array]]:
        """Rows of the filter's matrix: (rows, column of every weight, weights summing to 1)."""
        s = self.stations
        reach = _HALF_WIDTH * self.cutoff
        first = np.searchsorted(s, s - reach, "left")
        last = np.searchsorted(s, s + reach, "right")
        widest = int((last - first).max())
        share = np.gradient(s) if len(s) > 1 else np.ones(1)
        share = share if self.weight is None else share * self.weight
        blocks = []
        rows_at_once = max(1, _CHUNK // widest)
        for start in range(0, len(s), rows_at_once):
            rows = slice(start, min(start + rows_at_once, len(s)))
            columns = first[rows, None] + np.arange(widest)
            inside = columns < last[rows, None]
            columns = np.minimum(columns, len(s) - 1)
            away = (s[columns] - s[rows, None]) / self.cutoff
            kernel = np.where(inside, np.exp(-np.pi * (away / ALPHA) ** 2) * share[columns], 0.0)
            blocks.append((rows, columns, self._line_weights(kernel, away, slope=slope)))
        return blocks

    def _line_weights(self, kernel: Array, away: Array, *, slope: bool) -> Array:
        """Weights of the value (or slope) at 0 of the line fitted with `kernel`."""
        m0 = kernel.sum(axis=1, keepdims=True)
        centre = (kernel * away).sum(axis=1, keepdims=True) / m0
        spread = (kernel * (away - centre) ** 2).sum(axis=1, keepdims=True)
        # A lone sample within reach fixes no slope: its own value is all there is to say.
        lone = spread <= 1e-12 * m0
        tilt = np.where(lone, 0.0, kernel * (away - centre) / np.where(lone, 1.0, spread))
        return tilt / self.cutoff if slope else kernel / m0 - centre * tilt
