"""Turning an outline against the blank: for least removal, or parallel to a neighbour.

Left alone, the visible edge is kept parallel to the outline's datum: plumb, level, or along
the chord. Where it may turn, another line is made the datum; everything after that places
the outline as it always does, so what is said of a placed room holds for a turned one too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from scribe.datum import Datum
from scribe.fit.blank_edge import BlankEdge
from scribe.fit.least import Laid, lay, lay_straight
from scribe.fit.place import PlacedRoom, trial
from scribe.geom.line_fit import minimum_zone_line
from scribe.job import EdgeJob
from scribe.outline import Outline
from scribe.quantity import format_mm, format_u

Array = npt.NDArray[np.float64]

_SETTLED = 1e-9  # rad: a micrometre over a kilometre
_ROUNDS = 20


def turned(
    job: EdgeJob, edge: BlankEdge, outline: Outline, outlines: Mapping[str, Outline], extent: float
) -> tuple[Outline, str | None]:
    """The outline with the datum that the job wants, and a sentence about it.

    outline: travelled along its datum. outlines: by name, for a neighbour seen in the same
    photo or run. extent: mm, the blank's diagonal.
    """
    if job.parallel is not None:
        return _parallel(job, outline, outlines[job.parallel])
    if job.lean is not None or job.distance_u:
        return _leaning(job, outline)
    if job.least is None:
        return outline, None
    room = trial(job, edge, outline, extent)
    level = lay_straight(_seen(room), _span(edge))
    most = _may_come_off(job, edge)
    turn, found = 0.0, lay(_seen(room), _span(edge), job.least, most)
    for _ in range(_ROUNDS):
        if abs(found.turn) < _SETTLED:
            break
        turn += found.turn
        outline = outline.with_(datum=_turned(outline, found.turn, "least removal"))
        found = lay(_seen(trial(job, edge, outline, extent)), _span(edge), job.least, most)
    return outline, _sentence(job, edge, level, found, turn)


def _seen(room: PlacedRoom) -> Array:
    """(N, 2) the border of what can't be built on, as stations and mm out of the blank's edge."""
    border = np.vstack([np.vstack([area.outer, area.outer[:1]]) for area in room.grown])
    return np.column_stack([room.edge.station(border), room.edge.outwards(border)])


def _span(edge: BlankEdge) -> tuple[float, float]:
    return 0.0, float(edge.station(edge.chain[-1]))


def _may_come_off(job: EdgeJob, edge: BlankEdge) -> float:
    """mm that the minimum width leaves free, where the blank is at its narrowest."""
    if job.minimum_width == 0.0:
        return float(np.inf)
    width = float((edge.outwards(edge.chain) - edge.outwards(edge.visible_point)).min())
    past = max(width - job.maximum_width, 0.0) if job.maximum_width is not None else 0.0
    return max(width - job.minimum_width - past, 0.0)


def _turned(outline: Outline, turn: float, association: str) -> Datum:
    """The datum turned by so many rad towards the building."""
    x, y = outline.datum.direction
    sine = np.sin(turn) * (1.0 if outline.solid == "left" else -1.0)
    direction = np.array([np.cos(turn) * x - sine * y, np.cos(turn) * y + sine * x])
    return replace(outline.datum, direction=direction, association=association)


def _leaning(job: EdgeJob, outline: Outline) -> tuple[Outline, str | None]:
    """The datum as a survey has it: leaning from the visible edge, and as uncertain as that is.

    What the survey leaves open moves all points together: out, and turned about station 0.
    """
    lean = job.lean or 0.0
    datum = _turned(outline, -float(np.arctan(lean / 1000.0)), "survey")
    out = datum.towards * (1.0 if outline.solid == "left" else -1.0)
    station = (outline.points - datum.origin) @ datum.direction
    across = np.stack([np.full(len(outline), job.distance_u), job.lean_u * station / 1000.0])
    budget = dict(outline.budget) or {"stated": outline.u}
    budget["survey"] = np.hypot(*across)
    turned = outline.with_(
        datum=datum,
        u=np.hypot(outline.u, budget["survey"]),
        budget=budget,
        shared={**outline.shared, "survey": across[:, :, None] * out},
    )
    if job.lean is None:
        return turned, None
    way = "away from" if lean >= 0.0 else "towards"
    said = format_u(abs(lean), 2.0 * job.lean_u, "mm")
    return turned, (
        f"As the survey found it, outline {job.outline} runs {way} the visible edge by {said} on "
        "a metre."
    )


def _parallel(job: EdgeJob, outline: Outline, neighbour: Outline) -> tuple[Outline, str]:
    """The neighbour's minimum-zone line is the datum: the reveal beside it varies least."""
    line = minimum_zone_line(neighbour.points)
    along = line.direction if line.direction @ outline.datum.direction > 0 else -line.direction
    spread = format_mm(float(np.ptp(line.deviations(neighbour.points))), 1)
    datum = replace(outline.datum, direction=along, association="minimum zone")
    return outline.with_(datum=datum), (
        f"The visible edge is parallel to outline {job.parallel}: the reveal beside it varies by "
        f"{spread} mm, which is how far that is from straight."
    )


def _sentence(job: EdgeJob, edge: BlankEdge, level: Laid, found: Laid, turn: float) -> str:
    over = format_mm(float(np.tan(abs(turn))) * _span(edge)[1], 1)
    which = "widens" if turn < 0 else "narrows"
    stations = ", ".join(format_mm(float(station), 0) for station in found.deciding)
    held = f"Stations {stations} decide." if stations else "It touches all along."
    most, mean = format_mm(found.largest, 1), format_mm(found.mean, 1)
    return (
        f"Turned for the least {job.least} removal: the piece {which} by {over} mm towards its "
        f"far end. At most {most} mm comes off and {mean} mm on average, against "
        f"{format_mm(level.largest, 1)} and {format_mm(level.mean, 1)} mm parallel to the datum. "
        f"{held}"
    )
