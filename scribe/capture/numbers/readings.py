"""Readings taken by hand -> Outline: a straight edge, a level walked along, tapes, feelers.

Points are in the frame the readings were taken in: x along the straight edge, the line of
levels or the base between two fixed points, y towards the building when it lies above.
Each reading errs by itself; what the instrument does wrong is common to all of them: the
straight edge's own bow, the level's tilt, the tape's scale, hook and sag.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.capture.numbers.readings_curve import Readings, outline_through
from scribe.capture.numbers.readings_level import LEVEL_OWN_U95, odd_step, step_words, walked
from scribe.capture.numbers.readings_table import ReadingsTable
from scribe.capture.numbers.readings_tapes import TAPE_SCALE_U, resected
from scribe.facing import Building, axis_facing, side_facing
from scribe.geom.between import Surface
from scribe.geom.region import crosses_itself
from scribe.geom.soundings import Heights
from scribe.geom.stranger import stranger
from scribe.outline import Outline
from scribe.quantity import format_mm
from scribe.source import Line
from scribe.source import Readings as Kind

Array = npt.NDArray[np.float64]

# U (k = 2) of one reading where the fitter states none (common practice, no source): mm with a
# rule, feeler leaves or a tape; of a level's slope, mm on a metre.
USUAL_U95 = {"offsets": 0.5, "feelers": 0.1, "tapes": 1.0, "level": 0.5}
_TAKEN_FROM = {
    "offsets": "straight edge",
    "feelers": "edge offered up",
    "tapes": "line between the fixed points",
    "level": "level line",
}
_STATION_U = 0.5  # mm (u), of a pencil mark beside a tape along the line (common practice)
# What a line of reference does wrong, in parts of its length (u; common practice, no source):
# it bows, and where its datum is the level or the plumb it tilts. A laser is 0.3 mm on a metre.
_BOWS: dict[Line, float] = {"straight edge": 0.1e-3, "level": 0.1e-3, "laser": 0.0}
_TILTS: dict[Line, float] = {
    "straight edge": 0.0, "level": LEVEL_OWN_U95 / 2.0, "laser": 0.3e-3 / 3**0.5,
}  # fmt: skip
_STEEP = 11.4  # offset over stations (85 degrees), where columns were mixed up
_SAME_MM = 0.01  # nobody reads two points so near to each other
_TURNS_BACK = -0.87  # cosine of 150 degrees: no wall has a corner so sharp


@dataclass(frozen=True)
class Instrument:
    """u95: U of a reading, None for the usual. base: mm between the fixed points A and B.

    third: (x, y) mm of a third point C. closing: mm that the far end of a level's walk lies
    above its beginning, when that is known from elsewhere. line: what offsets were taken from,
    None for a straight edge. surface: what was read, None when nobody says.
    """

    u95: float | None = None
    base: float | None = None
    third: tuple[float, float] | None = None
    closing: float | None = None
    line: Line | None = None
    surface: Surface | None = None


def outline_from(
    table: ReadingsTable, kind: Kind, building: Building, instrument: Instrument
) -> Outline:
    """The outline that a table of readings describes."""
    read = readings_of(table, kind, instrument)
    outline = outline_through(read, f"{kind} from {table.path.name}", instrument.surface)
    if kind == "level":  # its heights are heights
        side = side_facing(outline.points, building, str(table.path))
        outline = outline.with_(solid=side, datum=axis_facing(building))
    else:
        outline = _facing(outline, building)
    taken_from = instrument.line or _TAKEN_FROM[kind]
    return outline.with_(datum=replace(outline.datum, association=taken_from))


def readings_of(table: ReadingsTable, kind: Kind, instrument: Instrument) -> Readings:
    """The readings with their errors, in the frame in which they were taken."""
    u = _usual_u(kind, instrument)
    if kind == "level":
        return walked(table, u, instrument.closing, instrument.surface)
    if kind == "tapes":
        read = resected(table, u, instrument.base, instrument.third)
        _refuse_disorder(table, read.points)
        return read
    line = None if kind == "feelers" else instrument.line or "straight edge"
    return _offsets(table, u, line)


def _usual_u(kind: Kind, instrument: Instrument) -> float:
    """u of a reading: mm; of a level's slope, mm/mm."""
    u = (USUAL_U95[kind] if instrument.u95 is None else instrument.u95) / 2.0
    return u * 1e-3 if kind == "level" else u


def doubt(table: ReadingsTable, kind: Kind, instrument: Instrument) -> str:
    """Words on the reading that doesn't fit its neighbours; "" where all do."""
    read = readings_of(table, kind, instrument)
    if kind == "level":
        return _doubtful_step(table, read, instrument)
    chord = read.points[-1] - read.points[0]
    along, across = chord / np.hypot(*chord), np.array([-chord[1], chord[0]]) / np.hypot(*chord)
    if kind != "tapes":  # their stations are their own, whichever way the wall leans
        along, across = np.eye(2)
    s = read.points @ along
    if (np.diff(s) <= 0.0).any():
        return ""
    odd = stranger(Heights(s), read.points @ across, read.noise, instrument.surface)
    if odd is None:
        return ""
    where = (
        f"line {table.lines[odd.index]}"
        if kind == "tapes"
        else f"station {format_mm(s[odd.index])} mm"
    )
    return (
        f"{where} doesn't fit its neighbours: it reads {format_mm(abs(odd.beyond), 0)} mm "
        f"{'more' if odd.beyond > 0.0 else 'less'} than they let expect (U {format_mm(odd.U, 0)} "
        "mm). Read it again: while it stands, U is wider along the whole wall. If it is right, "
        "read some places close to it as well"
    )


def _doubtful_step(table: ReadingsTable, read: Readings, instrument: Instrument) -> str:
    odd = odd_step(read.points, _usual_u("level", instrument), instrument.surface)
    if odd is None:
        return ""
    step = float(np.hypot(*(read.points[odd.index + 1] - read.points[odd.index])))
    return (
        f"{step_words(table, odd)}. Read it again: if it is wrong, every height after it is "
        f"{format_mm(abs(odd.beyond) * step, 1)} mm too {'high' if odd.beyond > 0.0 else 'low'}"
    )


def _facing(outline: Outline, building: Building) -> Outline:
    """As it lies in the room: what was measured towards the building, above or wherever it is.

    A wall is measured upwards from the floor end of a plumb line; stations then are heights.
    """
    room = {
        "above": np.eye(2),
        "inside": np.eye(2),
        "below": np.array([[1.0, 0.0], [0.0, -1.0]]),
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


def _offsets(table: ReadingsTable, u: float, line: Line | None) -> Readings:
    """Stations and what was read there; line: None for a gap beside an offered-up blank."""
    table.need("station", "offset")
    at = table.lengths("station", signed=True)
    off, each = table.lengths("offset", signed=line is not None), _each_u(table, u)
    _refuse_stations(table, at)
    if at[0] > at[-1]:
        at, off, each = at[::-1], off[::-1], each[::-1]
    if abs(off[-1] - off[0]) > _STEEP * (at[-1] - at[0]):
        raise table.refuse(
            "readings-order",
            f"offsets run from {off[0]:g} to {off[-1]:g} mm, and stations only from {at[0]:g} to "
            f"{at[-1]:g} mm",
            "look whether the two columns were mixed up, or their units",
        )
    towards = np.array([0.0, 1.0])
    own = {
        "reading": (each[:, None] * towards)[None],
        "station": np.full((1, len(at), 2), [_STATION_U, 0.0]),
    }
    shared = {"tape": (TAPE_SCALE_U * (at - at[0]))[None, :, None] * np.array([1.0, 0.0])}
    if line is not None:
        length = float(np.ptp(at))
        t = (at - at[0]) / length
        errs = np.array([4.0 * t * (1.0 - t) * _BOWS[line], t * _TILTS[line]]) * length
        shared[line] = errs[(errs != 0.0).any(axis=1)][:, :, None] * towards
    return Readings(np.column_stack([at, off]), own, shared, each)


def _each_u(table: ReadingsTable, u: float) -> Array:
    """(N,) mm, u of every reading: its own where the table has a column for it."""
    each = table.lengths("u95") / 2.0 if "u95" in table else np.full(len(table.lines), u)
    if (each <= 0.0).any():
        raise table.refuse(
            "readings-cell",
            "u95 is 0, and no reading is exact",
            "write the U that you trust the reading to",
            int(np.argmax(each <= 0.0)),
        )
    return each


def _refuse_stations(table: ReadingsTable, at: Array) -> None:
    """Stations go one way: one that doesn't is a slip of the pen that sorting would hide."""
    steps = np.diff(at) * (-1.0 if at[0] > at[-1] else 1.0)
    if (steps > 0.0).all():
        return
    k = int(np.argmax(steps <= 0.0))
    twice = steps[k] == 0.0
    raise table.refuse(
        "readings-order",
        f"station {at[k]:g} mm is there twice"
        if twice
        else f"stations {at[k]:g} and {at[k + 1]:g} mm aren't in order",
        "keep one of them" if twice else "correct it, or put the rows in order",
        k + 1,
    )


def _refuse_disorder(table: ReadingsTable, points: Array) -> None:
    """Points go along the wall: one that turns back was read in another order, or wrongly."""
    steps = np.diff(points, axis=0)
    lengths = np.hypot(*steps.T)
    if (lengths < _SAME_MM).any():
        same = int(np.argmax(lengths < _SAME_MM)) + 1
        raise table.refuse("readings-order", "it is the point before once more", "keep one", same)
    cosine = (steps[1:] * steps[:-1]).sum(axis=1) / (lengths[1:] * lengths[:-1])
    back = cosine < _TURNS_BACK
    if back.any() or crosses_itself(points):
        row = int(np.argmax(back)) + 1 if back.any() else None
        raise table.refuse(
            "readings-order",
            "the points turn back here"
            if back.any()
            else "the line through the points crosses itself",
            "give them in the order in which they lie along the wall",
            row,
        )
