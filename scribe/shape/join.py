"""Outlines of one edge, taken in pieces, laid end to end as one outline with one U.

Pieces are travelled with the building on the left, each beginning where the one before ends. The
longest keeps its frame and its datum; the others are laid on it one by one (`geom.laying`,
`geom.corner_laying`). Whatever is wrong with a piece where it touches moves what is laid on it, so
that U grows away from a joint; errors that turn or shift a whole piece drop out.

What doesn't match is not averaged away: an overlap whose two versions differ by more than their
joint U is refused with the place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.geom.corner_laying import by_diagonal, lay_by_corner
from scribe.geom.laying import Laid, Mark, lay_by_overlap
from scribe.geom.polyline import even_stations, length, normals, point_at, stations
from scribe.geom.region import crosses_itself
from scribe.joint import BEVEL_MM, BEVEL_U95_DEG, LEVEL_U95_DEG, Joint
from scribe.outline import Outline
from scribe.shape.seam import crossed, faded
from scribe.shape.strand import Strand, chained, strands_of

Array = npt.NDArray[np.float64]

_STEP_MM = 5.0
_CAUSES = 3  # of a joint: shift along x, along y, turn
_ALONG_U95 = 2.0  # mm: an overlap must tell the place along it at least so well
_SURE = 2.0  # times U: by so much two versions of one stretch never differ by chance
_OFTEN = 0.25  # of an overlap may differ by more than U: neighbours err together
_OF_ITSELF = ("chord", "least squares", "minimum zone")


@dataclass(frozen=True)
class Joined:
    """outline: all pieces as one. said: a sentence for every joint."""

    outline: Outline
    said: tuple[str, ...]


@dataclass(frozen=True)
class _Side:
    """One piece in its own frame, as it is laid. name: for sentences."""

    name: str
    outline: Outline
    strand: Strand


def join(pieces: Sequence[Outline], joints: Sequence[Joint], names: Sequence[str]) -> Joined:
    """One outline of two or more; joints: one fewer, each between two that follow one another.

    names: of the pieces, for sentences. Refuses with "join-apart", "join-slides",
    "join-disagrees", "join-short", "join-mark", "join-angle", "join-turn" and "join-crosses".
    """
    facing = [_dense(it) for it in pieces]
    facing = [it if it.solid == "left" else it.reversed() for it in facing]
    causes = _CAUSES * len(joints)
    sides = [
        _Side(name, outline, strand)
        for name, outline, strand in zip(
            names, facing, strands_of(facing, causes), strict=True
        )
    ]  # fmt: skip
    longest = int(np.argmax([length(it.points) for it in facing]))
    whole, said = sides[longest].strand, [""] * len(joints)
    for k in range(longest, len(joints)):
        whole, said[k] = _joined(whole, sides[k], sides[k + 1], joints[k], k)
    whole = whole.reversed()
    for k in range(longest - 1, -1, -1):
        back = _turned_round(joints[k])
        whole, said[k] = _joined(whole, _back(sides[k + 1]), _back(sides[k]), back, k, True)
    whole = whole.reversed()
    if crosses_itself(whole.points):
        raise ScribeError(
            "join-crosses",
            what="laid end to end they cross each other",
            where=", ".join(names),
            do="give the pieces in the order in which they follow one another with the building "
            "on the left (ceiling, right-hand wall, floor, left-hand wall)",
        )
    origin = "joined: " + "; ".join(f"{side.name} ({side.outline.origin})" for side in sides)
    return Joined(whole.outline("left", facing[longest].datum, origin), tuple(said))


def _dense(outline: Outline) -> Outline:
    """With a point every 5 mm at least: a drawing has them at its corners only."""
    s = stations(outline.points)
    if float(np.diff(s).max()) <= _STEP_MM + 1e-9:
        return outline
    at = even_stations(float(s[-1]), _STEP_MM, s[1:-1])
    return outline.with_(
        points=point_at(outline.points, at),
        u=np.interp(at, s, outline.u),
        measured=np.interp(at, s, outline.measured.astype(float)) > 0.99,
        budget={name: np.interp(at, s, part) for name, part in outline.budget.items()},
        shared=outline.shared_at(at),
    )


def _joined(
    whole: Strand, first: _Side, second: _Side, joint: Joint, number: int, back: bool = False
) -> tuple[Strand, str]:
    """The next piece laid on the end of what is there, and what there is to say."""
    where = f"{second.name} and {first.name}" if back else f"{first.name} and {second.name}"
    if joint.by == "crossing":
        _refuse_own_datum(first, second, where, "crossing")
        found = crossed(whole, second.strand, joint.reach)
        if found is None:
            raise _apart(whole, second.strand, joint, where)
        return found, f"{where} meet where they cross"
    if joint.by == "corner":
        laid = _by_corner(whole, first, second, joint, where, back)
        placed = _placed(whole, second.strand, laid, number)
        after = placed.part(np.arange(len(placed.points)) > 0)
        return chained([whole, after]), f"{where} meet in their corner, {_turn_words(joint)}"
    laid = _by_overlap(whole, first, second, joint, where)
    placed = _placed(whole, second.strand, laid, number)
    said = _compared(whole, placed, laid, where)
    return faded(whole, placed), said


def _placed(whole: Strand, second: Strand, laid: Laid, number: int) -> Strand:
    """The second in the frame of what is there, with what moves it (JCGM 100, 5.2.2)."""
    points = laid.first_from_second.apply(second.points)
    moves = laid.moves(points)
    there, here = whole.at(laid.on_first.station), second.at(laid.on_second.station)
    shared = {}
    for name, modes in second.shared.items():
        turned = laid.first_from_second.turn(modes)
        touched = laid.first_from_second.turn(here.shared[name])
        shift = np.einsum("pcd,kcd->kp", laid.on_first.effect, there.shared[name])
        shift = shift + np.einsum("pcd,kcd->kp", laid.on_second.effect, touched)
        shared[name] = turned + np.einsum("ndp,kp->knd", moves, shift)
    root = _root(laid.own)
    begin = _CAUSES * number
    joint = shared["joint"].copy()
    joint[begin : begin + _CAUSES] += np.einsum("ndp,pk->knd", moves, root)
    return replace(second, points=points, shared=shared | {"joint": joint})


def _root(covariance: Array) -> Array:
    """(3, 3) whose product with its transpose is the covariance."""
    values, vectors = np.linalg.eigh(covariance)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))


def _by_overlap(whole: Strand, first: _Side, second: _Side, joint: Joint, where: str) -> Laid:
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
            do="give the stations of one mark that both show (mark), or let them share a corner",
        )
    return laid


def _compared(whole: Strand, placed: Strand, laid: Laid, where: str) -> str:
    """How far both versions of the overlap differ; refuses what isn't chance."""
    t = laid.on_second.station[: len(laid.station)]
    one, two = whole.at(laid.station), placed.at(t)
    normal = _normals(whole.points, laid.station)
    variance = one.own_u**2 + two.own_u**2
    for name in one.shared:
        between = ((two.shared[name] - one.shared[name]) * normal).sum(axis=2)
        variance = variance + (between**2).sum(axis=0)
    U = 2.0 * np.sqrt(np.maximum(variance, 0.01**2))
    over = np.abs(laid.apart) / U
    worst = int(np.argmax(over))
    at = point_at(whole.points, laid.station[worst])
    size = f"{abs(laid.apart[worst]):.2f} mm at {at[0]:.0f}, {at[1]:.0f}"
    if over[worst] > _SURE or (over > 1.0).mean() > _OFTEN:
        beyond = laid.station[over > 1.0] - laid.station.min()
        raise ScribeError(
            "join-disagrees",
            what=f"they differ by {size}, where their joint U is {U[worst]:.2f} mm; beyond it "
            f"from {beyond.min():.0f} to {beyond.max():.0f} mm of what they share",
            where=where,
            do="look whether both show that stretch of the wall as it is, correct overlap or mark, "
            "or take the worse one again",
        )
    shared = float(np.ptp(laid.station))
    return (
        f"{where} overlap by {shared:.0f} mm and differ by {size} at most against their joint U "
        f"({U[worst]:.2f} mm there)"
    )


def _by_corner(
    whole: Strand, first: _Side, second: _Side, joint: Joint, where: str, back: bool
) -> Laid:
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


def _turn_words(joint: Joint) -> str:
    if joint.diagonal is not None:
        return "turned as the diagonal tells"
    if joint.angle is not None:
        return f"turned by {joint.angle:g} deg on the room's side"
    return "as both lie"


def _refuse_own_datum(first: _Side, second: _Side, where: str, by: str) -> None:
    """An outline measured from its own chord has forgotten how it lay in the room."""
    for side in (first, second):
        if side.outline.datum.association in _OF_ITSELF:
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


def _at_station(side: _Side, station: float) -> float:
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


def _back(side: _Side) -> _Side:
    return _Side(side.name, side.outline.reversed(), side.strand.reversed())


def _turned_round(joint: Joint) -> Joint:
    """The same joint seen from the second outline."""
    return replace(
        joint,
        mark=None if joint.mark is None else (joint.mark[1], joint.mark[0]),
        diagonal=None
        if joint.diagonal is None
        else (joint.diagonal[1], joint.diagonal[0], joint.diagonal[2]),
    )


def _normals(line: Array, station: Array) -> Array:
    s, square = stations(line), normals(line)
    found = np.column_stack([np.interp(station, s, square[:, k]) for k in (0, 1)])
    return np.asarray(found / np.hypot(*found.T)[:, None])
