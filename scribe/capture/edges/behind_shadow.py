"""Fit the edge of a thing that lies in its own shadow, where it is known to about a millimetre.

In: a view, and stations near the edge. Out: the thing's own step at each of them.

A thing's outline is as sharp in the photo as the marks of the sheet; the border of a shadow is
softer. And a shadow only grows darker towards the thing. Where the light rises again, the edge lies
at the rise, whatever the shadow before it looks like. Where it falls all the way, only a step as
sharp as the photo is the edge: a penumbra, too, can be put together of two steps.

What stays in doubt (a penumbra that ends at the edge) is left out, and the tracer refuses when that
is much.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.profile import StepFit, fit_step
from scribe.capture.edges.scan import Stations, pixel_at, read_scans, scan_axis
from scribe.capture.edges.two_steps import fit_inner_step
from scribe.capture.view import View

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

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


def fit_behind_shadow(view: View, where: Stations, step: float, *, most: float) -> StepFit:
    """The thing's own step at stations near it, normals out of the thing.

    step: mm along it that a scan averages over. most: pixels of blur that the step may have.

    Where the light rises towards the thing the inner of two steps, else a step alone, in a scan
    too short for most shadows. Half of what the two disagree by goes into u, and half of what the
    step is softer than the photo: something that widens it lies to one side of it.
    """
    pixel = pixel_at(view, where)
    blur = view.blur_px * pixel
    t = scan_axis(max(_SHORT * blur, _FEWEST * pixel), pixel)
    rows = read_scans(view, where, t, step)
    alone = fit_step(t, rows, pixel=pixel, near=np.zeros(len(rows)), slopes=True)
    t = scan_axis(max(_LONG * blur, _FEWEST * pixel), pixel)
    rows = read_scans(view, where, t, step)
    two, far = fit_inner_step(t, rows, pixel=pixel, blur=blur)
    rises = _rises(t, rows, two, far, blur)
    apart = np.where(two.ok & alone.ok & ~rises, 0.5 * (two.position - alone.position), 0.0)
    found = alone.replaced(rises, two)
    wider = 0.5 * np.clip(found.blur - blur, 0.0, None)
    sharp = alone.ok & (alone.blur < most * pixel) & (alone.blur > _SHARPEST * blur)
    return replace(found, u=np.sqrt(found.u**2 + apart**2 + wider**2), ok=rises | sharp)


def _rises(t: Array, rows: Array, two: StepFit, far: Array, blur: float) -> Mask:
    """(N,) whether the light is seen to rise from the shadow to the thing."""
    rise = two.low - two.high
    away = (t - two.position[:, None]) / blur
    beside = (away > _STRIP[0]) & (away < _STRIP[1])
    strip = np.where(beside, rows, 0.0).sum(axis=1) / np.maximum(beside.sum(axis=1), 1)
    seen = two.low - strip > np.maximum(0.5 * rise, _RISES * two.noise)
    return np.asarray(two.ok & seen & (strip > 0.0) & (far > two.low))
