"""Two ways to set an outline off by a distance; they differ wherever it isn't straight.

Parallel: every point moves square to the outline (a rolled washer, an even gap). Translated:
every point moves the same way (a block or a compass held in one direction, a board pushed
home). On a slope m a parallel offset by d lies d (sqrt(1 + m^2) - 1) further off, along the push,
than a translated one (plane geometry).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.geom.corners import corners
from scribe.geom.polyline import nearest, stations
from scribe.geom.region import crosses_itself, offset_line
from scribe.outline import Outline

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_KINK_DEG = 10.0  # a washer of 10 mm leaves 0.04 mm of a hollow undrawn at this turn
_SURE = 4.0  # a turn must be this many of its standard uncertainties


def offset_translated(outline: Outline, distance: float, direction: npt.ArrayLike) -> Outline:
    """The outline pushed by `distance` mm along `direction` (2,), in the outline's frame.

    Exact for any shape; u stays, for every point keeps its own.
    """
    towards = np.asarray(direction, np.float64)
    size = float(np.hypot(*towards))
    if not size > 0.0:
        raise ScribeError(
            "offset-direction",
            what="there is no direction to push in",
            where=outline.origin or "outline",
            do="give the direction as two numbers that are not both zero",
        )
    x, y = towards / size
    return outline.with_(
        points=outline.points + distance * towards / size,
        origin=outline.noted(f"translated {distance:+.3f} mm along ({x:.4f}, {y:.4f})"),
    )


def rolled_back(outline: Outline, distance: float) -> Outline:
    """The curve whose parallel curve at `distance` this outline is, towards the building.

    u, budget and `measured` are those of the outline's nearest point: a line that moves by a
    little moves its parallel curve by as much. Where the outline turns at once towards the
    building, the rolled washer touched both flanks of a hollow: its own rim, an arc, bridges what
    it could not reach, and is marked as not measured.

    Refuses with "offset-crossing" an outline that crosses itself and with "offset-apart"
    one that leaves no single curve at this distance.
    """
    if distance == 0.0:
        return outline
    _refuse_crossing(outline)
    curves = offset_line(outline.points, distance if outline.solid == "left" else -distance)
    if len(curves) != 1:
        raise ScribeError(
            "offset-apart",
            what=f"at {distance:.1f} mm its parallel curve falls into {len(curves)} parts",
            where=outline.origin or "outline",
            do="use a smaller distance, or take the outline in shorter pieces",
        )
    points = curves[0]
    s = stations(outline.points)
    feet = nearest(points, outline.points)
    rims = _rims(outline, points, distance)
    return outline.with_(
        points=points,
        u=np.interp(feet.station, s, outline.u),
        measured=_between_measured(feet.station, s, outline.measured) & ~rims,
        budget={name: np.interp(feet.station, s, part) for name, part in outline.budget.items()},
        shared=outline.shared_at(feet.station),
        origin=outline.noted(f"washer of radius {distance:.3f} mm undone"),
    )


def _between_measured(station: Array, s: Array, measured: Mask) -> Mask:
    """(M,) True where both neighbours of a foot on the source were measured."""
    before = np.clip(np.searchsorted(s, station + 1e-9, "right") - 1, 0, len(s) - 1)
    after = np.clip(np.searchsorted(s, station - 1e-9, "left"), 0, len(s) - 1)
    return np.asarray(measured[before] & measured[after], bool)


def _rims(outline: Outline, curve: Array, radius: float) -> Mask:
    """(M,) True on arcs of the washer's own rim: their foot is a kink of the line drawn.

    Kinks that noise hides at a single vertex are looked for over a longer reach.
    """
    points, s = outline.points, stations(outline.points)
    before, after = np.diff(s)[:-1], np.diff(s)[1:]
    turn = _turns(points) * (-1.0 if outline.solid == "left" else 1.0)
    u_turn = np.zeros(len(s))
    u_turn[1:-1] = outline.u[1:-1] * np.sqrt(
        1 / before**2 + 1 / after**2 + (1 / before + 1 / after) ** 2
    )
    sharp = s[(turn > np.radians(_KINK_DEG)) & (turn > _SURE * u_turn)]
    spacing = float(np.median(np.diff(s)))
    long = corners(points, outline.u, angle_deg=_KINK_DEG, reach=max(radius / 2, 6.0 * spacing))
    towards = [np.abs(s - place) <= 3.0 * spacing for place in long]
    long = long[[float(turn[near].sum()) > np.radians(_KINK_DEG) / 2 for near in towards]]
    feet = nearest(curve, points).station
    bridged = np.zeros(len(curve), bool)
    for place, slack in [(k, 1e-6) for k in sharp] + [(k, 1.5 * spacing) for k in long]:
        bridged |= np.abs(feet - place) <= slack
    return bridged


def _turns(points: Array) -> Array:
    """(N,) signed turn in radians at every vertex, positive to the left, 0 at the ends."""
    along = np.diff(points, axis=0)
    cross = along[:-1, 0] * along[1:, 1] - along[:-1, 1] * along[1:, 0]
    turn = np.arctan2(cross, (along[:-1] * along[1:]).sum(axis=1))
    return np.concatenate([[0.0], turn, [0.0]])


def _refuse_crossing(outline: Outline) -> None:
    if crosses_itself(outline.points):
        raise ScribeError(
            "offset-crossing",
            what="the outline crosses itself, so that it has no clear sides",
            where=outline.origin or "outline",
            do="smooth it first, or trace it again",
        )
