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

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.geom.laying import Laid
from scribe.geom.polyline import even_stations, length, point_at, stations
from scribe.geom.region import crosses_itself
from scribe.joint import Joint
from scribe.outline import Outline
from scribe.shape.join_by import Side, cut_at_crossing, laid_by_corner, laid_by_overlap, turn_words
from scribe.shape.join_compare import compared
from scribe.shape.seam import faded
from scribe.shape.strand import Strand, chained, strands_of

Array = npt.NDArray[np.float64]

_STEP_MM = 5.0
_CAUSES = 3  # of a joint: shift along x, along y, turn


@dataclass(frozen=True)
class Joined:
    """outline: all pieces as one. said: a sentence for every joint."""

    outline: Outline
    said: tuple[str, ...]


def join(pieces: Sequence[Outline], joints: Sequence[Joint], names: Sequence[str]) -> Joined:
    """One outline of two or more; joints: one fewer, each between two that follow one another.

    names: of the pieces, for sentences. What doesn't belong together is refused.
    """
    sides = _sides(pieces, names, _CAUSES * len(joints))
    longest = int(np.argmax([length(side.strand.points) for side in sides]))
    whole, said = sides[longest].strand, [""] * len(joints)
    for k in range(longest, len(joints)):
        whole, said[k] = _joined(whole, sides[k], sides[k + 1], joints[k], k)
    whole = whole.reversed()
    for k in range(longest - 1, -1, -1):
        back = _turned_round(joints[k])
        whole, said[k] = _joined(whole, sides[k + 1].reversed(), sides[k].reversed(), back, k, True)
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
    return Joined(whole.outline("left", sides[longest].outline.datum, origin), tuple(said))


def _sides(pieces: Sequence[Outline], names: Sequence[str], causes: int) -> list[Side]:
    """All travelled with the building on the left; causes: of the joints' own errors."""
    for name, piece in zip(names, pieces, strict=True):
        if piece.closed:
            raise ScribeError(
                "join-closed",
                what="it is closed, and has no end at which to join it",
                where=name,
                do="leave it out of the join: a piece can follow it by itself",
            )
    facing = [_dense(it if it.solid == "left" else it.reversed()) for it in pieces]
    return [
        Side(name, outline, strand)
        for name, outline, strand in zip(names, facing, strands_of(facing, causes), strict=True)
    ]


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
    whole: Strand, first: Side, second: Side, joint: Joint, number: int, back: bool = False
) -> tuple[Strand, str]:
    """The next piece laid on the end of what is there, and what there is to say."""
    where = f"{second.name} and {first.name}" if back else f"{first.name} and {second.name}"
    if joint.by == "crossing":
        return cut_at_crossing(whole, first, second, joint, where), f"{where} meet where they cross"
    if joint.by == "corner":
        laid = laid_by_corner(whole, first, second, joint, where, back)
        placed = _placed(whole, second.strand, laid, number)
        after = placed.part(np.arange(len(placed.points)) > 0)
        return chained([whole, after]), f"{where} meet in their corner, {turn_words(joint)}"
    laid = laid_by_overlap(whole, first, second, joint, where)
    placed = _placed(whole, second.strand, laid, number)
    said = compared(whole, placed, laid, where)
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


def _turned_round(joint: Joint) -> Joint:
    """The same joint seen from the second outline."""
    return replace(
        joint,
        mark=None if joint.mark is None else (joint.mark[1], joint.mark[0]),
        diagonal=None
        if joint.diagonal is None
        else (joint.diagonal[1], joint.diagonal[0], joint.diagonal[2]),
    )
