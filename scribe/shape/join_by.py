"""How a piece is laid on the end of another: by what both show, by a corner, or where they cross.

Whatever can't be told is refused: a stretch too straight to say how far along it two pieces
belong, a corner of unknown angle, lines that cross nowhere, twice, or far from their ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.geom.corner_laying import by_diagonal, lay_by_corner
from scribe.geom.laying import Laid, Mark, lay_by_overlap
from scribe.geom.polyline import length, point_at, stations
from scribe.joint import BEVEL_MM, BEVEL_U95_DEG, LEVEL_U95_DEG, Joint
from scribe.outline import Outline
from scribe.shape.seam import crossings, cut_at
from scribe.shape.strand import Strand

Array = npt.NDArray[np.float64]

_ALONG_U95 = 2.0  # mm: an overlap must tell the place along it at least so well
_ONE_CORNER_MM = 5.0  # crossings so near to each other are one, of lines with noise
_BEYOND_MM = 5.0  # a leg of a diagonal may end so far beyond the piece
_MOST = 0.5  # of a piece may be cut off at a crossing: more, and the order is another


@dataclass(frozen=True)
class Side:
    """One piece in its own frame, as it is laid. name: for sentences."""

    name: str
    outline: Outline
    strand: Strand

    def reversed(self) -> Side:
        """Travelled the other way."""
        return Side(self.name, self.outline.reversed(), self.strand.reversed())


def laid_by_overlap(whole: Strand, first: Side, second: Side, joint: Joint, where: str) -> Laid:
    """The second on the end of what is there, by what it shows of the first."""
    mark = None
    if joint.mark is not None:
        s = length(whole.points) - length(first.strand.points)
        mark = Mark(
            s + _at_station(first, joint.mark[0]), _at_station(second, joint.mark[1]),
            joint.u95 / 2.0,
        )  # fmt: skip
    laid = lay_by_overlap(
        whole.points,
        second.strand.points,
        (whole.own_u, second.strand.own_u),
        min(joint.overlap, length(second.strand.points), length(whole.points)),
        mark,
    )
    if laid is None:
        raise ScribeError(
            "join-short",
            what="they share too little: fewer than three points of the second lie on the first",
            where=where,
            do="take both further into what they share, 100 mm and more, and correct overlap",
        )
    if 2.0 * laid.along_u > max(_ALONG_U95, 1.5 * joint.u95):
        raise ScribeError(
            "join-slides",
            what="what they share is too straight to tell how far along it they belong: "
            f"U {2.0 * laid.along_u:.1f} mm",
            where=where,
            do="give the stations of one mark that both show (mark), let them share a corner, or "
            "look whether overlap and order are right",
        )
    return laid


def laid_by_corner(
    whole: Strand, first: Side, second: Side, joint: Joint, where: str, back: bool
) -> Laid:
    """The second's beginning on the first's end. back: both are travelled the other way."""
    reach, turn, u_turn = (BEVEL_MM, BEVEL_MM), None, np.radians(LEVEL_U95_DEG) / 2.0
    if joint.diagonal is not None:
        a, b, between = joint.diagonal
        angle, u_turn = by_diagonal(a, b, between, joint.u95 / 2.0)
        if not np.isfinite(angle):
            raise ScribeError(
                "join-angle",
                what=f"no triangle has the sides {a:g}, {b:g} and {between:g} mm",
                where=where,
                do="measure again: from the corner along each, and straight between these points",
            )
        _refuse_short(whole.points[::-1], a, first.name, where)
        _refuse_short(second.strand.points, b, second.name, where)
        reach, turn = (a, b), angle
    elif joint.angle is not None:
        turn, u_turn = np.radians(joint.angle), np.radians(BEVEL_U95_DEG) / 2.0
    else:
        _refuse_own_datum(first, second, where, "corner")
    if joint.angle_u95 is not None:
        u_turn = np.radians(joint.angle_u95) / 2.0
    if turn is not None and back:
        turn = 2.0 * np.pi - turn  # the other way round the room lies on the left
    return lay_by_corner(
        whole.points,
        second.strand.points,
        (float(whole.own_u[-1]), float(second.strand.own_u[0])),
        joint.u95 / 2.0,
        turn,
        float(u_turn),
        reach,
    )


def _refuse_short(points: Array, leg: float, name: str, where: str) -> None:
    """A diagonal that was measured beyond the piece doesn't tell how the piece lies."""
    away = np.hypot(*(points - points[0]).T)
    if leg > float(away.max()) + _BEYOND_MM:
        raise ScribeError(
            "join-angle",
            what=f"the diagonal was measured {leg:g} mm from the corner, and {name} is only "
            f"{away.max():.0f} mm long",
            where=where,
            do="measure it to a place on the outline, nearer to the corner",
        )


def turn_words(joint: Joint) -> str:
    """What told the turn in a corner."""
    if joint.diagonal is not None:
        return "turned as the diagonal tells"
    if joint.angle is not None:
        return f"turned by {joint.angle:g} deg on the room's side"
    return "as both lie"


def cut_at_crossing(whole: Strand, first: Side, second: Side, joint: Joint, where: str) -> Strand:
    """Both cut where they cross, and put together there."""
    _refuse_own_datum(first, second, where, "crossing")
    one, two = whole, second.strand
    if joint.reach > 0.0:
        one, two = one.carried_on(joint.reach), two.reversed().carried_on(joint.reach).reversed()
    found = crossings(one.points, two.points)
    if not found:
        raise _apart(whole, second.strand, joint, where)
    best = found[0]
    far = max(found, key=lambda each: abs(each.at_1 - best.at_1))
    if abs(far.at_1 - best.at_1) > _ONE_CORNER_MM:
        places = (point_at(one.points, each.at_1) for each in (best, far))
        raise ScribeError(
            "join-crosses-often",
            what="they cross more than once, at "
            + " and at ".join(f"{x:.0f}, {y:.0f} mm" for x, y in places),
            where=where,
            do="cut one of them off beyond the corner; if both show the same stretch of wall, join "
            "them by their overlap",
        )
    lost = {
        first.name: (length(whole.points) - best.at_1) / length(first.strand.points),
        second.name: (best.at_2 - joint.reach) / length(second.strand.points),
    }
    for name, part in lost.items():
        if part > _MOST:
            raise ScribeError(
                "join-order",
                what=f"where they cross, {100.0 * part:.0f} % of {name} would be cut off",
                where=where,
                do="give them in the order in which they follow one another with the building on "
                "the left (ceiling, right-hand wall, floor, left-hand wall)",
            )
    return cut_at(one, two, best)


def _refuse_own_datum(first: Side, second: Side, where: str, by: str) -> None:
    """An outline measured from its own chord has forgotten how it lay in the room."""
    for side in (first, second):
        if side.outline.datum.of_itself:
            raise ScribeError(
                "join-turn",
                what=f"nobody says how {side.name} lies beside the other: its datum is its own "
                f"{side.outline.datum.association}",
                where=where,
                do="give angle or diagonal at the corner"
                if by == "corner"
                else 'write datum = "sheet axis" for outlines taken on one sheet, or join them '
                "by a corner",
            )


def _at_station(side: Side, station: float) -> float:
    """mm along a piece to a station of its datum."""
    datum = side.outline.datum
    along = (side.strand.points - datum.origin) @ datum.direction
    s = stations(side.strand.points)
    for k, (one, other) in enumerate(pairwise(along)):
        if min(one, other) <= station <= max(one, other):
            return float(s[k] + (station - one) / ((other - one) or 1.0) * (s[k + 1] - s[k]))
    raise ScribeError(
        "join-mark",
        what=f"the mark's station {station:g} mm isn't on it: it runs from {along.min():.0f} to "
        f"{along.max():.0f} mm",
        where=side.name,
        do="give the station of the mark on the first outline, then on the second",
    )


def _apart(whole: Strand, second: Strand, joint: Joint, where: str) -> ScribeError:
    gap = float(np.hypot(*(whole.points[-1] - second.points[0])))
    return ScribeError(
        "join-apart",
        what=f"they don't cross: the end of the one is {gap:.1f} mm from the beginning of the "
        "other",
        where=where,
        do=f"measure on into the corner, or let both go on straight further than {joint.reach:g} "
        "mm (reach); look too whether they were taken from the same lines, and in this order",
    )
