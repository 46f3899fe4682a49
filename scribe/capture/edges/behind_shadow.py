"""Find and fit an edge whose shadow is what the photo shows first.

In: a view, and the border of what isn't paper white. Out: where the object itself begins.

An object's own outline is as sharp in the photo as the marks of the sheet; the border of a shadow
is softer. Where the outermost border is too soft to be the object's, what lies behind it is told
by two things that shadow and object don't share:

- Light that falls off evenly into a shadow shows no step, and an edge its whole step, also one that
  a penumbra begins at (`walk`). The object begins at the outermost step behind which its own light
  lies.
- A shadow only grows darker towards the object. Where the light rises again, the edge of the
  object lies at the rise, whatever the shadow before it looks like. Where it falls all the way,
  only a step as sharp as the photo is the edge: a penumbra, too, can be put together of two steps.

What stays in doubt (an object exactly as light as its shadow, a penumbra that ends at the edge) is
left out, and the tracer refuses when that is much.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.bare_paper import UNLIKE_PAPER
from scribe.capture.edges.profile import StepFit, fit_step
from scribe.capture.edges.scan import Stations, read_scans, running_median, scan_axis
from scribe.capture.edges.two_steps import fit_inner_step
from scribe.capture.edges.walk import SAMPLE, walked
from scribe.capture.view import View

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_OUTSIDE, _INSIDE = 2.5, 18.0  # mm looked at, from outside of the border to inside of it
_APART = 3  # samples between two steps
_ABREAST = 0.9  # mm across the rays that are averaged
_OWN = 3.0  # times the object's unevenness: light within that is its own
_WIDE = 30.0  # mm that object and shadow are wide at least
_DEEPEST = 6.0  # mm at the inner end that tell what the object's light is
_BEHIND = (3, 15)  # samples behind a change that must have the object's light
_COMPANY = 2.5  # mm along the border whose light is put together
_FURTHER = 0.5  # mm: what begins so far behind an edge begins at another one
_ROUND = 10.0  # mm along the border over which brightness is compared
_SHORT, _LONG = 6.0, 12.0  # blurs to both sides: of a step alone, and of a step with its shadow
_FEWEST = 7.0  # pixels to both sides that a step with slopes takes
_STRIP = (1.0, 3.0)  # blurs outside of the edge where a shadow's light is read
_BLURRED = 1.4  # times the blur of the photo's marks: more isn't one edge,
_SHARPEST = 0.6  # and nothing in the photo is sharper than this
# Pixels of blur for a millimetre above the plane in focus: a phone's lens of 6 mm, f/1.8, with
# pixels of 1.5 um, 300 mm away (thin lens: 0.14 px in diameter, a standard deviation of 1/4).
_DEFOCUS = 0.035
_RISES = 5.0  # times what is left over: a rise of light that is no noise


def softest(view: View) -> float:
    """Pixels of blur up to which a step may be one edge of what lies in the view's plane."""
    return float(np.hypot(_BLURRED * view.blur_px, _DEFOCUS * view.height))


def object_begins(view: View, where: Stations, rays: Array) -> Array:
    """(N,) mm along rays (unit vectors, inwards) to where the object begins; NaN where unknown."""
    walk = walked(view, where, rays, np.arange(-_OUTSIDE, _INSIDE, SAMPLE), _ABREAST)
    own, uneven = _own_light(walk.light[:, walk.s > _INSIDE - _DEEPEST], where.place)
    near, far = _BEHIND
    strange = np.pad((walk.light - own) ** 2, ((0, 0), (1, far)), mode="edge").cumsum(axis=1)
    count = len(walk.s)
    behind = (strange[:, far : far + count] - strange[:, near : near + count]) / (far - near)
    begins = walk.stepped(_APART) & (behind < (_OWN * uneven) ** 2)
    # Of something narrow, its own light lies where its shadow on the far side is looked at.
    far_in = read_scans(view, where, np.arange(_INSIDE, _WIDE, 2.0), _ABREAST, rays) / walk.paper
    told = np.hstack([np.nan_to_num(far_in), own])
    begins &= (np.abs(np.log(np.maximum(told, 1e-3))) > UNLIKE_PAPER).all(axis=1, keepdims=True)
    return walk.first(begins)


def hidden_behind(view: View, where: Stations, below: bool) -> float:
    """The part of the stations of an edge behind which the object begins only at another one.

    where: on the edge that was found. The shadow of a small lamp has a border as sharp as the
    object's, but behind it lies paper in shadow.
    """
    inwards = -where.normals if below else where.normals
    s = np.concatenate([SAMPLE * np.arange(*_BEHIND), np.arange(_INSIDE - _DEEPEST, _INSIDE, 0.5)])
    light = np.nan_to_num(read_scans(view, where, s, ahead=inwards))
    count = _BEHIND[1] - _BEHIND[0]
    own, uneven = _own_light(light[:, count:], where.place)
    behind = np.median(light[:, :count], axis=1)
    behind = running_median(behind, np.isfinite(behind), where.place, _COMPANY)
    strange = np.abs(behind - own[:, 0]) > _OWN * uneven
    if not strange.any():
        return 0.0
    return float(
        np.sum(object_begins(view, where[strange], inwards[strange]) > _FURTHER) / len(behind)
    )


def _own_light(deep: Array, place: Array) -> tuple[Array, float]:
    """(N, 1) light of the object well inside of its border, and how uneven it is."""
    usual = np.median(deep, axis=1)
    own = running_median(usual, np.isfinite(usual), place, _ROUND)[:, None]
    return own, 1.4826 * float(np.median(np.abs(deep - own)))


def fit_behind_shadow(
    view: View, where: Stations, below: bool, step: float, *, most: float
) -> StepFit:
    """The object's own step at stations near it.

    step: mm along it that a scan averages over. most: pixels of blur that the step may have.

    Where the light rises towards the object the inner of two steps, else a step alone, in a scan
    too short for most shadows. Half of what the two disagree by goes into u, and half of what the
    step is softer than the photo: something that widens it lies to one side of it.
    """
    pixel = float(np.median(view.pixel(where.points[:: max(1, len(where.points) // 16)])))
    blur = view.blur_px * pixel
    outwards = where if below else replace(where, normals=-where.normals)
    t = scan_axis(max(_SHORT * blur, _FEWEST * pixel), pixel)
    rows = read_scans(view, outwards, t, step)
    alone = fit_step(t, rows, pixel=pixel, near=np.zeros(len(rows)), slopes=True)
    t = scan_axis(max(_LONG * blur, _FEWEST * pixel), pixel)
    rows = read_scans(view, outwards, t, step)
    two, far = fit_inner_step(t, rows, pixel=pixel, blur=blur)
    rises = _rises(t, rows, two, far, blur)
    apart = np.where(two.ok & alone.ok & ~rises, 0.5 * (two.position - alone.position), 0.0)

    def pick(name: str) -> Array:
        return np.asarray(np.where(rises, getattr(two, name), getattr(alone, name)))

    wider = 0.5 * np.clip(pick("blur") - blur, 0.0, None)
    found = StepFit(
        pick("position"),
        np.sqrt(pick("u") ** 2 + apart**2 + wider**2),
        pick("low"),
        pick("high"),
        pick("blur"),
        pick("noise"),
        rises | (alone.ok & (alone.blur < most * pixel) & (alone.blur > _SHARPEST * blur)),
    )
    if below:
        return found
    return replace(found, position=-found.position, low=found.high, high=found.low)


def _rises(t: Array, rows: Array, two: StepFit, far: Array, blur: float) -> Mask:
    """(N,) whether the light is seen to rise from the shadow to the object."""
    rise = two.low - two.high
    away = (t - two.position[:, None]) / blur
    beside = (away > _STRIP[0]) & (away < _STRIP[1])
    strip = np.where(beside, rows, 0.0).sum(axis=1) / np.maximum(beside.sum(axis=1), 1)
    seen = two.low - strip > np.maximum(0.5 * rise, _RISES * two.noise)
    return np.asarray(two.ok & seen & (strip > 0.0) & (far > two.low))
