"""From what a tracer found to an Outline with its uncertainty budget.

Each entry is the standard uncertainty across the outline, mm (JCGM 100, 5.1.2):

- "localisation": where the line or edge lies in the photo, as fitted.
- "camera": lens and pose, from the covariance of the solution.
- "paper": what neighbouring marks miss together: a sheet that is not quite flat.
- "tone": how far this photo moves the edges of the target's own squares.
- "print scale": the page is larger or smaller than it says.
- "height": the plane of the outline is higher or lower than stated.

Scale and height are counted about the middle of the outline: what they do to its shape.
A common shift does not matter, because a piece is placed by datum, not by the sheet.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.photo_view import PhotoView
from scribe.capture.view import Trace
from scribe.outline import Outline

Array = npt.NDArray[np.float64]

# A print nobody measured: office printers are off by some tenths of a percent, each axis by
# itself (common experience, no source). Half width 0.5 %, rectangular.
UNCHECKED_SCALE_U = 0.005 / 3**0.5
# A bar of 150 mm read against a steel rule to a quarter of a millimetre, rectangular.
CHECKED_SCALE_U = 0.25 / 3**0.5 / 150.0


@dataclass(frozen=True)
class Doubts:
    """What the fit can't know.

    scale: relative standard uncertainty of the print along x and y. height: mm, of the
    plane. tone: mm, of an edge between dark and light; 0 for a line, whose two edges move
    against each other.
    """

    scale: tuple[float, float]
    height: float
    tone: float


def outline_of(trace: Trace, view: PhotoView, doubts: Doubts, origin: str) -> Outline:
    """The outline in the sheet frame; the building to the left of travel, as tracers find it."""
    camera, height = view.oriented.camera, view.height
    from_middle = trace.points - trace.points.mean(axis=0)
    stretch = from_middle * np.array(doubts.scale)
    lift = camera.height_sensitivity(trace.points, height)
    lift -= lift.mean(axis=0)
    budget = {
        "localisation": trace.u,
        "camera": camera.plane_u(trace.points, trace.normals, height),
        "paper": np.full(len(trace.points), view.oriented.smooth_mm),
        "tone": np.full(len(trace.points), doubts.tone),
        "print scale": np.hypot(*(stretch * trace.normals).T),
        "height": np.abs((lift * trace.normals).sum(axis=1)) * doubts.height,
    }
    return Outline(
        points=trace.points,
        u=np.sqrt(sum(part**2 for part in budget.values())),
        solid="left",
        origin=origin,
        measured=trace.measured,
        budget=budget,
    )
