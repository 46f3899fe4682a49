"""Source: where an outline of a job comes from, as typed values.

Photos to be traced, a file from before, readings or a drawing, or other outlines laid end to end.
Lengths are mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal, get_args

from scribe.facing import Building
from scribe.geom.between import Surface
from scribe.joint import Joint
from scribe.print_scale import PrintScale
from scribe.tape import TapeReading

Point = tuple[float, float]

Kind = Literal["gauge", "line", "edge"]
KINDS: tuple[Kind, ...] = get_args(Kind)

ScaleBy = Literal["card", "paper"]
SCALE_BY: tuple[ScaleBy, ...] = get_args(ScaleBy)

Readings = Literal["offsets", "feelers", "level", "tapes"]
READINGS: tuple[Readings, ...] = get_args(Readings)
Line = Literal["straight edge", "level", "laser"]  # what offsets are taken from
LINES: tuple[Line, ...] = get_args(Line)
SURFACES: tuple[Surface, ...] = get_args(Surface)
# Which forms of reading an option belongs to.
READ_OPTIONS: dict[str, tuple[str, ...]] = {
    "base": ("tapes",), "third": ("tapes",), "closing": ("level",), "line": ("offsets",),
    "surface": READINGS, "choose": ("drawing",), "unit": ("drawing",),
}  # fmt: skip


@dataclass(frozen=True)
class PhotoSource:
    """An outline to be traced from photos.

    of: what the photo shows. height: mm of the outline above the sheet, None when not
    stated. print_scale: printed over true size, None when nobody measured it.
    building: where the building lies on the sheet, for a photo that doesn't tell.
    start, end: points near which the outline begins and ends. near: a rough polyline's file.
    camera: the file of the lens that took it. tapes: distances measured between strips.
    scale_by: what in the first photo tells the print scale, besides print_scale.
    """

    photos: tuple[Path, ...]
    of: Kind
    height: float | None = None
    target: Path | None = None
    print_scale: PrintScale | None = None
    building: Building | None = None
    start: Point | None = None
    end: Point | None = None
    near: Path | None = None
    camera: Path | None = None
    tapes: tuple[TapeReading, ...] = ()
    scale_by: tuple[ScaleBy, ...] = ()


@dataclass(frozen=True)
class FileSource:
    """An outline that was traced or drawn before; building and u95 are for CSV."""

    path: Path
    building: Building | None = None
    u95: float | None = None


@dataclass(frozen=True)
class ReadSource:
    """Something read off or drawn by hand.

    form: how it was taken. u95: U of one reading, mm (mm on a metre for a level), None for the
    usual of the instrument. base: mm between the fixed points A and B of tapes; third: where a
    third one is. closing: mm that the far end of a walked level lies above its beginning. line:
    what offsets were taken from, None for a straight edge. surface: what was read, as far as it
    tells what lies between the readings. choose: layer or id of a drawing; unit: mm of its unit.
    """

    path: Path
    form: Readings | Literal["drawing"]
    building: Building
    u95: float | None = None
    base: float | None = None
    third: Point | None = None
    closing: float | None = None
    line: Line | None = None
    surface: Surface | None = None
    choose: str | None = None
    unit: float | None = None


@dataclass(frozen=True)
class JoinSource:
    """Other outlines of the job, by name, laid end to end; joints: between each and the next."""

    pieces: tuple[str, ...]
    joints: tuple[Joint, ...]


Source = PhotoSource | FileSource | ReadSource | JoinSource
