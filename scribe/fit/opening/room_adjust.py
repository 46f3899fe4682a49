"""All readings of a room adjusted together, and the one that doesn't agree with the rest named.

Readings, and what rooms are usually like (`room_usual`), go through one weighted least-squares
adjustment (`scribe.geom.adjust`); each reading is then tested by Baarda's w. Its limit is such
that a room without a wrong reading is suspected 4 times in 100, whatever the number of readings
tested (Sidak's correction). With test values w_i and w_j, reading i is exp((w_i^2 - w_j^2) / 2)
times as likely the wrong one as j: all within a factor of 20 of the likeliest are suspects. All
suspects are left out and the rest is solved again, as long as the rest still says what each of
them should read; else the readings contradict each other and nothing tells which is wrong.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, log, sqrt

import numpy as np
import numpy.typing as npt

from scribe.fit.opening.room_readings import SPANS, predicted
from scribe.fit.opening.room_usual import Usual, first_guess, usual
from scribe.geom.adjust import Adjusted as Network
from scribe.geom.adjust import adjust as adjusted
from scribe.geom.adjust import differences
from scribe.opening import Opening
from scribe.room_survey import (
    BreakTaken,
    DepthTaken,
    LeanTaken,
    PlumbTaken,
    RoomSurvey,
    SlopeTaken,
    Taken,
)

Array = npt.NDArray[np.float64]
Readings = tuple[Taken, ...]

FALSE_ALARMS = 0.04  # of rooms without a wrong reading
_NOTICED = 1.645  # standard deviations beyond the limit at which 95 of 100 are noticed
_AS_LIKELY = 2.0 * log(20.0)
_CORRELATED = 0.9  # of two w: a mistake in the one looks like one in the other
UNCHECKED = 0.1  # r below which nothing to speak of checks a reading
_KNOWN = 4.0  # a reading left out must be known from the others to so many times its own u
_CHANCE = 0.01  # of the global test: below it the stated U are too small
_BREAK_U = 3.0  # mm, how well a plastered break can be pointed at (our estimate, no source)
_OPEN = 1000.0  # mm: what is usual only to so much is no information
_LINE = 1e4  # mm, standard deviation of where a plumb line hangs


@dataclass(frozen=True)
class Checked:
    """A reading held against the others.

    too_much: mm that it reads more than the solution. u: of the reading. share: r, the part of a
    mistake that shows, from 0 (nothing checks it) to 1. w: the residual in its own standard
    deviations. blunder: mm by which it is wrong if it alone is, and u_blunder its uncertainty.
    smallest: mm, the smallest mistake that would be noticed 95 times in 100.
    """

    reading: Taken
    too_much: float
    u: float
    share: float
    w: float
    blunder: float
    u_blunder: float
    smallest: float

    @property
    def sure(self) -> bool:
        """Whether other readings check it at all."""
        return self.share > UNCHECKED


@dataclass(frozen=True)
class Mistake:
    """Readings of which one is wrong: one alone where that is certain, the likeliest first."""

    suspects: tuple[Checked, ...]


@dataclass(frozen=True)
class Adjusted:
    """opening: solved, with its covariance. checked: every reading used. mistakes: left out, as
    they were found. undecided: the mistake whose readings the others can't do without, or None.
    alike: pairs of which a mistake in the one looks like one in the other. spread: by how much
    the readings scatter more than their U says, 1 where they don't; the covariance has it.
    """

    opening: Opening
    checked: tuple[Checked, ...]
    mistakes: tuple[Mistake, ...]
    undecided: Mistake | None
    alike: tuple[tuple[str, str], ...]
    spread: float

    @property
    def left_out(self) -> tuple[Checked, ...]:
        """Every suspect, in the order in which they were found."""
        return tuple(each for mistake in self.mistakes for each in mistake.suspects)


def adjust(survey: RoomSurvey) -> Adjusted:
    """The opening that the readings make, without those that are or may be wrong."""
    model = _Model(survey)
    kept, found = survey.readings, model.solve(survey.readings)
    alike = _alike(kept, found)
    limit = _limit(int((found.redundancy[: len(kept)] > UNCHECKED).sum()))
    mistakes: list[Mistake] = []
    while True:
        checked = model.checked(kept, found, limit)
        worst = max((abs(each.w) for each in checked), default=0.0)
        if worst <= limit:
            break
        suspects = [each for each in checked if worst**2 - each.w**2 < _AS_LIKELY]
        mistakes.append(Mistake(tuple(sorted(suspects, key=lambda each: -abs(each.w)))))
        gone = {id(each.reading) for each in suspects}
        kept = tuple(each for each in kept if id(each) not in gone)
        found = model.solve(kept)
    spread = model.spread(kept, found)
    undecided = next(
        (each for each in mistakes if not model.known(each, found, spread)), None
    )  # fmt: skip
    opening = model.opening(found, spread)
    return Adjusted(opening, checked, tuple(mistakes), undecided, alike, spread)


def own_u(survey: RoomSurvey, reading: Taken) -> float:
    """mm, standard uncertainty of a reading: the instrument's, and of each face that it met."""
    spans = reading.reads if isinstance(reading, SPANS) else 0.0
    if isinstance(reading, LeanTaken | SlopeTaken):
        spans = reading.over
    own = survey.instruments.u_of(reading.by, spans) if reading.U is None else reading.U / 2.0
    if isinstance(reading, BreakTaken):
        return hypot(own, _BREAK_U)
    faces = 1 if isinstance(reading, PlumbTaken | DepthTaken) else 2
    return hypot(own, survey.walls.uneven / 2.0 * sqrt(faces))


class _Model:
    """The unknowns: free values of the opening, the tape's scale in mm on a metre, plumb lines."""

    def __init__(self, survey: RoomSurvey) -> None:
        self.survey = survey
        self.guess = first_guess(survey)
        self.held: Usual = usual(survey, self.guess)
        self.free = np.flatnonzero(self.held.free)
        plumb = [each.line for each in survey.readings if isinstance(each, PlumbTaken)]
        self.lines = list(dict.fromkeys(plumb))

    def room(self, state: Array) -> Opening:
        """The opening of these unknowns."""
        vector = self.guess.vector
        vector[self.free] = state[: len(self.free)]
        return self.guess.with_vector(vector)

    def predicted(self, readings: Readings, state: Array) -> Array:
        """(R,) what the readings would read."""
        room, after = self.room(state), len(self.free)
        hung = dict(zip(self.lines, state[after + 1 :], strict=True))
        scale = 1.0 + state[after] / 1000.0
        return np.array(
            [predicted(each, room, hung) * (scale if _by_own_scale(each) else 1.0)
             for each in readings]
        )  # fmt: skip

    def solve(self, readings: Readings) -> Network:
        """Adjust readings and what is usual together."""
        after = len(self.free)
        scale = max(self.survey.instruments.tape_scale * 1000.0, 1e-3)
        extra = 1 + len(self.lines)
        reads = np.array([each.reads for each in readings])
        own = np.array([own_u(self.survey, each) for each in readings])

        def function(state: Array) -> Array:
            usual_rows = self.held.rows @ self.room(state).vector
            return np.concatenate([self.predicted(readings, state), usual_rows, state[after:]])

        return adjusted(
            function,
            np.concatenate([reads, self.held.expect, np.zeros(extra)]),
            np.concatenate([own, self.held.sd, [scale], np.full(extra - 1, _LINE)]),
            np.concatenate([self.guess.vector[self.free], np.zeros(extra)]),
        )

    def checked(self, readings: Readings, found: Network, limit: float) -> tuple[Checked, ...]:
        """Each reading beside the others."""
        rows = []
        for k, reading in enumerate(readings):
            u, r = own_u(self.survey, reading), float(found.redundancy[k])
            v = float(found.residuals[k])
            u_blunder = u / sqrt(max(r, 1e-9))
            w = float(found.w[k]) if r > UNCHECKED else 0.0
            rows.append(Checked(reading, v, u, r, w, v / max(r, 1e-9), u_blunder,
                                (limit + _NOTICED) * u_blunder))  # fmt: skip
        return tuple(rows)

    def opening(self, found: Network, spread: float) -> Opening:
        """As solved, with its covariance."""
        full = np.zeros((len(self.guess.vector),) * 2)
        count = len(self.free)
        full[np.ix_(self.free, self.free)] = found.covariance[:count, :count] * spread**2
        return self.room(found.x).with_covariance(full)

    def known(self, mistake: Mistake, found: Network, spread: float) -> bool:
        """Whether the solution still says well what each of the suspects should read."""
        readings = tuple(each.reading for each in mistake.suspects)
        slopes = differences(lambda state: self.predicted(readings, state), found.x)
        u = np.sqrt(np.einsum("ij,jk,ik->i", slopes, found.covariance, slopes)) * spread
        return all(a <= _KNOWN * each.u for a, each in zip(u, mistake.suspects, strict=True))

    def spread(self, readings: Readings, found: Network) -> float:
        """The global test: how much more all residuals scatter than their u allow."""
        from scipy.special import chdtrc

        own = np.array([own_u(self.survey, each) for each in readings])
        n = len(readings)
        scale = max(self.survey.instruments.tape_scale * 1000.0, 1e-3)
        sd = [*own, *self.held.sd, scale, *[_LINE] * len(self.lines)]
        total = float(((found.residuals / np.array(sd)) ** 2).sum())
        over = n + int((self.held.sd < _OPEN).sum()) - len(self.free)
        return sqrt(total / over) if over > 0 and chdtrc(over, total) < _CHANCE else 1.0


def _by_own_scale(reading: Taken) -> bool:
    """Read with a tape whose U isn't stated: its scale errs alike in all of them."""
    return reading.by == "tape" and reading.U is None and isinstance(reading, SPANS)


def _limit(tested: int) -> float:
    from scipy.special import ndtri

    alone = 1.0 - (1.0 - FALSE_ALARMS) ** (1.0 / max(tested, 1))
    return float(ndtri(1.0 - alone / 2.0))


def _alike(readings: Readings, found: Network) -> tuple[tuple[str, str], ...]:
    n = len(readings)
    sure = found.redundancy[:n] > UNCHECKED
    pairs = np.argwhere(np.triu(np.abs(found.correlation[:n, :n]) > _CORRELATED, 1))
    return tuple((readings[i].name, readings[j].name) for i, j in pairs if sure[i] and sure[j])
