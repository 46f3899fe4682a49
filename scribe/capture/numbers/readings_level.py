"""A spirit level walked along a surface: its slope step by step, summed.

A level lies on the surface: a step of length L at slope t = tan(a) goes L cos(a) along and
L sin(a) up. Every step's error goes on to all that follow it; the level's own error tilts all of
the walk.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.numbers.readings_curve import Readings
from scribe.capture.numbers.readings_table import ReadingsTable
from scribe.geom.between import Surface
from scribe.geom.soundings import Slopes
from scribe.geom.stranger import Stranger, stranger
from scribe.quantity import format_mm

Array = npt.NDArray[np.float64]

# Common practice, no source: U (k = 2) of the level itself, half a millimetre on a metre; u in mm
# of the height that a walk must end at, and of where a step is laid against the one before.
LEVEL_OWN_U95 = 0.5e-3
_CLOSING_U = 0.25
_LAID_U = 0.5
_FAR = 3.0  # joint standard uncertainties by which a walk may miss its end


def walked(
    table: ReadingsTable, u: float, closing: float | None, surface: Surface | None
) -> Readings:
    """Heights over the way. u: of a slope, mm/mm. closing: mm, height of the far end. surface: what
    is walked along, None when nobody says.

    A known height of the far end is a condition on the sum: what is missing is spread over the
    way, and the errors left are those of a walk that ends where it must.
    """
    table.need("step", "fall" if "fall" in table else "slope")
    if "slope" in table and "fall" in table:
        raise table.refuse("readings-column", "slope and fall are both there", "keep one of them")
    step = table.lengths("step")
    slope = -table.slopes("fall") if "fall" in table else table.slopes("slope")
    if (step <= 0.0).any():
        row = int(np.argmax(step <= 0.0))
        raise table.refuse("readings-order", "a step must have a length", "correct it", row)
    level = 1.0 / np.hypot(1.0, slope)  # cosine of the angle
    points = np.zeros((len(step) + 1, 2))
    points[1:] = np.cumsum(np.column_stack([step * level, step * level * slope]), axis=0)
    behind = np.tril(np.ones((len(points), len(step))), -1)  # which steps a point has behind it
    # Column k: what an error of step k does to every height.
    causes = behind * (step * level**3 * u)
    causes = np.column_stack([causes, points[:, 0] * (LEVEL_OWN_U95 / 2.0)])
    if closing is not None:
        miss = closing - points[-1, 1]
        allowed = _FAR * float(np.hypot(np.linalg.norm(causes[-1]), _CLOSING_U))
        if abs(miss) > allowed:
            odd = odd_step(points, u, surface)
            raise table.refuse(
                "readings-closing",
                f"the walk ends {abs(miss):.1f} mm {'too low' if miss > 0.0 else 'too high'}, and "
                f"{allowed:.1f} mm is the most its readings may be out"
                + ("" if odd is None else f"; {step_words(table, odd)}"),
                "look for a step that was read with the wrong sign, read twice, or left out",
            )
        share = points[:, 0] / points[-1, 0]
        points[:, 1] += miss * share
        causes = np.column_stack([causes - share[:, None] * causes[-1], share * _CLOSING_U])
    shared = {
        "walk": causes.T[:, :, None] * np.array([0.0, 1.0]),
        "steps laid": behind.T[:, :, None] * np.array([_LAID_U, 0.0]),
    }
    # Against its neighbours: a second difference of heights holds two steps' errors, where three
    # heights with errors of their own (u, 2 u, u) would have sqrt(6) u.
    noise = np.full(len(points), float(np.median(step)) * u / 3**0.5)
    return Readings(points, {}, shared, noise)


def odd_step(points: Array, u: float, surface: Surface | None) -> Stranger | None:
    """The step of a walk (points (N + 1, 2) mm) whose slope doesn't fit those of the others.

    u: of a slope, mm/mm; so is what it is beyond them.
    """
    run, rise = np.diff(points, axis=0).T
    slopes = Slopes(points[:-1, 0], points[1:, 0])
    return stranger(slopes, rise / run, np.full(len(run), u), surface)


def step_words(table: ReadingsTable, odd: Stranger) -> str:
    """Which step it is, and by how much it doesn't fit."""
    more = "more" if odd.beyond > 0.0 else "less"
    return (
        f"the step in line {table.lines[odd.index]} doesn't fit its neighbours: it rises "
        f"{format_mm(1e3 * abs(odd.beyond), 0)} mm on a metre {more} than they let expect "
        f"(U {format_mm(1e3 * odd.U, 0)} mm)"
    )
