"""Does something of another colour lie across the edge that was traced: a hand, a tool?

In: the view, and what was traced in it as an edge. Out: nothing, or a refusal. The outline goes on
round a finger that reaches over the edge, as sharp as the edge itself. But along one thing what
lies just inside of its edge has one colour, whatever its light does; grain and shadows change all
three colours alike.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.scan import along, median_seen, running_median
from scribe.capture.edges.wish import covered
from scribe.capture.view import Trace, View

Array = npt.NDArray[np.float64]

_INSIDE = np.linspace(2.0, 4.0, 5)  # mm from the edge
_ROUND_MM = 6.0  # to each side, over which the colour is judged
# Logarithm of a ratio of colours: more than wood changes along a board; and of light, beside which
# half of that says as much.
_OTHER, _LIGHTER = 0.2, 0.5
_PART = 0.1  # of the edge


def refuse_covered(view: View, found: Trace) -> None:
    """Refuse an edge along which the colour inside is another one for a part of it."""
    side = 1.0 if found.facts["object"] == "above" else -1.0
    inside = found.points[:, None, :] + side * _INSIDE[:, None] * found.normals[:, None, :]
    colours = view.colour(inside)
    if colours is None:
        return
    red, green, blue = (median_seen(colours[..., k])[:, 0] for k in range(3))
    place = along(found.points)

    def away(values: Array) -> Array:
        near = running_median(values, np.isfinite(values), place, _ROUND_MM)
        return np.abs(near - np.nanmedian(values))

    other = np.maximum(away(np.log(red / green)), away(np.log(blue / green)))
    odd = (other > _OTHER) | ((other > 0.5 * _OTHER) & (away(np.log(green)) > _LIGHTER))
    if odd.mean() > _PART:
        raise covered(view.where, found.points[odd])
