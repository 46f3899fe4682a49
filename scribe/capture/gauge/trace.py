"""Trace the surface that a profile gauge touched, from a photo of the gauge on the sheet.

In: a view of the plane in which the pin tips lie. Out: a `Trace` of the contact surface in
the sheet frame, x growing, the wall above. The touched side of the gauge points to the
sheet's upper edge; whether it really does can't be seen in the photo, so an arrow on the
sheet says it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from scribe.capture.gauge.by_colour import tips_told
from scribe.capture.gauge.contact import Surface, contact_surface
from scribe.capture.gauge.find import Frame, not_found, outside
from scribe.capture.gauge.tips import Tips
from scribe.capture.view import Trace, View
from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]

_FEWEST_PINS = 6
_HIDDEN = 0.2  # of the pins between the first and the last
_EDGE_MM = 0.4  # tips this close to the window's border may go on behind the marks


def trace_gauge(
    view: View,
    *,
    start: npt.ArrayLike | None = None,
    end: npt.ArrayLike | None = None,
    near: npt.ArrayLike | None = None,
    step: float | None = None,
) -> Trace:
    """The contact surface of the gauge in the window.

    start, end: (2,) mm, only pins between the two are used. near: (M, 2) mm, a rough
    polyline along the touched side, where the picture is ambiguous. step: mm between
    points, half the pitch when left out.

    u holds localisation, the tips' shape, play of the pins (estimated) and what bending could
    hide between pins. measured is False beside steps and over hollows the pins couldn't reach.
    Refuses with gauge-not-found, gauge-no-contrast, gauge-shadow, gauge-pins-hidden,
    outline-outside-marks.
    """
    tips = tips_told(view, None if near is None else np.asarray(near, dtype=np.float64))
    tips = _chosen(tips, start, end)
    if len(tips.s) < _FEWEST_PINS:
        raise not_found(
            view, f"only {len(tips.s)} pins were found, {_FEWEST_PINS} at least are needed"
        )
    _inside(view, tips)
    _refuse_hidden(view, tips)
    surface = contact_surface(tips, step or 0.5 * tips.pitch)
    return Trace(
        points=tips.frame.sheet(surface.points[:, 0], surface.points[:, 1]),
        u=surface.u,
        normals=tips.frame.turned(surface.normals[:, 0], surface.normals[:, 1]),
        measured=surface.measured,
        facts=_facts(tips, surface),
        tips=tips.frame.sheet(tips.s, tips.t),
        parts={"pins": surface.pins},
        sunk_u=tips.sunk_u,
    )


def _chosen(tips: Tips, start: npt.ArrayLike | None, end: npt.ArrayLike | None) -> Tips:
    """The pins between two points of the sheet."""
    ends = [_along(tips.frame, point) for point in (start, end) if point is not None]
    low = min(ends) if len(ends) == 2 or start is not None else -np.inf
    high = max(ends) if len(ends) == 2 or end is not None else np.inf
    keep, unseen = ((s >= low) & (s <= high) for s in (tips.s, tips.unseen))
    return replace(tips.only(keep), unseen=tips.unseen[unseen])


def _along(frame: Frame, point: npt.ArrayLike) -> float:
    return float(frame.own(np.asarray(point, dtype=np.float64))[0])


def _inside(view: View, tips: Tips) -> None:
    """Refuse tips that leave the clear window, where marks hide them."""
    x0, y0, x1, y1 = view.window
    points = tips.frame.sheet(tips.s, tips.t)
    sides = {
        "left": points[:, 0] < x0 + 0.5 * tips.pitch + _EDGE_MM,
        "right": points[:, 0] > x1 - 0.5 * tips.pitch - _EDGE_MM,
        "upper": points[:, 1] > y1 - _EDGE_MM,
        "lower": points[:, 1] < y0 + _EDGE_MM,
    }
    over = [name for name, mask in sides.items() if mask.any()]
    if over:
        x, y = points[sides[over[0]]][0]
        raise outside(view, " and ".join(over), x, y)


def _refuse_hidden(view: View, tips: Tips) -> None:
    """Where glare or a hand hides many pins, those that are left may not be pins at all."""
    if tips.shown < 1.0 - _HIDDEN:
        raise ScribeError(
            "gauge-pins-hidden",
            what=f"only {len(tips.index)} of {tips.all_pins} pins can be seen",
            where=view.where,
            do="let the light fall on the side that touched, from no lamp that is mirrored in the"
            " pins, keep hands and tools away, and take the photo again; or name the part to use"
            " with {ends}",
        )


def _facts(tips: Tips, surface: Surface) -> dict[str, str]:
    shape = tips.shape
    if shape.flat > shape.round:
        form = f"flat, half width {shape.flat + shape.round:.2f} mm"
    else:
        form = f"round, radius {shape.round:.2f} mm"
    missing = tips.all_pins - len(tips.index)
    facts = {
        "pins": str(len(tips.s)),
        "pitch": f"{tips.pitch:.3f} mm",
        "tips": f"{form}, U {2.0 * shape.u:.2f} mm" + ("" if shape.known else ", poorly known"),
        "turn of the gauge": f"{round(float(np.rad2deg(tips.frame.turn)), 1) + 0.0:.1f} deg",
        "steps between pins": str(surface.steps),
    }
    if missing:
        facts["pins not seen"] = str(missing)
    if surface.doubted:
        facts["pins doubted"] = f"{surface.doubted}, far from both neighbours: bridged"
    return facts
