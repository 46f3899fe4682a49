"""What a reading tells of a surface: how high it stands at a place, or how it slopes between two.

A surface is a straight line nobody knows and something random upon it, whose covariance depends
on the distance alone. Both kinds of readings are linear in it, so that their own covariance
follows from it (c) term by term. Of a slope between a and b, and another between a' and b':

    (c(b - b') - c(b - a') - c(a - b') + c(a - a')) / ((b - a) (b' - a'))

A level that is walked reads slopes: what one of them is wrong by goes on to every height behind
it, and to no other slope.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol, Self

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Rows = npt.NDArray[np.bool_] | npt.NDArray[np.intp] | slice
Covariance = Callable[[Array], Array]  # (...) mm apart -> (G, ...) mm^2


class Soundings(Protocol):
    """N readings of one kind."""

    @property
    def middle(self) -> Array:
        """(N,) mm, the stations they stand for."""

    def __getitem__(self, rows: Rows) -> Self:
        """Some of them."""

    def covariance(self, other: Self, of: Covariance) -> Array:
        """(G, N, M) with M others, in the square of their unit."""

    def variance(self, of: Covariance) -> Array:
        """(G, N) of each."""

    def trend(self, at: Self) -> Array:
        """(M, T): what the T free numbers of a straight line add to M others."""


@dataclass(frozen=True)
class Heights:
    """s: (N,) mm, stations where the surface's height was read, in mm."""

    s: Array

    @property
    def middle(self) -> Array:
        """(N,) mm, the stations themselves."""
        return self.s

    def __getitem__(self, rows: Rows) -> Heights:
        return Heights(self.s[rows])

    def covariance(self, other: Heights, of: Covariance) -> Array:
        """(G, N, M) mm^2."""
        return of(self.s[:, None] - other.s)

    def variance(self, of: Covariance) -> Array:
        """(G, N) mm^2."""
        return of(np.zeros(len(self.s)))

    def trend(self, at: Heights) -> Array:
        """(M, 2): a constant, and a slope over these readings' length."""
        return np.column_stack([np.ones_like(at.s), (at.s - self.s.mean()) / np.ptp(self.s)])


@dataclass(frozen=True)
class Slopes:
    """begin, end: (N,) mm, stations between which the surface's slope was read, in mm/mm."""

    begin: Array
    end: Array

    @property
    def middle(self) -> Array:
        """(N,) mm, halfway between."""
        return (self.begin + self.end) / 2.0

    def __getitem__(self, rows: Rows) -> Slopes:
        return Slopes(self.begin[rows], self.end[rows])

    def covariance(self, other: Slopes, of: Covariance) -> Array:
        """(G, N, M) without unit."""
        begin, end = self.begin[:, None], self.end[:, None]
        ends = of(end - other.end) - of(end - other.begin)
        begins = of(begin - other.end) - of(begin - other.begin)
        return np.asarray((ends - begins) / ((end - begin) * (other.end - other.begin)))

    def variance(self, of: Covariance) -> Array:
        """(G, N) without unit."""
        step = self.end - self.begin
        return np.asarray(2.0 * (of(np.zeros_like(step)) - of(step)) / step**2)

    def trend(self, at: Slopes) -> Array:
        """(M, 1): a straight line slopes everywhere alike."""
        return np.ones((len(at.begin), 1))
