"""What gets cut: the blank, the room it meets, the finished piece and what to take off.

    piece = blank - (room grown by the clearance)

Piece frame: mm, x along the visible edge from the named end (stations), y across the
width from the visible edge towards the building, seen from the face. Everything here is
a value; `scribe.fit` makes them and `scribe.output` draws them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from scribe.geom.polyline import turning_back
from scribe.outline import Outline
from scribe.passage import Passage
from scribe.timber import Timber
from scribe.tools import Tool

Array = npt.NDArray[np.float64]
Join = Literal["straight edge", "batten"]

BY_HAND = "chisel or file by hand"
CATCH_MM = 0.5  # a line that turns back by less is pushed past (our estimate, no source)
SQUARE_END_MM = 30.0  # of a bevelled edge, before an end that is seen (common practice, no source)


@dataclass(frozen=True)
class Polygon:
    """An area without self-crossings; boundaries are not closed.

    outer: (N, 2) counter-clockwise. holes: (M, 2) each, clockwise.
    """

    outer: Array
    holes: tuple[Array, ...] = ()


@dataclass(frozen=True)
class Blank:
    """The workpiece before scribing. shape in the piece frame; thickness mm or None.

    timber: what a board of solid wood is made of. panel: a key of PANEL_BOUND_PERCENT.
    """

    shape: Polygon
    thickness: float | None = None
    timber: Timber | None = None
    panel: str | None = None


@dataclass(frozen=True)
class RoomEdge:
    """One outline of the building, placed in the piece frame.

    name: the job's name for it ("wall", "skirting").
    outline: in the piece frame.
    clearance: mm, the gap left between piece and building along this edge.
    """

    name: str
    outline: Outline
    clearance: float = 0.0


@dataclass(frozen=True)
class Removal:
    """How much comes off the blank, station by station, along one edge.

    station: (N,) mm along the blank's edge from its named end.
    remove: (N,) mm, square to the blank's edge; 0 where the cut does not touch.
    u: (N,) mm standard uncertainty of remove; of a steep row, that across the cut.
    width_left: (N,) mm, what is left of the width at the station.
    kind: (N,) "end", "step", "peak" (least comes off), "hollow" (most comes off) or "corner"
        (the cut runs square to the edge there: two rows, just before and just after).
    measured: (N,) bool, False where the outline bridges an unmeasured stretch.
    steep: (N,) bool, True where the cut runs so nearly square to the edge that a station
        decides nothing.
    whole: (N,) bool, False where a cut beside it takes part of the width at the station.
    """

    station: Array
    remove: Array
    u: Array
    width_left: Array
    kind: tuple[str, ...]
    measured: npt.NDArray[np.bool_]
    steep: npt.NDArray[np.bool_]
    whole: npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Run:
    """A stretch of one cut that the same tools take.

    start, stop: stations, mm. rough, finish: the tools; rough None where the finish takes all,
    finish None where nothing comes off. least, most: mm to remove.
    """

    start: float
    stop: float
    rough: Tool | None
    finish: str | None
    least: float
    most: float


@dataclass(frozen=True)
class TightSpot:
    """Where a tool can't follow the line.

    start, stop, deepest: stations. left: mm it leaves standing there. instead: what can.
    """

    tool: Tool
    start: float
    stop: float
    deepest: float
    left: float
    instead: str


@dataclass(frozen=True)
class Passes:
    """runs: from the first station to the last, without gaps. tight: in order of stations."""

    runs: tuple[Run, ...]
    tight: tuple[TightSpot, ...]


@dataclass(frozen=True)
class Marks:
    """station, remove: (K,) mm to mark, remove rounded down. join: what they are joined with.

    most_left: mm, the most that the joined line leaves on the piece. proved: with what joins them
    no fewer marks would do.
    """

    join: Join
    station: Array
    remove: Array
    most_left: float
    proved: bool


@dataclass(frozen=True)
class Bevel:
    """A back bevel. angle_deg: from square. land: mm left square at the face. clear: mm that
    the back stands away from the building. square: first and last stations between which it is
    left out, since that end is seen.
    """

    angle_deg: float
    land: float
    clear: float
    square: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class CutEdge:
    """One cut of a piece.

    name: the job's name of the outline it follows.
    edge: which edge of the blank is cut: "top", "bottom", "left" or "right".
    line: (N, 2) the finished cut line in the piece frame, in order of stations.
    u: (N,) mm standard uncertainty across the line.
    measured: (N,) bool.
    keep: the side of travel along `line` on which the piece lies ("left" or "right").
    from_end: name of the end from which stations count ("left", "floor").
    start: (2,) mm, the end of the blank's edge at which stations begin.
    along, out: (2,) unit vectors: stations grow, and out of the blank towards the building.
    clearance: mm left between piece and building.
    removal: the table along this edge.
    passes: which tool takes what. marks: what to mark for drawing the line without a
    template; none where the line turns back, so that a station has more than one removal.
    bevel: None for a square cut. seal: a seal closes the joint, and needs its clearance.
    """

    name: str
    edge: str
    line: Array
    u: Array
    measured: npt.NDArray[np.bool_]
    keep: str
    from_end: str
    start: Array
    along: Array
    out: Array
    clearance: float
    removal: Removal
    passes: Passes | None = None
    marks: tuple[Marks, ...] = ()
    bevel: Bevel | None = None
    seal: bool = False

    @property
    def may_close(self) -> float:
        """mm by which a push home may close its joint."""
        return 0.0 if self.seal else self.clearance

    @property
    def turns_back(self) -> tuple[tuple[float, float], ...]:
        """First and last station of each stretch in which the line goes back on itself, so that a
        station has more than one removal.
        """
        at = (self.line - self.start) @ self.along
        return tuple((low, high) for low, high, _ in turning_back(at, CATCH_MM))


@dataclass(frozen=True)
class HoleCut:
    """An opening cut into a piece.

    name: the job's. lines: (N, 2) each, what is cut; a closed one ends where it began.
    through: (M, 2) the border of what goes through, not closed. centre: (2,), of that.
    bore: mm, diameter to bore; None when it isn't round. size: (width, height) mm cut out,
    a slot left aside. from_edges: how far the centre is from two edges of the blank before it
    is cut. u: mm, standard uncertainty of each. clearance: mm left round what goes through.
    way, towards: as in the job. access: the part cut out stays, as a lid.
    """

    name: str
    lines: tuple[Array, ...]
    through: Array
    centre: Array
    bore: float | None
    size: tuple[float, float]
    from_edges: tuple[tuple[str, float], tuple[str, float]]
    u: float
    clearance: float
    way: str
    towards: str
    access: bool = False


@dataclass(frozen=True)
class Piece:
    """A finished piece and how it comes out of its blank, all in the piece frame.

    keep: the finished piece. waste: every part that falls off, largest first.
    up: (2,) unit vector that points up in the room when the piece is fitted. level: it lies level,
    and `up` is where its top edge is.
    holes: openings. splits: (2, 2) each, lines along which the finished piece is parted.
    notes: sentences for the fitter (what was assumed, what to look out for). passage: the way in of
    a piece that is trapped.
    """

    name: str
    blank: Blank
    keep: Polygon
    waste: tuple[Polygon, ...]
    cuts: tuple[CutEdge, ...]
    room: tuple[RoomEdge, ...]
    up: Array
    notes: tuple[str, ...] = ()
    holes: tuple[HoleCut, ...] = ()
    splits: tuple[Array, ...] = ()
    passage: Passage | None = None
    level: bool = False
