"""The step of light at stations along the edge of a thing on the white sheet.

In: a view, and stations near the edge, normals out of the thing. Out: `Steps`, where along the
normals the thing ends, and which of them to believe. The sheet beside the edge may be in shadow:
paper or shadow, whichever lies next to the thing, is one side of the step; where the shadow's
border lies too close to be told apart so, two steps are fitted, see `two_steps`, and behind a
shadow as `behind_shadow` has it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.behind_shadow import fit_behind_shadow, softest
from scribe.capture.edges.profile import StepFit, fit_step
from scribe.capture.edges.scan import (
    Stations,
    keep_steady,
    longest_inside,
    median_seen,
    pixel_at,
    read_scans,
    running_median,
    scan_axis,
)
from scribe.capture.edges.two_steps import fit_beside_shadow
from scribe.capture.view import Box, View

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_ROUGH_HALF, _FINE_HALF = 1.0, 0.7  # mm, half a scan line
_LEAST_PIXELS = 7.0  # half a scan line, so that both flats of the step are seen
_FINE_PIXELS = 10.0  # so that a shadow's border beside it is seen as well
_STEADY = 0.8  # mm over which outliers are judged
_LIKE = 10  # stations that an end is compared with
_TONE = 0.35  # of the step: how far its sides may be from the usual
# The visible side of a thick board is in another light than its face: beside it the step that
# is seen is the side's foot on the sheet. Grain makes a face this much darker, not more.
_DARKER = 0.7
_DEEP = np.linspace(2.5, 5.0, 8)  # mm inside of the edge where the thing's light is read
_FAR = np.array([3.0, 5.0, 8.0])  # mm outside of it where the sheet's light is read
_LIKE_THING = 0.3  # part of the step from thing to sheet that the thing's light varies by
_ASIDE, _SAMPLE = 0.8, 0.1  # mm: outwards, between samples
_AT_END = 10  # samples at the inner end that must be the thing's
_ROUND = 10.0  # mm over which the thing's brightness is compared
_SOFT, _SOFTEST = 1.6, 2.2  # times the usual blur, and the blur of the photo's marks
_BETTER = 0.93  # of what one step leaves over: what two must not leave to be believed
_VAGUE = 0.3  # part of the stations that may be blurred so
_CLEAR = 0.3  # part of the light between thing and sheet in which its edge must stand out


@dataclass(frozen=True)
class Steps:
    """The step at every station, low on the thing; which of them to believe, and how much those
    scatter, (N,) mm.
    """

    where: Stations
    fit: StepFit
    good: Mask
    spread: Array

    @property
    def points(self) -> Array:
        """(N, 2) mm on the edge."""
        return self.where.moved(self.fit.position)

    def between_ends(self, box: Box) -> slice:
        """The stations inside a box that show the edge, without those past its ends.

        Past a corner there is a shadow or the thing's side, in another tone.
        """
        inside = longest_inside(self.where.points, box)
        step, face = np.abs(self.fit.high - self.fit.low), self.fit.low
        shown = np.flatnonzero(self.good[inside]) + inside.start

        def strange(here: np.int64, others: npt.NDArray[np.int64]) -> bool:
            away = abs(float(face[here]) - float(np.median(face[others])))
            return away > _TONE * float(np.median(step[others]))

        while len(shown) > _LIKE and strange(shown[0], shown[1:_LIKE]):
            shown = shown[1:]
        while len(shown) > _LIKE and strange(shown[-1], shown[-_LIKE:-1]):
            shown = shown[:-1]
        return slice(int(shown[0]), int(shown[-1]) + 1) if len(shown) else slice(0, 0)


def steps_roughly(view: View, where: Stations, step: float, *, behind: bool) -> Steps:
    """The steps near a rough way; behind: behind a shadow."""
    if behind:
        return _believed(view, where, fit_behind_shadow(view, where, step, most=softest(view)))
    where = _onto_thing(view, where)
    pixel = pixel_at(view, where)
    t = scan_axis(max(_ROUGH_HALF, _LEAST_PIXELS * pixel), pixel)
    return _believed(view, where, one_step(t, read_scans(view, where, t, step), pixel))


def steps_beside_shadow(view: View, where: Stations, step: float) -> Steps | None:
    """The steps at stations on the edge, where a shadow's border may lie close beside them.

    None for an edge that is more blurred than the photo and isn't two clear steps: a shadow's.
    """
    pixel = pixel_at(view, where)
    t = scan_axis(max(_FINE_HALF, _FINE_PIXELS * pixel), pixel)
    rows = read_scans(view, where, t, step)
    one = one_step(t, rows, pixel)
    two, far = fit_beside_shadow(t, rows, pixel=pixel, blur=view.blur_px * pixel, near=one)
    both = one.ok & two.ok
    if not both.any():
        return _believed(view, where, one)
    clear = both & (np.abs(two.high - two.low) > _CLEAR * np.abs(far - two.low))
    less = running_median(two.noise / np.maximum(one.noise, 1e-9), both, where.place, _ROUND)
    chosen = (less < _BETTER) & two.ok
    vague = (one.blur > softest(view) * pixel) & ~(chosen & clear)
    if np.mean(vague[one.ok]) > _VAGUE:
        return None
    # What one step and two disagree by, beyond what two can know, goes half into u.
    apart = running_median(two.position - one.position, both, where.place, _ROUND)
    known = running_median(two.u, both, where.place, _ROUND)
    doubt = 0.5 * np.sqrt(np.maximum(apart**2 - known**2, 0.0))
    fit = one.replaced(chosen, two)
    fit = replace(fit, u=np.hypot(fit.u, doubt), ok=np.where(chosen, clear, one.ok & ~vague))
    return _believed(view, where, fit)


def steps_behind_shadow(view: View, where: Stations, step: float) -> Steps | None:
    """The steps at stations on the edge behind a shadow; None where too few are told from it."""
    fit = fit_behind_shadow(view, where, step, most=softest(view))
    return _believed(view, where, fit) if fit.ok.mean() > 1.0 - _VAGUE else None


def one_step(t: Array, rows: Array, pixel: float, near: Array | None = None) -> StepFit:
    """A step to each row, near the place (N,) given or 0, the light beside it changing evenly."""
    near = np.zeros(len(rows)) if near is None else near
    return fit_step(t, rows, pixel=pixel, near=near, slopes=True)


def _believed(view: View, where: Stations, fit: StepFit) -> Steps:
    """The steps with those that are neither soft nor of another tone, nor stray."""
    usual = float(np.median(fit.blur[fit.ok])) if fit.ok.any() else 0.0
    sharp = fit.ok & (fit.blur < _SOFT * usual)  # a softer one is the edge of a shadow
    sharp &= fit.blur < _SOFTEST * view.blur_px * pixel_at(view, where)
    if sharp.any():  # where the inner side isn't as bright as the face, it is shadow or side
        usually = running_median(fit.low, sharp, where.place, _ROUND)
        step_usually = running_median(np.abs(fit.high - fit.low), sharp, where.place, _ROUND)
        sharp &= np.abs(fit.low - usually) < _TONE * step_usually
        sharp &= (fit.low > _DARKER * usually) & (fit.low * _DARKER < usually)
    own = _own_light(view, where)
    sharp &= np.abs(fit.low - own) < _LIKE_THING * np.abs(_sheet_light(view, where) - own)
    good, spread = keep_steady(where.place, fit.position, fit.u, sharp, _STEADY)
    return Steps(where, fit, good, spread)


def _own_light(view: View, where: Stations) -> Array:
    """(N,) light of the thing well inside of each station, the median over its neighbours."""
    light = median_seen(read_scans(view, where, -_DEEP))[:, 0]
    return running_median(light, np.isfinite(light), where.place, _ROUND)


def _sheet_light(view: View, where: Stations) -> float:
    """Light of the sheet outside of the edge, clear of any shadow."""
    return float(np.nanpercentile(read_scans(view, where, _FAR), 90))


def _onto_thing(view: View, where: Stations) -> Stations:
    """The same stations moved inwards to where the thing's own light begins.

    The rough way may run along the border of the thing's shadow, which lies on the sheet
    beside it. Going outwards from well inside, the thing ends where its light does.
    """
    reach = np.arange(-_ASIDE, _DEEP[-1], _SAMPLE)
    light = read_scans(view, where, -reach)
    own = _own_light(view, where)[:, None]
    strange = ~(np.abs(light - own) < _LIKE_THING * np.abs(_sheet_light(view, where) - own))
    last = np.where(strange, np.arange(len(reach)), 0).max(axis=1)
    moved = np.where(strange[:, -_AT_END:].any(axis=1), 0.0, reach[last])  # past its ends
    shift = running_median(moved, np.isfinite(moved), where.place, 2.0)
    offset = np.where(shift > _SAMPLE, -shift, 0.0)
    return Stations(where.moved(offset), where.normals, where.place)
