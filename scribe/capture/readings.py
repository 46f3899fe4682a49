"""Readings taken by hand -> Outline: a straight edge, a level walked along, tapes, feelers.

Points are in the frame the readings were taken in: x along the straight edge, the line of
levels or the base between two fixed points, y towards the building when it lies above.
Between the readings runs a curve that doesn't overshoot (monotone cubic Hermite, Fritsch and
Carlson 1980, in its shape-preserving form). What the surface does between them nobody saw:
its u there is what a curve of the bend seen at the readings may depart from its chord.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.readings_table import ReadingsTable
from scribe.geom.polyline import even_stations, stations
from scribe.job import Readings
from scribe.outline import Building, Outline, axis_facing, side_facing

Array = npt.NDArray[np.float64]

# U (k = 2) of one reading where the fitter states none (common practice, no source): mm with a
# rule, feeler leaves or a tape; of a level's slope, mm on a metre.
USUAL_U95 = {"offsets": 0.5, "feelers": 0.1, "tapes": 1.0, "level": 0.5}
_STEP_MM = 5.0
_LEVEL_OWN_U = 0.25e-3  # of a length: half a millimetre on a metre (U), of the level itself
_CLOSING_U = 0.25  # mm, of the height that a walk must end at
# Where few readings show no bend a wall still has some: mm for each mm between two readings, in
# their middle (common practice, no source).
_UNSEEN = 0.7e-3
_FAR = 3.0  # joint standard uncertainties by which redundant tapes may disagree


@dataclass(frozen=True)
class Instrument:
    """u95: U of a reading, None for the usual. base: mm between the fixed points A and B.

    third: (x, y) mm of a third point C. closing: mm that the far end of a level's walk lies
    above its beginning, when that is known from elsewhere.
    """

    u95: float | None = None
    base: float | None = None
    third: tuple[float, float] | None = None
    closing: float | None = None


def outline_from(
    table: ReadingsTable, kind: Readings, building: Building, instrument: Instrument
) -> Outline:
    """The outline that a table of readings describes."""
    u = (USUAL_U95[kind] if instrument.u95 is None else instrument.u95) / 2.0
    if kind in ("offsets", "feelers"):
        points, each, shared = _offsets(table, u)
    elif kind == "level":
        points, each, shared = _level(table, u, instrument.closing)
    else:
        points, each, shared = _tapes(table, u, instrument)
    outline = _through(points, each, shared, f"{kind} from {table.path.name}")
    if kind == "level":  # its heights are heights
        side = side_facing(outline.points, building, str(table.path))
        return outline.with_(solid=side, datum=axis_facing(building))
    return _facing(outline, building)


def _facing(outline: Outline, building: Building) -> Outline:
    """As it lies in the room: what was measured towards the building, above or wherever it is.

    A wall is read upwards from a plumb line: stations are heights, offsets go to its side.
    """
    room = {
        "above": np.eye(2),
        "below": np.diag([1.0, -1.0]),
        "right": np.array([[0.0, 1.0], [1.0, 0.0]]),
        "left": np.array([[0.0, -1.0], [1.0, 0.0]]),
    }[building]
    points = outline.points @ room.T
    return outline.with_(
        points=points,
        shared={name: modes @ room.T for name, modes in outline.shared.items()},
        solid=side_facing(points, building, outline.origin),
        datum=axis_facing(building),
    )


def _offsets(table: ReadingsTable, u: float) -> tuple[Array, Array, Array]:
    table.need("station", "offset")
    at, off = table.lengths("station"), table.lengths("offset")
    order = np.argsort(at, kind="stable")
    twice = np.flatnonzero(np.diff(at[order]) == 0.0)
    if len(twice):
        row = int(order[twice[0] + 1])
        raise table.refuse(
            "readings-order", f"station {at[row]:g} mm is there twice", "keep one of them", row
        )
    each = table.lengths("u95") / 2.0 if "u95" in table else np.full(len(at), u)
    return np.column_stack([at, off])[order], each[order], np.zeros((0, len(at), 2))


def _level(table: ReadingsTable, u: float, closing: float | None) -> tuple[Array, Array, Array]:
    """Steps summed up: every step's error goes on to all that follow it.

    A known height of the far end is a condition on the sum: the misclosure is spread over the
    steps by their lengths, and the errors are those of a walk that ends where it must.
    """
    table.need("step", "slope")
    step, slope = table.lengths("step"), table.slopes("slope")
    if (step <= 0.0).any():
        row = int(np.argmax(step <= 0.0))
        raise table.refuse("readings-order", "a step must have a length", "correct it", row)
    along = np.concatenate([[0.0], np.cumsum(step)])
    height = np.concatenate([[0.0], np.cumsum(step * slope)])
    # Column k: what an error of step k (u of its slope, mm/m) does to every height.
    causes = np.tril(np.ones((len(step) + 1, len(step))), -1) * (step * u * 1e-3)
    # The level's own error tilts the whole walk; one turned end for end at every step has less.
    causes = np.column_stack([causes, along * _LEVEL_OWN_U])
    if closing is not None:
        miss = closing - height[-1]
        allowed = 2.0 * _FAR * float(np.sqrt((causes[-1] ** 2).sum()))
        if abs(miss) > max(allowed, 1.0):
            raise table.refuse(
                "readings-closing",
                f"the walk ends {abs(miss):.1f} mm from where it must, more than {allowed:.1f} mm",
                "look for a step that was read with the wrong sign, or read twice",
            )
        share = along / along[-1]
        height = height + miss * share
        causes = causes - share[:, None] * causes[-1]
        causes = np.column_stack([causes, share * _CLOSING_U])
    shared = np.zeros((causes.shape[1], len(along), 2))
    shared[:, :, 1] = causes.T
    return np.column_stack([along, height]), np.zeros(len(along)), shared


def _tapes(table: ReadingsTable, u: float, instrument: Instrument) -> tuple[Array, Array, Array]:
    """Points by their distances from A (0, 0) and B (base, 0), and C where it was read too."""
    table.need("a", "b")
    if instrument.base is None or instrument.base <= 0.0:
        raise table.refuse(
            "readings-base", "nobody says how far A and B are apart", "give the base, in mm"
        )
    fixed = [np.zeros(2), np.array([instrument.base, 0.0])]
    names = ["a", "b"]
    if "c" in table:
        if instrument.third is None:
            raise table.refuse("readings-base", "nobody says where C is", "give its place")
        fixed.append(np.array(instrument.third, np.float64))
        names.append("c")
    read = np.column_stack([table.lengths(name) for name in names])
    places = np.array(fixed)
    points, each = [], []
    for row, distances in enumerate(read):
        point, spread = _resected(table, row, places, distances, u)
        points.append(point)
        each.append(spread)
    return np.array(points), np.array(each), np.zeros((0, len(points), 2))


def _resected(
    table: ReadingsTable, row: int, fixed: Array, read: Array, u: float
) -> tuple[Array, float]:
    """One point by least squares, and its largest standard uncertainty."""
    base = float(fixed[1, 0])
    x = (read[0] ** 2 - read[1] ** 2 + base**2) / (2.0 * base)
    high = read[0] ** 2 - x**2
    if high <= 0.0:
        raise table.refuse(
            "readings-tapes", "these two tapes don't meet", "read them again, or the base", row
        )
    point = np.array([x, np.sqrt(high)])
    for _ in range(20):
        away = point - fixed
        reach = np.hypot(*away.T)
        by = away / reach[:, None]
        step = np.linalg.lstsq(by, read - reach, rcond=None)[0]
        point = point + step
        if np.abs(step).max() < 1e-9:
            break
    left = read - np.hypot(*(point - fixed).T)
    if len(read) > 2 and np.abs(left).max() > _FAR * u:
        worst = "ABC"[int(np.abs(left).argmax())]
        raise table.refuse(
            "readings-tapes",
            f"the three tapes disagree by {np.abs(left).max():.1f} mm, most of all that from "
            f"{worst}",
            "read them again",
            row,
        )
    covariance = u**2 * np.linalg.inv(by.T @ by)
    return point, float(np.sqrt(np.linalg.eigvalsh(covariance)[-1]))


def _through(points: Array, each: Array, shared: Array, origin: str) -> Outline:
    """The curve through the readings, every 5 mm, with the u of what lies between them."""
    from scipy.interpolate import PchipInterpolator

    # Where x grows it is what the readings were taken along; points by tapes follow their chords.
    s = points[:, 0] if (np.diff(points[:, 0]) > 0.0).all() else stations(points)
    at = s[0] + even_stations(float(s[-1] - s[0]), _STEP_MM, s[1:-1] - s[0])
    line = PchipInterpolator(s, points)(at)
    reading = np.interp(at, s, each)
    between = _between(s, points, at)
    modes = np.stack(
        [[np.interp(at, s, mode[:, k]) for k in (0, 1)] for mode in shared]
    ).transpose(0, 2, 1) if len(shared) else np.zeros((0, len(at), 2))  # fmt: skip
    walk = np.sqrt((modes[:, :, 1] ** 2).sum(axis=0))
    budget = {"reading": reading, "between": between}
    if len(modes):
        budget["walk"] = walk
    return Outline(
        line,
        np.sqrt(sum(part**2 for part in budget.values())),
        "left",
        origin=origin,
        budget=budget,
        shared={"walk": modes} if len(modes) else {},
    )


def _between(s: Array, points: Array, at: Array) -> Array:
    """(M,) mm: half of what a parabola of the bend seen nearby departs from its chord.

    Bend: the largest second divided difference at a stretch's two ends. The departure in a
    stretch of length h at part t is bend t (1 - t) h^2 / 2; rectangular (JCGM 100, 4.3.7).
    """
    k = np.clip(np.searchsorted(s, at, "right") - 1, 0, len(s) - 2)
    h = s[k + 1] - s[k]
    t = (at - s[k]) / h
    unseen = _UNSEEN * h * 4.0 * t * (1.0 - t)
    if len(s) < 3:
        return np.asarray(unseen)
    slope = np.diff(points, axis=0) / np.diff(s)[:, None]
    bend = np.hypot(*(2.0 * np.diff(slope, axis=0) / (s[2:] - s[:-2])[:, None]).T)
    bend = np.concatenate([bend[:1], bend, bend[-1:]])
    seen = np.maximum(bend[k], bend[k + 1]) * t * (1.0 - t) * h**2 / 2.0 / 3**0.5
    return np.asarray(np.maximum(seen, unseen))
