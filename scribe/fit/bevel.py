"""The back bevel of a cut: the back stands clear, so that the face can close the joint.

Below a square land at the face the cut leans away from the building by the bevel's angle.
At the back of a board of thickness t with a land l it stands clear by (t - l) tan(angle).
"""

from __future__ import annotations

from math import radians, tan

from scribe.errors import ScribeError
from scribe.fit.blank_edge import BlankEdge
from scribe.job import Edge, EdgeJob
from scribe.piece import SQUARE_END_MM, Bevel
from scribe.quantity import format_mm


def back_bevel(
    job: EdgeJob, thickness: float | None, edge: BlankEdge | None = None
) -> Bevel | None:
    """The bevel of one edge, None when the job wants it square.

    thickness: mm of the blank. edge: along which it runs, for its ends that are seen.
    """
    if job.bevel_deg is None:
        return None
    if thickness is None:
        raise ScribeError(
            "bevel-thickness",
            what="a bevel needs the blank's thickness, to say how far its back stands clear",
            where=f"edge {job.edge}",
            do="give the blank's thickness, or leave the bevel out",
        )
    if job.land >= thickness:
        raise ScribeError(
            "bevel-thickness",
            what=f"a land of {format_mm(job.land)} mm leaves nothing to bevel on "
            f"{format_mm(thickness)} mm",
            where=f"edge {job.edge}",
            do="give a narrower land, such as 2",
        )
    clear = (thickness - job.land) * tan(radians(job.bevel_deg))
    square = (
        () if edge is None else tuple(_square(edge, end) for end in job.seen if end in edge.ends)
    )
    return Bevel(job.bevel_deg, job.land, clear, square)


def _square(edge: BlankEdge, end: Edge) -> tuple[float, float]:
    length = float(edge.station(edge.chain[-1]))
    reach = min(SQUARE_END_MM, length)
    return (0.0, reach) if end == edge.start else (length - reach, length)


def bevel_note(bevel: Bevel, job: EdgeJob, edge: str) -> str:
    """What the fitter has to set, and where the bevel must not be."""
    land, clear = format_mm(bevel.land, 1), format_mm(bevel.clear, 1)
    last = format_mm(SQUARE_END_MM, 0)
    ends = f"the {' and the '.join(job.seen)} end" if bevel.square else "an end that is seen"
    return (
        f"Back bevel on the {edge} edge: {format_mm(bevel.angle_deg, 1)} degrees below a square "
        f"land of {land} mm at the face; the back stands {clear} mm clear. The last {last} mm "
        f"before {ends} stay square, and so does an edge whose joint a seal closes."
    )
