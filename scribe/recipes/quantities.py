"""What an outline says as a whole: its chord and its bow, or the way round, each with its U.

Errors that the points share don't average away: a page that is 0.3 % too large makes a chord
of 190 mm wrong by 0.6 mm, however many points were traced.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scribe.outline import Outline
from scribe.quantity import format_u


@dataclass(frozen=True)
class Quantity:
    """A length in mm and its standard uncertainty."""

    value: float
    u: float

    def __str__(self) -> str:
        return format_u(self.value, 2.0 * self.u)

    def as_json(self) -> dict[str, float]:
        """For another program; U is with k = 2."""
        return {"value": round(self.value, 3), "u95": round(2.0 * self.u, 4)}


def size_words(outline: Outline) -> str:
    """How large it is: from end to end with its bow, or once round."""
    if outline.closed:
        return f"closed, {around(outline)} once round"
    return f"{chord(outline)} from end to end, bow {bow(outline)}"


def sizes_json(outline: Outline) -> dict[str, dict[str, float]]:
    """The same for another program."""
    if outline.closed:
        return {"around_mm": around(outline).as_json()}
    return {"chord_mm": chord(outline).as_json(), "bow_mm": bow(outline).as_json()}


def chord(outline: Outline) -> Quantity:
    """From the first point to the last; where a line or a gauge itself ends isn't meant."""
    along = outline.points[-1] - outline.points[0]
    length = float(np.hypot(*along))
    gradient = np.zeros_like(outline.points)
    gradient[-1], gradient[0] = along / length, -along / length
    return Quantity(length, outline.quantity_u(gradient))


def around(outline: Outline) -> Quantity:
    """Once round a closed outline."""
    along = np.diff(outline.points, axis=0)
    sizes = np.hypot(*along.T)
    ahead = along / sizes[:, None]
    gradient = np.zeros_like(outline.points)
    gradient[1:] += ahead
    gradient[:-1] -= ahead
    return Quantity(float(sizes.sum()), outline.quantity_u(gradient))


def bow(outline: Outline) -> Quantity:
    """The largest distance of a point from the chord, either way, square to it."""
    along = outline.points[-1] - outline.points[0]
    length = float(np.hypot(*along))
    x, y = along / length
    away = (outline.points - outline.points[0]) @ np.array([-y, x])
    at = int(np.argmax(np.abs(away)))
    side = float(np.sign(away[at])) or 1.0
    share = float((outline.points[at] - outline.points[0]) @ along) / length**2
    gradient = np.zeros_like(outline.points)
    gradient[at] += side * np.array([-y, x])
    # The chord turns with its ends: the point's foot lies at `share` of it.
    gradient[0] -= (1.0 - share) * side * np.array([-y, x])
    gradient[-1] -= share * side * np.array([-y, x])
    return Quantity(float(abs(away[at])), outline.quantity_u(gradient))
