"""What is known of a room before anything is measured: a first guess, and how far rooms stray.

Readings rarely determine every value of an opening: two widths say how much closer the walls
are at the top, not which of them leans. What no reading tells is held by what rooms are like,
with a width so generous that one reading overrules it. These are our estimates, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.opening import Opening
from scribe.room_survey import BreakTaken, DepthTaken, HeightTaken, RoomSurvey, Taken, WidthTaken

Array = npt.NDArray[np.float64]

# Standard deviations, mm: of a lean over the height, a splay or slope over the width or depth,
# and of how front and back differ in these.
_LEAN, _SPLAY, _TWIST = 12.0, 12.0, 5.0
_FLOOR, _FLOOR_TWIST = 8.0, 3.0
_CEILING, _CEILING_TWIST = 12.0, 5.0
_SLOPED = 2000.0  # a ceiling that is known to slope may stand anywhere
_ANYWHERE = 1e4  # a size, which readings alone tell


@dataclass(frozen=True)
class Usual:
    """rows (Q, P) times the values that aren't fixed, less `expect` (Q,), is usually within sd.

    free: (P,) which of the opening's values are looked for.
    """

    rows: Array
    expect: Array
    sd: Array
    free: npt.NDArray[np.bool_]


def first_guess(survey: RoomSurvey) -> Opening:
    """A square room of about the sizes read; refuses one of which no size was read."""
    width = _typical(survey, WidthTaken, "width", "from wall to wall")
    height = _typical(survey, HeightTaken, "height", "from floor to ceiling")
    depth = _typical(survey, DepthTaken, "depth", "from the front to the back wall")
    along = survey.slopes or "width"
    end = width if along == "width" else depth
    breaks = [r.reads for r in survey.readings if isinstance(r, BreakTaken)]
    if any(not 0.0 < place < end for place in breaks):
        raise ScribeError(
            "survey-break",
            what="the ceiling breaks outside of the room",
            where=survey.name,
            do=f"give reads of [[break]] between 0 and {end:.0f} mm",
        )
    places = [0.0, *sorted(breaks), end]
    nodes = tuple((place, height, height) for place in places)
    count = 18 + 3 * len(nodes)
    return Opening(
        survey.name,
        (width, height, depth),
        (0.0,) * 4,
        (width,) * 4,
        (0.0,) * 4,
        (depth,) * 4,
        nodes,
        np.zeros((count, count)),
        along=along,
        unevenness=survey.walls.uneven / 2.0,
    )


def _typical(survey: RoomSurvey, kind: type[Taken], word: str, how: str) -> float:
    read = [reading.reads for reading in survey.readings if type(reading) is kind]
    if not read:
        raise ScribeError(
            "survey-lacks",
            what=f"no {word} was measured",
            where=survey.name,
            do=f"measure the {word} {how} and write it as [[{word}]]",
        )
    return float(median(read))


def usual(survey: RoomSurvey, guess: Opening) -> Usual:
    """How the values of such a room usually hang together."""
    size = len(guess.vector)
    free = np.ones(size, bool)
    free[[0, 10]] = False  # the frame's origin
    last = size - 3
    free[[18, last]] = False  # where the ceiling's profile begins and ends
    rows: list[tuple[dict[int, float], float, float]] = []

    def corners(first: int, lean: float, splay: float, twist: float) -> None:
        a, b, c, d = range(first, first + 4)
        rows.append(({b: 1, a: -1}, 0.0, lean))
        rows.append(({c: 1, a: -1}, 0.0, splay))
        rows.append(({d: 1, c: -1, b: -1, a: 1}, 0.0, twist))

    corners(0, _LEAN, _SPLAY, _TWIST)
    corners(5, _LEAN, _SPLAY, _TWIST)
    corners(10, _FLOOR, _FLOOR, _FLOOR_TWIST)
    corners(14, _SPLAY, _LEAN, _TWIST)
    rows += [({bow: 1}, 0.0, survey.walls.bow / 2.0) for bow in (4, 9)]
    sloped = survey.slopes is not None
    for k in range(19, size, 3):
        # Near and far side of the profile, and one node after the other.
        rows.append(({k + 1: 1, k: -1}, 0.0, _CEILING))
        if k > 19:
            rows.append(({k: 1, k - 3: -1}, 0.0, _SLOPED if sloped else _CEILING))
            rows.append(({k + 1: 1, k: -1, k - 2: -1, k - 3: 1}, 0.0, _CEILING_TWIST))
    for value, at in ((5, guess.reference[0]), (14, guess.reference[2]), (19, guess.reference[1])):
        rows.append(({value: 1}, at, _ANYWHERE))
    rows += [({k: 1}, float(guess.vector[k]), _ANYWHERE) for k in range(21, last, 3)]
    matrix = np.zeros((len(rows), size))
    for row, (terms, _, _) in enumerate(rows):
        for column, factor in terms.items():
            matrix[row, column] = factor
    expect = np.array([value for _, value, _ in rows])
    return Usual(matrix, expect, np.array([sd for _, _, sd in rows]), free)
