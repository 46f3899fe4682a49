"""The reading that doesn't fit its neighbours: a slip of the pen, or a place to read more closely.

One reading at a time is left out, and what the others leave open of its place follows from
`geom.between`: a mixture of normal distributions, one for each surface that they allow. Its chance
is how seldom a surface of them stands so far out there (both sides together). The one with the
smallest chance is a stranger when that is below the limit: of tables without a mistake a share
of FALSE_ALARMS would be suspected, whatever the number of readings (Sidak's correction).

A stranger need not be wrong: a pipe or a corner of a chimney breast reads like one. A mistake that
a surface as rough as the other readings show it could make as well isn't seen.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.geom.between import Surface, kriged, likely
from scribe.geom.soundings import Soundings

Array = npt.NDArray[np.float64]

FALSE_ALARMS = 0.04  # of tables without a wrong reading, as in a survey
_FEWEST = 5  # readings: fewer don't tell what the surface is like
_NEAR = 15  # readings on each side that have a say


@dataclass(frozen=True)
class Stranger:
    """index: of the reading. beyond: how much more it reads than the others let expect, U (k = 2)
    of that, in the readings' unit; chance: how seldom a surface stands out so far.
    """

    index: int
    beyond: float
    U: float
    chance: float


def stranger(
    read: Soundings, values: Array, u: Array, surface: Surface | None = None
) -> Stranger | None:
    """The reading of values (N,), with noise u (N,), that doesn't fit the others.

    None where all fit, and for fewer than five readings.

    >>> from scribe.geom.soundings import Heights
    >>> read, flat = Heights(np.arange(12.0) * 200.0), np.zeros(12)
    >>> u = np.full(12, 0.25)
    >>> stranger(read, flat, u) is None
    True
    >>> flat[5] += 100.0
    >>> found = stranger(read, flat, u)
    >>> found.index, round(found.beyond)
    (5, 100)
    """
    if len(u) < _FEWEST:
        return None
    limit = 1.0 - (1.0 - FALSE_ALARMS) ** (1.0 / len(u))
    worst = min(
        (_alone(k, read, values, u, surface) for k in _candidates(read.middle, values)),
        key=lambda each: each.chance,
    )
    return worst if worst.chance < limit else None


def _candidates(s: Array, values: Array) -> list[int]:
    """Both ends; the reading furthest from the chord of its neighbours, and those, for a wrong one
    bends their chords as well.
    """
    share = (s[1:-1] - s[:-2]) / (s[2:] - s[:-2])
    off = values[1:-1] - (1.0 - share) * values[:-2] - share * values[2:]
    furthest = 1 + int(np.abs(off).argmax())
    return sorted({0, furthest - 1, furthest, furthest + 1, len(s) - 1})


def _alone(k: int, read: Soundings, values: Array, u: Array, surface: Surface | None) -> Stranger:
    """How the others see one reading."""
    from scipy.special import ndtr

    away = np.abs(np.arange(len(u)) - k)
    near = (away > 0) & (away <= _NEAR)
    known = likely(read[near], values[near, None], u[near], surface)
    one = read[k : k + 1]
    mean, spread = kriged(read[near], values[near, None], u[near], one, known)
    expected, wide = mean[:, 0, 0], np.hypot(spread[:, 0], u[k])
    chance = float(known.weight @ (2.0 * ndtr(-np.abs(values[k] - expected) / wide)))
    centre = float(known.weight @ expected)
    total = float(np.sqrt(known.weight @ (wide**2 + (expected - centre) ** 2)))
    return Stranger(k, float(values[k]) - centre, 2.0 * total, chance)
