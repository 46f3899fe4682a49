"""The width that is left of a piece: too little, and too much.

Widths are measured square to the edge that is cut, where no cut beside it takes part of them.
A blank that touches the building leaves its whole width somewhere; where at most so much may
be left it is moved on by the rest, and as much more comes off everywhere.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.fit.cut import CutLine
from scribe.fit.place import EXACT_MM, PlacedRoom
from scribe.fit.removal import width_left
from scribe.geom.region import Area
from scribe.job import EdgeJob, Touch
from scribe.quantity import format_mm, round_down_mm, round_up_mm

Array = npt.NDArray[np.float64]
Between = tuple[float, float]


def widths(room: PlacedRoom, keep: Area, cut: CutLine, whole: Between) -> tuple[Array, Array]:
    """Stations along a cut and the width left there, both (N,) mm, in order of stations."""
    at = np.sort(np.clip(room.edge.station(cut.line), *whole))
    inside = np.clip(at, at[0] + EXACT_MM, at[-1] - EXACT_MM)
    return at, width_left(room.edge, keep, inside)


def moved_on(job: EdgeJob, left: Array) -> EdgeJob | None:
    """The job of an edge that touches, moved on so far that at most its maximum width is left.

    left: (N,) mm, the widths left as it is. None where nothing has to move, or nothing can.
    """
    if job.maximum_width is None or not isinstance(job.placing, Touch):
        return None
    over = float(left.max()) - job.maximum_width
    return replace(job, placing=Touch(job.placing.past + over)) if over > EXACT_MM else None


def check_width(room: PlacedRoom, at: Array, left: Array) -> str | None:
    """Refuse a piece that gets too narrow or too wide; a note where it was moved on.

    at, left: (N,) stations and widths, as from `widths`.
    """
    least, most = room.job.minimum_width, room.job.maximum_width
    narrowest, widest = int(np.argmin(left)), int(np.argmax(left))
    if left[narrowest] < least - EXACT_MM:
        short = format_mm(round_up_mm(least - float(left[narrowest]), 0.1))
        raise ScribeError(
            "piece-too-narrow",
            what=f"only {format_mm(round_down_mm(float(left[narrowest]), 0.1))} mm is left at "
            f"station {format_mm(float(at[narrowest]), 0)} from the {room.edge.start} end, "
            f"and at least {format_mm(least)} mm is wanted",
            where=f"edge {room.edge.edge}",
            do=f"take a blank that is {short} mm wider, or change {{least width}}",
        )
    if most is not None and left[widest] > most + EXACT_MM:
        over = format_mm(round_up_mm(float(left[widest]) - most, 0.1))
        raise ScribeError(
            "piece-too-wide",
            what=f"{format_mm(float(left[widest]), 1)} mm is left at station "
            f"{format_mm(float(at[widest]), 0)} from the {room.edge.start} end, and at most "
            f"{format_mm(most)} mm is wanted",
            where=f"edge {room.edge.edge}",
            do=f"take a blank that is {over} mm narrower, or change {{most width}}",
        )
    if isinstance(room.job.placing, Touch) and room.job.placing.past:
        past = format_mm(room.job.placing.past, 1)
        return (
            f"So that at most {format_mm(most or 0.0)} mm is left, {past} mm more comes off all "
            f"along the {room.edge.edge} edge than touching outline {room.job.outline} would take."
        )
    return None
