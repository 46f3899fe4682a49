"""Job: what a fitter wants made, as typed values. `scribe.job_file` reads it from TOML.

A job names its outlines, how each is shaped, and its pieces: a blank with one or more
edges, each of which follows an outline. Lengths are mm; a piece's frame is its blank as
seen from the face, x to the right along its length, y up its width.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, get_args

from scribe.piece import Blank
from scribe.pipes import Pipe
from scribe.side_walls import LeaningWalls, SurveyedWalls
from scribe.source import Source
from scribe.tools import USUAL_TOOLS, Tool

FILLER_MM = 1.0  # a joint that filler closes well (common practice, no source)

Edge = Literal["top", "bottom", "left", "right"]
EDGES: tuple[Edge, ...] = get_args(Edge)
OPPOSITE: dict[Edge, Edge] = {"top": "bottom", "bottom": "top", "left": "right", "right": "left"}


Association = Literal["sheet axis", "chord", "least squares", "minimum zone", "two points"]
ASSOCIATIONS: tuple[Association, ...] = get_args(Association)

Least = Literal["largest", "total"]
LEAST: tuple[Least, ...] = get_args(Least)

Way = Literal["over", "slot", "split"]
WAYS: tuple[Way, ...] = get_args(Way)

Point = tuple[float, float]


@dataclass(frozen=True)
class PrintSettings:
    """Paper by name, the margin that the printer leaves and the overlap of two pages, mm.

    roll: mm, the width of paper from a roll, which then has no name.
    """

    paper: str = "A4"
    margin: float = 10.0
    overlap: float = 10.0
    roll: float | None = None

    @property
    def paper_words(self) -> str:
        """The paper for people."""
        return self.paper if self.roll is None else f"a roll {self.roll:g} mm wide"


@dataclass(frozen=True)
class DatumChoice:
    """The line to count stations along; between: the two points, for "two points"."""

    association: Association
    between: tuple[Point, Point] | None = None


@dataclass(frozen=True)
class OutlineJob:
    """One outline and how it is shaped before anything is fitted to it.

    washer, block: mm from the wall to the pencil point when the line was drawn with a
    rolling washer, or with a block slid along in one direction. smooth: cutoff in mm.
    end: name of the end where stations begin. None: as it was captured.
    """

    name: str
    source: Source
    washer: float | None = None
    block: float | None = None
    smooth: float | None = None
    datum: DatumChoice | None = None
    end: str | None = None


@dataclass(frozen=True)
class Touch:
    """Least removal: held against the building, it loses just what closes the widest gap.

    past: mm by which it is moved on from there, so that no more is left than may be.
    """

    past: float = 0.0


@dataclass(frozen=True)
class Distance:
    """The datum lies this far from the visible edge, mm."""

    mm: float


@dataclass(frozen=True)
class Opening:
    """The datum lies this far from the datum of the opposite edge, mm."""

    mm: float


Placing = Touch | Distance | Opening


@dataclass(frozen=True)
class EdgeJob:
    """One edge of a blank that follows an outline.

    station: mm from the end where the outline's stations begin to its station 0.
    start: the end of the blank's edge where stations begin; None when not stated.
    beyond: mm that the blank may reach past the ends of what was measured.
    least: the visible edge may turn so that the largest removal, or the total, is least.
    parallel: the outline to which the visible edge is kept parallel. Neither: the datum.
    lean: mm per metre by which the outline's datum runs away from the visible edge as stations
    grow, as a survey found it. lean_u, distance_u: standard uncertainties, mm per metre and mm.
    bevel_deg: back bevel in degrees from square, None for a square cut; land: mm of it that
    stay square at the face. seen: ends of the edge that are seen, where no bevel may show.
    seal: a seal closes the joint, and needs its clearance.
    """

    outline: str
    edge: Edge
    clearance: float = 0.0
    station: float = 0.0
    start: Edge | None = None
    placing: Placing = Touch()
    minimum_width: float = 0.0
    maximum_width: float | None = None
    beyond: float | None = None
    least: Least | None = None
    parallel: str | None = None
    lean: float | None = None
    lean_u: float = 0.0
    distance_u: float = 0.0
    bevel_deg: float | None = None
    land: float = 2.0
    seen: tuple[Edge, ...] = ()
    seal: bool = False


@dataclass(frozen=True)
class Round:
    """A round thing that goes through a piece: its diameter and the U (k = 2) of that, mm."""

    diameter: float
    U: float = 0.2


@dataclass(frozen=True)
class Oblong:
    """A rectangle, its sides along the blank's: mm along x and y."""

    width: float
    height: float


@dataclass(frozen=True)
class Closed:
    """A closed outline of the job, by its name."""

    outline: str


@dataclass(frozen=True)
class HoleJob:
    """What goes through a piece: a pipe, a valve, a duct; or an opening to reach behind it.

    centre: mm from the two edges of the blank named in `edges`; or, beside an outline, its
    station and how far it stands off that outline's datum, away from the building. None for
    a closed outline that was taken in the frame of the outline it is beside.
    U: mm, of each of both distances (k = 2).
    way: "over" an open end, through a "slot" from the edge `towards`, or with the piece
    "split" in two along a line through the centre that runs to that edge.
    access: what is cut out stays, as a lid.
    """

    name: str
    shape: Round | Oblong | Closed
    centre: Point | None = None
    edges: tuple[Edge, Edge] = ("left", "bottom")
    beside: str | None = None
    U: float = 1.0
    clearance: float = 0.0
    way: Way = "over"
    towards: Edge = "top"
    pipe: Pipe | None = None
    access: bool = False


@dataclass(frozen=True)
class PieceJob:
    """One piece: its blank, which edge of it points up when fitted, and what it follows.

    level: it lies level, such as a shelf or a worktop, so that its face points up and no edge does.
    walls: beside a piece that lies level; None where nobody says, and they count as plumb.
    """

    name: str
    blank: Blank
    edges: tuple[EdgeJob, ...]
    up: Edge = "top"
    step: float = 50.0
    holes: tuple[HoleJob, ...] = ()
    walls: LeaningWalls | SurveyedWalls | None = None
    level: bool = False

    @property
    def outlines(self) -> tuple[str, ...]:
        """Names of all outlines that it takes, each once."""
        named = [edge.outline for edge in self.edges]
        named += [edge.parallel for edge in self.edges if edge.parallel is not None]
        named += [hole.shape.outline for hole in self.holes if isinstance(hole.shape, Closed)]
        named += [hole.beside for hole in self.holes if hole.beside is not None]
        return tuple(dict.fromkeys(named))


@dataclass(frozen=True)
class Job:
    """A whole job file; every path in it is absolute or relative to the working folder.

    tools: the fitter's, in order of preference. filler: mm of gap that his filler closes.
    """

    path: Path
    name: str
    print: PrintSettings
    outlines: Mapping[str, OutlineJob]
    pieces: tuple[PieceJob, ...]
    tools: tuple[Tool, ...] = USUAL_TOOLS
    filler: float = FILLER_MM
