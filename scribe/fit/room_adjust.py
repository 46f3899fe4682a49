"""All readings of a room adjusted together, and the one that doesn't agree with the rest named.

Weighted least squares on readings and on what rooms are usually like (`room_usual`), by
Gauss-Newton with differences. A blunder is looked for by data snooping (W. Baarda, 1968, A
testing procedure for use in geodetic networks): each residual over its own standard
deviation, w = v / (sigma sqrt(r)), where r is the part of a blunder that shows in the
residual. The largest w beyond the limit is a blunder of v / r; it is left out, and the rest is
solved again. Readings whose w move together can't be told apart, and are named together.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.fit.room_readings import SPANS, predicted
from scribe.fit.room_usual import Usual, first_guess, usual
from scribe.opening import Opening
from scribe.room_survey import LeanTaken, PlumbTaken, RoomSurvey, SlopeTaken, Taken

Array = npt.NDArray[np.float64]

# w beyond which a reading is a blunder: 1 in 1000 of the good ones (two-sided, normal).
LIMIT = 3.29
# Standard deviations of w by which a blunder is detected 4 times in 5 (3.29 + 0.84).
DETECTABLE = 4.13
# Correlation of two w from which the one's blunder is as likely the other's: then their w differ
# by less than 3.29 sqrt(1 - 0.9^2) = 1.4, about as much as chance makes.
ALIKE = 0.9
UNCHECKED = 0.05  # r below which nothing checks a reading
_STEP = 0.05  # mm, of the differences
_ROUNDS = 8
_SETTLED = 1e-4  # mm
_LINE = 1e4  # mm, standard deviation of where a plumb line hangs


@dataclass(frozen=True)
class Checked:
    """A reading held against the others.

    too_much: mm that it reads more than the others make it. u: of the reading. share: r, from 0
    (nothing checks it) to 1. w: the residual in its own standard deviations.
    """

    reading: Taken
    too_much: float
    u: float
    share: float
    w: float

    @property
    def blunder(self) -> float:
        """mm by which it is wrong, if it alone is."""
        return self.too_much / max(self.share, 1e-9)

    @property
    def sure(self) -> bool:
        """Whether other readings check it at all."""
        return self.share > UNCHECKED

    @property
    def smallest(self) -> float:
        """mm: the smallest blunder that would be noticed 4 times in 5."""
        return float(DETECTABLE * self.u / max(self.share, 1e-9) ** 0.5)


@dataclass(frozen=True)
class Adjusted:
    """opening: solved, with its covariance. checked: every reading used. left_out: each with
    what it was off by when it was found. alike: readings of which one is wrong, and nothing
    tells which. spread: root mean square of w.
    """

    opening: Opening
    checked: tuple[Checked, ...]
    left_out: tuple[Checked, ...]
    alike: tuple[Checked, ...]
    spread: float


@dataclass(frozen=True)
class _Solved:
    opening: Opening
    checked: tuple[Checked, ...]
    correlation: Array


def adjust(survey: RoomSurvey) -> Adjusted:
    """The opening that the readings make, without those that are certainly wrong."""
    guess = first_guess(survey)
    held = usual(survey, guess)
    readings = list(survey.readings)
    left_out: list[Checked] = []
    while True:
        solved = _solve(survey, readings, guess, held)
        worst = max(solved.checked, key=lambda each: abs(each.w))
        if abs(worst.w) <= LIMIT:
            break
        at = solved.checked.index(worst)
        alike = [
            other
            for k, other in enumerate(solved.checked)
            if k != at and abs(solved.correlation[at, k]) > ALIKE
        ]
        if alike:
            return _adjusted(solved, left_out, [worst, *alike])
        left_out.append(worst)
        readings.remove(worst.reading)
    return _adjusted(solved, left_out, [])


def _adjusted(solved: _Solved, left_out: list[Checked], alike: list[Checked]) -> Adjusted:
    w = np.array([each.w for each in solved.checked if each.share > UNCHECKED])
    spread = float(np.sqrt((w**2).mean())) if len(w) else 0.0
    return Adjusted(solved.opening, solved.checked, tuple(left_out), tuple(alike), spread)


def own_u(survey: RoomSurvey, reading: Taken) -> float:
    """mm, standard uncertainty of a reading: the instrument's, and the walls' at both ends."""
    spans = reading.reads if isinstance(reading, SPANS) else 0.0
    if isinstance(reading, (LeanTaken, SlopeTaken)):
        spans = reading.over
    own = survey.instruments.u_of(reading.by, spans) if reading.U is None else reading.U / 2.0
    ends = 1.0 if isinstance(reading, PlumbTaken) else 2.0
    return float(np.hypot(own, survey.walls.uneven / 2.0 * ends**0.5))


def _solve(survey: RoomSurvey, readings: Sequence[Taken], guess: Opening, held: Usual) -> _Solved:
    """Gauss-Newton. The state: free values of the opening, the tape's scale, plumb lines."""
    lines = sorted({each.line for each in readings if isinstance(each, PlumbTaken)})
    free = np.flatnonzero(held.free)
    taped = np.array([each.by == "tape" and isinstance(each, SPANS) for each in readings], float)
    reads = np.array([each.reads for each in readings])
    u = np.array([own_u(survey, each) for each in readings])

    def opened(state: Array) -> Opening:
        vector = guess.vector
        vector[free] = state[: len(free)]
        return guess.with_vector(vector)

    def model(state: Array) -> Array:
        room = opened(state)
        hung = dict(zip(lines, state[len(free) + 1 :], strict=True))
        true = np.array([predicted(each, room, hung) for each in readings])
        return np.asarray(true * (1.0 + state[len(free)] * taped))

    scale = max(survey.instruments.tape_scale, 1e-9)
    count = len(free) + 1 + len(lines)
    prior = np.zeros((len(held.rows) + 1 + len(lines), count))
    prior[: len(held.rows), : len(free)] = held.rows[:, free] / held.sd[:, None]
    rest = np.arange(1 + len(lines))
    prior[len(held.rows) + rest, len(free) + rest] = [1.0 / scale, *[1.0 / _LINE] * len(lines)]
    wanted = np.concatenate([held.expect / held.sd, np.zeros(1 + len(lines))])
    state = np.concatenate([guess.vector[free], [0.0], np.zeros(len(lines))])
    steps = np.array([_STEP] * len(free) + [1e-5] + [_STEP] * len(lines))
    for _ in range(_ROUNDS):
        slopes = _slopes(model, state, steps) / u[:, None]
        off = (reads - model(state)) / u
        normal = slopes.T @ slopes + prior.T @ prior
        move = np.linalg.solve(normal, slopes.T @ off + prior.T @ (wanted - prior @ state))
        state = state + move
        if np.abs(move[: len(free)]).max() < _SETTLED:
            break
    covariance = np.linalg.inv(normal)
    off = (reads - model(state)) / u
    # Of residuals in units of u: one less what the solution follows of each reading.
    own = np.eye(len(readings)) - slopes @ covariance @ slopes.T
    share = np.clip(np.diag(own), 1e-9, 1.0)
    w = np.where(share > UNCHECKED, off / np.sqrt(share), 0.0)
    full = np.zeros((len(guess.vector),) * 2)
    full[np.ix_(free, free)] = covariance[: len(free), : len(free)]
    checked = tuple(
        Checked(reading, float(o * s), float(s), float(r), float(each))
        for reading, o, s, r, each in zip(readings, off, u, share, w, strict=True)
    )
    scaled = np.sqrt(share)
    return _Solved(
        opened(state).with_covariance(full), checked, own / scaled[:, None] / scaled[None, :]
    )


def _slopes(model: Callable[[Array], Array], state: Array, steps: Array) -> Array:
    """(R, P) by central differences."""
    columns = []
    for k, step in enumerate(steps):
        up, down = state.copy(), state.copy()
        up[k] += step
        down[k] -= step
        columns.append((model(up) - model(down)) / (2.0 * step))
    return np.stack(columns, axis=1)
