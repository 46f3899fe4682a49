"""CutCheck: what was found of a cut edge beside the line it was to follow.

`scribe.fit` finds it and `scribe.output` says and draws it. Lengths are mm; stations count from
the end that the cut's own stations count from.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
import numpy.typing as npt

from scribe.piece import CutEdge, Piece

Array = npt.NDArray[np.float64]
Closing = Literal["closed", "filler", "open"]

STEEPEST = 0.3  # rise: what is steeper a push home closes next to nothing of


@dataclass(frozen=True)
class Laid:
    """What was known of where the edge lies. along: along the cut, so that its stations are the
    plan's. across: how far in and how far turned. words: the same, for people. fitted: it was
    measured where the piece stands in the room.
    """

    along: bool
    across: bool
    words: str
    fitted: bool = False


@dataclass(frozen=True)
class Compared:
    """station, deviation, u: (N,) mm. deviation: square to the line, proud above 0, short below.

    rise: (N,) mm that a push home by 1 mm closes square to the line: the cosine of its slope.
    may_close: mm by which a push home may close the joint, as in `CutEdge`. coverage: part of the
    cut that was measured. laid: how the edge came onto the plan. edge: (M, 2) mm, the cut edge as
    it was laid, in the piece frame, in order of stations.
    """

    station: Array
    deviation: Array
    u: Array
    rise: Array
    may_close: float
    coverage: float
    laid: Laid
    edge: Array

    @property
    def gap(self) -> Array:
        """(N,) mm, square to the line, that gape when the piece is pushed home as it is.

        A push by b closes b times the rise, and the piece rests where that is used up first:
        b = min (may_close - deviation) / rise. Steep parts have no say in it.
        """
        _, pushed = self._rest()
        left = self.may_close - self.deviation - pushed * self.rise
        return np.asarray(np.maximum(left, 0.0))

    @property
    def gap_u(self) -> Array:
        """(N,) mm standard uncertainty of the gaps, 0 where the piece rests."""
        at, _ = self._rest()
        carried = np.abs(self.rise / self.rise[at]) * self.u[at]
        return np.asarray(np.where(np.arange(len(self.u)) == at, 0.0, np.hypot(self.u, carried)))

    @property
    def planned_gap(self) -> Array:
        """(N,) mm that would gape if the cut had become as planned: on a slope a push home closes
        less of the clearance than where the line is level.
        """
        most = max(float(self.rise.max()), STEEPEST)
        return np.asarray(self.may_close * (1.0 - self.rise / most))

    def _rest(self) -> tuple[int, float]:
        """Where the piece rests when it is pushed home, and mm by which it is then pushed."""
        closes = self.rise > STEEPEST
        may = np.where(closes, self.may_close - self.deviation, np.inf)
        pushed = may / np.where(closes, self.rise, 1.0)
        at = int(pushed.argmin())
        if not closes.any():  # no push home closes anything
            return int(self.deviation.argmax()), 0.0
        return at, float(pushed[at])

    @property
    def short(self) -> float:
        """mm that the piece moves in by before a second cut, so that nothing gapes after it.

        Steep parts have no say: no push home closes them.
        """
        closes = self.rise > STEEPEST
        return float((-self.deviation[closes] / self.rise[closes]).max(initial=0.0))

    @property
    def second(self) -> Array:
        """(N,) mm that a second cut takes off, square to the line: to where the planned line
        comes to lie when the piece has moved in.
        """
        return np.maximum(self.deviation + self.short * self.rise, 0.0)


@dataclass(frozen=True)
class Move:
    """A move of the piece and what gapes after it.

    along: mm towards growing stations. into: mm towards the building beyond where it was planned.
    turn: mm by which the edge's last seen place goes in against its first. gap: mm, the largest
    then; at: its station.
    """

    along: float
    into: float
    turn: float
    gap: float
    at: float


@dataclass(frozen=True)
class Stretch:
    """Stations with gaps of one kind: within U, within what filler closes, or beyond."""

    start: float
    stop: float
    kind: Closing
    most: float


@dataclass(frozen=True)
class CutCheck:
    """The whole finding. up, level: as of the piece.
    filler: mm of gap that the fitter's filler closes.

    shift: the best move along and home; both: the best with a turn as well; None where nothing
    gapes beyond U. limits: mm, how far along it may go, and one end in against the other. held:
    the other edges that were taken into account; sealed: those of it and them whose joint a seal
    closes. straightness: in words, of outline and cut. second: what a second cut makes of the
    piece, None where none is needed, or why it can't be drawn. assumes: what the edge's U takes for
    granted that nothing shows.
    """

    cut: CutEdge
    found: Compared
    up: Array
    filler: float
    shift: Move | None
    both: Move | None
    limits: tuple[float, float]
    held: tuple[str, ...]
    sealed: tuple[str, ...]
    straightness: tuple[tuple[str, str], ...]
    second: Piece | str | None
    assumes: tuple[str, ...] = ()
    level: bool = False

    @property
    def gap(self) -> tuple[float, float, float]:
        """The largest gap when it is pushed home as it is, its U (k = 2), and its station."""
        at = int(self.found.gap.argmax())
        gaps, u = self.found.gap, self.found.gap_u
        return float(gaps[at]), 2.0 * float(u[at]), float(self.found.station[at])

    @property
    def as_planned(self) -> bool:
        """Whether nothing gapes that the planned line wouldn't leave as well, within U."""
        found = self.found
        return bool((found.gap - found.planned_gap <= 2.0 * found.gap_u).all())

    @property
    def stretches(self) -> tuple[Stretch, ...]:
        """From the first station to the last, by what closes them."""
        gaps, U = self.found.gap, 2.0 * self.found.gap_u
        kind = np.where(gaps <= U, 0, np.where(gaps <= self.filler, 1, 2))
        kinds: tuple[Closing, ...] = ("closed", "filler", "open")
        bounds = [0, *(np.flatnonzero(np.diff(kind)) + 1).tolist(), len(kind)]
        station = self.found.station
        return tuple(
            Stretch(
                float(station[first]),
                float(station[last - 1]),
                kinds[int(kind[first])],
                float(gaps[first:last].max()),
            )
            for first, last in pairwise(bounds)
        )
