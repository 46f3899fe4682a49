"""Is what was traced the kind of thing that was asked for?

A gauge's pins, a board's edge and a drawn line all lie on white paper, and a tracer finds one of
them where another is. In: the view and what was traced in it, as an edge or as a line. Each check
refuses with "another-kind" what the photo shows to be something else:

- pins: the light beside the outline repeats at a pitch of pins, along a direction of pins;
- a line taken for an edge: the paper goes on behind it;
- an edge whose board carries a drawn line as well: which of them is meant, only the fitter knows.
  A line on the paper beside it is a fold.

What the fitter has pointed at (ends, or a rough course) is taken for what they say it is.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.bare_paper import UNLIKE_PAPER
from scribe.capture.edges.scan import along, median_seen
from scribe.capture.edges.wish import Wish
from scribe.capture.gauge.edge import SCAN
from scribe.capture.gauge.spectrum import ROW, repeats
from scribe.capture.lines.find import dark_in
from scribe.capture.lines.trace import trace_line
from scribe.capture.view import Trace, View
from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]

_TURNS = np.deg2rad(np.arange(-15.0, 15.1, 3.0))  # pins against the upright of the sheet
_DEEP = np.array([1.0, 1.7, 2.4, 3.1, 3.8, 4.5])  # mm along the pins, averaged
# Pins and gaps differ by more than the blocks of a strongly compressed photo, which repeat as well:
# the usual change of light over half a usual pitch, in parts of the light.
_HALF_PITCH, _FAINTEST = round(0.55 / SCAN), 0.02
_SHORTEST = 12.0  # mm: what is shorter shows too few pins
_BEHIND = np.array([2.5, 3.0, 3.5, 4.0])  # mm from an edge where a board is no more a line,
# and from a line where it is what the line is drawn on
_BEFORE = np.array([3.0, 5.0, 8.0])  # mm outside of it
_BOTH = np.concatenate([_BEHIND, -_BEHIND])
_OTHER = 0.15  # logarithm of light: more than the grain of a board differs from one side to another
_AS_LONG = 0.5  # part of the edge from which on a drawn line may be what is meant


def refuse_another_kind(view: View, found: Trace, kind: str, *, certain: bool = False) -> None:
    """Refuse an edge or a line that is another thing.

    certain: nobody had to choose the kind. Then only the photo may be a wrong one, of the gauge
    instead of the cut: the line that was cut to may still stand on the board.
    """
    upright = np.array([0.0, 1.0])
    sides = (-1.0, 1.0) if kind == "line" else (1.0 if found.facts["object"] == "above" else -1.0,)
    if any(_pins_beside(view, found.points, side * upright) for side in sides):
        raise _another(view, kind, "it runs along the pins of a profile gauge", "gauge")
    if kind == "line" or certain:
        return
    if _unlike(view, found, sides[0] * _BEHIND, -sides[0] * _BEFORE) < 0.5 * UNLIKE_PAPER:
        raise _another(view, kind, "it is a drawn line, with paper behind it", "line")
    dark = dark_in(view, Wish())
    if dark.heaviest is None or along(dark.heaviest[0])[-1] < _AS_LONG * along(found.points)[-1]:
        return
    try:
        drawn = trace_line(view, way=dark.line(view))
    except ScribeError:
        return
    if _unlike(view, drawn, _BEHIND, -_BEHIND) > _OTHER:
        return  # between things of two colours: the edge of one, dark with its shadow
    if _beside(view, drawn, _BOTH) > (1.0 - UNLIKE_PAPER) * _beside(
        view, found, -sides[0] * _BEFORE
    ):
        return  # on the paper and not on the board: a fold of the sheet
    x, y = drawn.points[len(drawn.points) // 2]
    raise _another(view, kind, f"a line is drawn round {x:.0f}, {y:.0f} mm as well", "line")


def _pins_beside(view: View, points: Array, away: Array) -> bool:
    """Whether the light beside an outline repeats as pins do, on the side that `away` points to."""
    x, y = points[np.argsort(points[:, 0])].T
    place = np.arange(x[0], x[-1], SCAN)
    if len(place) * SCAN < _SHORTEST:
        return False
    foot = np.stack([place, np.interp(place, x, y)], axis=1)
    c, s = np.cos(_TURNS), np.sin(_TURNS)
    along_pins = np.array([[c, -s], [s, c]]).transpose(2, 0, 1) @ away
    points = foot[:, None, :] + _DEEP[:, None] * along_pins[:, None, None, :]
    light = np.nan_to_num(view.light(points)).mean(axis=2)
    apart = np.median(np.abs(light[:, _HALF_PITCH:] - light[:, :-_HALF_PITCH]), axis=1).max()
    return bool(apart > _FAINTEST * np.median(light)) and repeats(light) > ROW


def _unlike(view: View, found: Trace, one: Array, other: Array) -> float:
    """By how much light, or one of its colours, differs so many mm along the normals from so many:
    the logarithm of both.
    """
    lights = [
        median_seen(_seen(view, found.points[:, None, :] + s[:, None] * found.normals[:, None, :]))
        for s in (one, other)
    ]
    ratio = np.nanmedian(lights[0] / lights[1], axis=1)
    return float(np.abs(np.log(ratio)).max())


def _beside(view: View, found: Trace, away: Array) -> float:
    """Usual light so many mm along the normals from an outline."""
    return float(
        np.nanmedian(view.light(found.points[:, None] + away[:, None] * found.normals[:, None]))
    )


def _seen(view: View, points: Array) -> Array:
    """(C, N, S) light at points (N, S, 2), and red, green and blue where the photo has them."""
    light, colour = view.light(points)[None], view.colour(points)
    return light if colour is None else np.concatenate([light, np.moveaxis(colour, -1, 0)])


def _another(view: View, kind: str, what: str, other: str) -> ScribeError:
    return ScribeError(
        "another-kind",
        what=f"this may not be the {kind} that was asked for: {what}",
        where=view.where,
        do=f"give {{kind:{other}}} if that is meant; if not, say where the {kind} runs with"
        " {ends}",
    )
