"""Points by tapes from fixed points: A at (0, 0), B at (base, 0), and C where it was read too.

Two tapes meet in one point; with a third there is one reading more than is needed, the point
follows by least squares, and the three are held against each other.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.numbers.readings_curve import Readings
from scribe.capture.numbers.readings_table import ReadingsTable
from scribe.quantity import format_u
from scribe.standards import TAPE_CLASS_II_MM

Array = npt.NDArray[np.float64]

# Tape of class II (2014/32/EU, annex X, from memory): a + b L; here half widths of rectangles
# (JCGM 100, 4.3.7) of its hook (a) and of its scale (b).
_HOOK_U = TAPE_CLASS_II_MM[0] / 3**0.5
TAPE_SCALE_U = TAPE_CLASS_II_MM[1] * 1e-3 / 3**0.5
# A tape that hangs free reads too long by w^2 L^3 / (24 P^2) (catenary, textbooks of surveying,
# from memory), for 0.15 N/m and a pull of 20 N (our estimate): mm for a length in mm to the cube.
_SAG = 0.15**2 / (24.0 * 20.0**2) * 1e-6
_FAR = 3.0  # joint standard uncertainties by which redundant tapes may disagree
_FLAT = 3.0  # standard uncertainties by which a point must stand off the line between A and B
_ROUNDS = 30


def resected(
    table: ReadingsTable, u: float, base: float | None, third: tuple[float, float] | None
) -> Readings:
    """The points. u: mm, of one reading. base: mm from A to B. third: mm, where C is."""
    table.need("a", "b")
    fixed = _fixed(table, base, third)
    names = ("a", "b", "c")[: len(fixed)]
    read = np.column_stack([table.lengths(name, blank=name == "c") for name in names])
    points = np.zeros((len(read), 2))
    own, tape = np.zeros((2, len(read), 2)), np.zeros((3, len(read), 2))
    for row, distances in enumerate(read):
        taken = np.isfinite(distances)
        distances = distances[taken]
        points[row], by = _met(table, row, fixed[taken], distances, u)
        moves = np.linalg.pinv(by)  # (2, tapes): how the point follows its readings
        values, vectors = np.linalg.eigh(u**2 * moves @ moves.T)
        own[:, row] = (vectors * np.sqrt(np.maximum(values, 0.0))).T
        sag = _SAG * distances**3 / 3**0.5
        hook = np.full(len(distances), _HOOK_U)
        tape[:, row] = [moves @ part for part in (hook, TAPE_SCALE_U * distances, sag)]
    noise = np.sqrt((own**2).sum(axis=(0, 2)) / 2.0)
    return Readings(points, {"reading": own}, {"tape": tape}, noise)


def _fixed(
    table: ReadingsTable, base: float | None, third: tuple[float, float] | None
) -> Array:  # fmt: skip
    """(2 or 3, 2) mm: A, B, and C where there is a column for it."""
    if base is None or base <= 0.0:
        raise table.refuse(
            "readings-base", "nobody says how far A and B are apart", "give the base, in mm"
        )
    places = [(0.0, 0.0), (base, 0.0)]
    if ("c" in table) != (third is not None):
        raise table.refuse(
            "readings-base",
            "there are readings from C, and nobody says where it is"
            if third is None
            else "it is said where C is, and nothing was read from it",
            "give its place (third), X,Y from A"
            if third is None
            else "add a column from C, or leave its place out",
        )
    return np.array([*places, third] if third is not None else places, np.float64)


def _met(
    table: ReadingsTable, row: int, fixed: Array, read: Array, u: float
) -> tuple[Array, Array]:
    """One point (2,) by least squares, and how its distances change with it (tapes, 2)."""
    base = float(fixed[1, 0])
    x = (read[0] ** 2 - read[1] ** 2 + base**2) / (2.0 * base)
    high = read[0] ** 2 - x**2
    if high <= 0.0:
        raise table.refuse(
            "readings-tapes",
            f"tapes of {read[0]:g} and {read[1]:g} mm don't meet over a base of {base:g} mm",
            "read them again, or the base",
            row,
        )
    point = np.array([x, np.sqrt(high)])
    _refuse_flat(table, row, point, fixed, u)
    if len(read) > 2:
        _refuse_third(table, row, point, fixed, read, u)
    for _ in range(_ROUNDS):
        away = point - fixed
        reach = np.hypot(*away.T)
        step = np.linalg.lstsq(away / reach[:, None], read - reach, rcond=None)[0]
        point = point + step
        if np.abs(step).max() < 1e-9:
            break
    return point, _towards(point, fixed)


def _towards(point: Array, fixed: Array) -> Array:
    """(tapes, 2) unit vectors from the fixed points to a point: its distances' derivatives."""
    away = point - fixed
    return np.asarray(away / np.hypot(*away.T)[:, None], np.float64)


def _refuse_flat(table: ReadingsTable, row: int, point: Array, fixed: Array, u: float) -> None:
    """Near the line between A and B a small error of a tape moves a point by much."""
    moves = np.linalg.inv(_towards(point, fixed[:2]))
    off = u * float(np.hypot(*moves[1]))
    if point[1] < _FLAT * off:
        raise table.refuse(
            "readings-tapes",
            "these two tapes meet so near to the line between A and B that nothing is known of "
            f"how far off it: {format_u(float(point[1]), 2.0 * off)}",
            "choose A and B further from the wall, or measure from the line itself (offsets)",
            row,
        )


def _refuse_third(
    table: ReadingsTable, row: int, point: Array, fixed: Array, read: Array, u: float
) -> None:
    """C against what A and B say. Which of the three is wrong nothing tells."""
    moves = np.linalg.inv(_towards(point, fixed[:2]))
    told = float(np.hypot(*(point - fixed[2])))
    off = u * float(np.hypot(1.0, np.hypot(*(_towards(point, fixed[2:])[0] @ moves))))
    if abs(read[2] - told) > _FAR * off:
        raise table.refuse(
            "readings-tapes",
            f"the three tapes disagree: by A and B the one from C should read "
            f"{format_u(told, 2.0 * off)}, and it reads {read[2]:g}",
            "read all three again",
            row,
        )
