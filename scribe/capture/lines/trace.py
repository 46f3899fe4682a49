"""Trace a thin dark line on a board: pencil or knife, with grain, specks and gaps around.

In: the view of one photo. Out: the centre of the line every step along it, travelled with
x growing (upwards when it runs upright), normals to the left of travel. Scan lines stand
square to the line; the first round straightens them, the second measures. What the line
does in a gap, nobody saw: such points are marked and their u grows with the gap.

u adds up, in squares: the fit's own, the pencil's raggedness (scatter of neighbours), and what
the board's grain pulls beyond what the fit knows of (`grain`).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.profile import BarFit
from scribe.capture.edges.scan import bridged, longest_inside, pixel_at, scan_axis, stations
from scribe.capture.edges.wish import Wish, no_line
from scribe.capture.lines.find import find_line
from scribe.capture.lines.follow import BEYOND, FEWEST, followed
from scribe.capture.lines.grain import clear_of_grain, grain_u
from scribe.capture.lines.look import FINE_SMOOTH, between_ends, measured
from scribe.capture.view import Trace, View

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_FINE_HALF = (1.0, 2.5)  # mm, least and most half a scan line
_FLAT = 2.5  # widths of the line to either side of its centre
_LEAST_SEEN = 0.5  # part of the stations that must have been measured


def trace_line(
    view: View,
    *,
    start: Array | None = None,
    end: Array | None = None,
    near: Array | None = None,
    way: Array | None = None,
    step: float = 0.5,
) -> Trace:
    """The centre of the line. start, end: (2,) mm and near: (N, 2) mm say which, when needed.

    way: (N, 2) mm, its rough way as `find_line` has it, where that is known already.
    Refuses with outline-not-found, outline-ambiguous and outline-outside-marks.
    """
    wish = Wish(start, end, near)
    way = find_line(view, wish) if way is None else way
    points, own = followed(view, way, step, one_pen=wish.silent)
    second = stations(points, step, FINE_SMOOTH, BEYOND)
    t = scan_axis(float(np.clip(_FLAT * own, *_FINE_HALF)), pixel_at(view, second))
    look = measured(view, second, t, step)
    fit, good, spread = look.fit, look.good, look.spread
    kept = between_ends(look, longest_inside(second.points, view.area))
    if start is not None or end is not None:
        kept = _between_given(second.points, kept, start, end)
    seen = good[kept]
    if seen.sum() < FEWEST or seen.mean() < _LEAST_SEEN:
        raise no_line(view.where, "the line is too faint or too ragged to be measured")
    drawn, width = second[kept][seen], float(np.median(fit.width[good]))
    if wish.silent and clear_of_grain(view, drawn, fit.centre[kept][seen], width) < 1.0:
        raise no_line(view.where, "what looks like a line is no darker than the board's grain")
    # The fit takes short grain for noise; what runs along with the line it knows nothing of.
    grain = grain_u(view, second, t, fit, good, step)
    grain = np.sqrt(np.maximum(grain**2 - fit.u**2, 0.0))
    u = np.sqrt(fit.u**2 + spread**2 + grain**2)
    offset, u = bridged(second[kept], fit.centre[kept], u[kept], seen)
    # What a bridged place is doubted for is neither pencil nor grain.
    parts = {"line width": spread, "grain": grain}
    centred = second.points[kept] + offset[:, None] * second.normals[kept]
    return Trace(
        points=centred,
        u=u,
        normals=second.normals[kept],
        measured=seen,
        facts=_facts(fit, good, seen),
        tips=np.zeros((0, 2)),
        parts={name: np.where(seen, part[kept], 0.0) for name, part in parts.items()},
    )


def _between_given(points: Array, kept: slice, start: Array | None, end: Array | None) -> slice:
    """Cut at the stations nearest to the ends that were given."""
    first, last = kept.start, kept.stop
    if start is not None:
        first = max(first, int(np.argmin(np.hypot(*(points - start).T))))
    if end is not None:
        last = min(last, int(np.argmin(np.hypot(*(points - end).T))) + 1)
    return slice(first, max(first, last))


def _facts(fit: BarFit, good: Mask, seen: Mask) -> dict[str, str]:
    gaps = int((np.diff(seen.astype(int)) == -1).sum())
    return {
        "line width": f"{float(np.median(fit.width[good])):.2f} mm",
        "line contrast": f"{float(np.median(-fit.contrast[good])):.2f}",
        "gaps": f"{gaps}",
        "measured": f"{100.0 * float(seen.mean()):.0f} %",
    }
