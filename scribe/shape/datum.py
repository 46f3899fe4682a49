"""Express an outline in the frame of its datum: x along the datum, y towards the building.

The outline is turned and shifted, and travelled the other way where the building would
otherwise lie on its right; it is never mirrored, for a mirrored outline makes a wrong
template. So stations always grow to the right with the building ahead, and the named end is the
one on the left hand.

A datum taken from the outline itself goes along with the errors that its points share: a page
that is too large lengthens the outline and turns nothing, a camera placed wrongly turns the
outline and its datum alike. What is left of each common error in the datum frame is found by
finding the datum anew on the displaced points. What is local to a point stays as it is. (What
the datum itself is worth as a reference for other edges is not part of u.)
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.datum import Datum
from scribe.errors import ScribeError
from scribe.geom.frames import outer_from_axis
from scribe.geom.line_fit import convex_hull, least_squares_line, minimum_zone_line
from scribe.outline import Outline, across

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

ASSOCIATIONS = ("sheet axis", "chord", "two points", "least squares", "minimum zone")
_SMALL = 1e-3  # of a standard uncertainty: a step small enough to be linear
_LEAST_COSINE = 0.17  # a datum more than 80 deg off the outline's run can't tell its ends apart


def to_datum(
    outline: Outline,
    association: str,
    *,
    points: npt.ArrayLike | None = None,
    end: str = "left",
) -> Outline:
    """The outline in its datum frame: building at +y, x growing from the named end.

    association: "sheet axis" (the x axis of the frame it comes in, whose origin is kept),
        "chord" (first to last point), "two points" (`points` (2, 2) mm, in the frame it
        comes in), "least squares" or "minimum zone" (ISO 12780-1; of the measured points).
    end: what the fitter calls the end on the left hand, facing the building ("left",
        "floor"). For all but "sheet axis" and "two points" the outline starts at x = 0.

    Refuses with "datum-unknown", "datum-end" (end="right" would need a mirror) and
    "datum-across" (the datum runs across the outline).
    """
    if end == "right":
        raise ScribeError(
            "datum-end",
            what="stations grow to the right with the building ahead, so they cannot start there",
            where=f"datum ({association}), end 'right'",
            do="name the left end, or give the name of what is at the left end",
        )
    travelled = outline if outline.solid == "left" else outline.reversed()
    chord = travelled.points[-1] - travelled.points[0]
    origin, direction = _axis(travelled.points, travelled.measured, association, points)
    run = float(direction @ chord) / max(float(np.hypot(*chord)), 1e-12)
    if abs(run) < _LEAST_COSINE:
        raise ScribeError(
            "datum-across",
            what="the datum runs across the outline, so its two ends cannot be told apart",
            where=f"datum ({association}) of {outline.origin or 'outline'}",
            do="choose a datum that runs along the outline, such as the chord",
        )
    if association == "two points" and run < 0.0:
        origin = np.asarray(points, np.float64)[1]
    in_datum = outer_from_axis(origin, np.sign(run) * direction).inverse()
    placed = in_datum.apply(travelled.points)
    datum = Datum(np.zeros(2), np.array([1.0, 0.0]), association, end)
    if datum.of_itself:
        shared = _as_seen(travelled, association, float(np.sign(run)))
    else:
        shared = {name: in_datum.turn(modes) for name, modes in travelled.shared.items()}
    own = {name: across(modes, placed) for name, modes in shared.items()}
    budget = {**travelled.budget, **own}
    return travelled.with_(
        points=placed,
        u=np.sqrt(sum(part**2 for part in budget.values())) if shared else travelled.u,
        budget=budget,
        shared=shared,
        datum=datum,
        origin=travelled.noted(f"datum: {association} from {end}"),
    )


def _as_seen(outline: Outline, association: str, sense: float) -> dict[str, Array]:
    """The common errors (K, N, 2) in the frame of a datum that the displaced points set anew."""
    measured = outline.measured
    if association == "minimum zone":
        # The zone rests on corners of the hull, and a small step makes no others.
        hull = convex_hull(outline.points[measured])
        measured = measured & (outline.points[:, None] == hull).all(axis=2).any(axis=1)

    def seen(points: Array) -> Array:
        origin, direction = _axis(points, measured, association, None)
        return outer_from_axis(origin, sense * direction).inverse().apply(points)

    def change(mode: Array) -> Array:
        ahead, behind = (seen(outline.points + step * mode) for step in (_SMALL, -_SMALL))
        return (ahead - behind) / (2.0 * _SMALL)

    return {
        name: np.reshape([change(mode) for mode in modes], modes.shape)
        for name, modes in outline.shared.items()
    }


def _axis(
    points: Array, measured: Mask, association: str, given: npt.ArrayLike | None
) -> tuple[Array, Array]:
    """Origin (2,) and unit direction (2,) of the datum, in the frame of the points (N, 2).

    given: the two points of "two points", mm.
    """
    if association == "sheet axis":
        return np.zeros(2), np.array([1.0, 0.0])
    if association == "chord":
        return points[0], _direction(points[0], points[-1], association)
    if association == "two points":
        ends = np.asarray(() if given is None else given, np.float64)
        if ends.shape != (2, 2) or not np.isfinite(ends).all():
            raise _unknown(association, "it needs two points, each with x and y in mm")
        return ends[0], _direction(ends[0], ends[1], association)
    if association not in ASSOCIATIONS:
        raise _unknown(association, "there is no such datum")
    if measured.sum() < 2:
        raise _unknown(association, "fewer than two points of the outline were measured")
    associated = least_squares_line if association == "least squares" else minimum_zone_line
    line = associated(points[measured])
    return line.point + line.along(points[:1])[0] * line.direction, line.direction


def _direction(start: Array, stop: Array, association: str) -> Array:
    return Datum(start, stop - start, association).direction


def _unknown(association: str, what: str) -> ScribeError:
    return ScribeError(
        "datum-unknown",
        what=what,
        where=f"datum {association!r}",
        do=f"choose one of {', '.join(ASSOCIATIONS)}",
    )
