"""Readings taken by hand -> Outline: a straight edge, a level walked along, tapes, feelers.

Points are in the frame the readings were taken in: x along the straight edge, the line of
levels or the base between two fixed points, y towards the building when it lies above.
Each reading errs by itself; what the instrument does wrong is common to all of them: the
straight edge's own bow, the level's tilt, the tape's scale, hook and sag.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.readings_curve import Readings, outline_through
from scribe.capture.readings_table import ReadingsTable
from scribe.job import Readings as Kind
from scribe.outline import Building, Outline, axis_facing, side_facing
from scribe.standards import TAPE_CLASS_II_MM

Array = npt.NDArray[np.float64]

# U (k = 2) of one reading where the fitter states none (common practice, no source): mm with a
# rule, feeler leaves or a tape; of a level's slope, mm on a metre.
USUAL_U95 = {"offsets": 0.5, "feelers": 0.1, "tapes": 1.0, "level": 0.5}
_LEVEL_OWN_U = 0.25e-3  # of a length: half a millimetre on a metre (U), of the level itself
_CLOSING_U = 0.25  # mm, of the height that a walk must end at
# A straight edge of aluminium bows by so much of its length (u; common practice, no source).
_STRAIGHT_EDGE_U = 0.1e-3
# Tape of class II (2014/32/EU, annex X, from memory): a + b L; here half widths of rectangles
# (JCGM 100, 4.3.7) of its hook (a) and of its scale (b).
_HOOK_U = TAPE_CLASS_II_MM[0] / 3**0.5
_TAPE_SCALE_U = TAPE_CLASS_II_MM[1] * 1e-3 / 3**0.5
# A tape that hangs free reads too long by w^2 L^3 / (24 P^2) (catenary, textbooks of surveying,
# from memory), for 0.15 N/m and a pull of 20 N (our estimate): mm for a length in mm to the cube.
_SAG = 0.15**2 / (24.0 * 20.0**2) * 1e-6
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
    table: ReadingsTable, kind: Kind, building: Building, instrument: Instrument
) -> Outline:
    """The outline that a table of readings describes."""
    u = (USUAL_U95[kind] if instrument.u95 is None else instrument.u95) / 2.0
    if kind in ("offsets", "feelers"):
        read = _offsets(table, u, straight_edge=kind == "offsets")
    elif kind == "level":
        read = _level(table, u, instrument.closing)
    else:
        read = _tapes(table, u, instrument)
    outline = outline_through(read, f"{kind} from {table.path.name}")
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


def _offsets(table: ReadingsTable, u: float, *, straight_edge: bool) -> Readings:
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
    points, each = np.column_stack([at, off])[order], each[order]
    shared = {"reading": np.diag(each)[:, :, None] * np.array([0.0, 1.0])}
    if straight_edge:
        length = float(np.ptp(points[:, 0]))
        t = (points[:, 0] - points[0, 0]) / length
        bow = 4.0 * t * (1.0 - t) * _STRAIGHT_EDGE_U * length
        shared["straight edge"] = (bow[:, None] * np.array([0.0, 1.0]))[None]
    return Readings(points, shared, each)


def _level(table: ReadingsTable, u: float, closing: float | None) -> Readings:
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
    # Against its neighbours: a second difference of heights holds two steps' errors, where three
    # heights with errors of their own (u, 2 u, u) would have sqrt(6) u.
    noise = np.full(len(along), float(np.median(step)) * u * 1e-3 / 3**0.5)
    return Readings(np.column_stack([along, height]), {"walk": shared}, noise)


def _tapes(table: ReadingsTable, u: float, instrument: Instrument) -> Readings:
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
    points = np.zeros((len(read), 2))
    own, tape = np.zeros((2 * len(read), len(read), 2)), np.zeros((3, len(read), 2))
    for row, distances in enumerate(read):
        points[row], by = _resected(table, row, places, distances, u)
        moves = np.linalg.pinv(by)  # (2, tapes): how the point follows its readings
        values, vectors = np.linalg.eigh(u**2 * moves @ moves.T)
        own[2 * row : 2 * row + 2, row] = (vectors * np.sqrt(values)).T
        sag = _SAG * distances**3 / 3**0.5
        hook = np.full(len(distances), _HOOK_U)
        tape[:, row] = [moves @ part for part in (hook, _TAPE_SCALE_U * distances, sag)]
    noise = np.sqrt((own**2).sum(axis=(0, 2)) / 2.0)
    return Readings(points, {"reading": own, "tape": tape}, noise)


def _resected(
    table: ReadingsTable, row: int, fixed: Array, read: Array, u: float
) -> tuple[Array, Array]:
    """One point (2,) by least squares, and how its distances change with it (tapes, 2)."""
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
    return point, np.asarray(by, np.float64)
