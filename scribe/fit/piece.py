"""One piece of a job, from its outlines to its cut lines and tables.

In: the piece as the job describes it and the shaped outlines by name. Out: `Piece`, in the
piece frame. Keep and waste follow from the solid side of the outlines; nothing is guessed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.fit.around import around_corners, whole_stations
from scribe.fit.bevel import back_bevel, bevel_note
from scribe.fit.beyond import check_beyond
from scribe.fit.blank_edge import OUTWARD, BlankEdge, blank_edge
from scribe.fit.cut import CutLine, carried, cut_blank, cut_lines
from scribe.fit.entry.going_in import going_in
from scribe.fit.marks.joined import TOLERANCE_MM, marks
from scribe.fit.marks.on_tape import on_tape
from scribe.fit.passes import plan
from scribe.fit.place import PlacedRoom, place_rooms
from scribe.fit.remarks import remarks
from scribe.fit.removal import removal, steep_parts
from scribe.fit.room import along_datum, check_ends, end_word
from scribe.fit.through.hole_cuts import hole_cuts, hole_notes
from scribe.fit.through.holes import PlacedHole, place_holes
from scribe.fit.through.splits import split_lines
from scribe.fit.turn import turned
from scribe.fit.width import check_width, moved_on, widths
from scribe.geom.polyline import turning_back
from scribe.geom.region import Area, crosses_itself
from scribe.job import PieceJob
from scribe.outline import Outline
from scribe.piece import CATCH_MM, CutEdge, Marks, Passes, Piece, Polygon, RoomEdge
from scribe.side_walls import LeaningWalls
from scribe.timber import panel_note, timber_note
from scribe.tools import USUAL_TOOLS, Tool

Array = npt.NDArray[np.float64]

_MOVES = 5  # an edge moved on for its width settles at once; corners may need another
_STRETCH_MM = 2.0  # between two steps there is nothing to mark on less


def fit_piece(
    job: PieceJob, outlines: Mapping[str, Outline], tools: Sequence[Tool] = USUAL_TOOLS
) -> Piece:
    """Fit one piece; refuses what would not fit, with by how much and at which station."""
    blank = _area(job.blank.shape)
    travelled = [along_datum(outlines[edge.outline]) for edge in job.edges]
    edges = [
        blank_edge(blank.outer, edge.edge, outline.solid)
        for edge, outline in zip(job.edges, travelled, strict=True)
    ]
    notes = [
        check_ends(outline, edge, wanted, job.up)
        for outline, edge, wanted in zip(travelled, edges, job.edges, strict=True)
    ]
    extent = float(np.hypot(*np.ptp(blank.outer, axis=0)))
    settled = [
        turned(wanted, edge, outline, outlines, extent)
        for wanted, edge, outline in zip(job.edges, edges, travelled, strict=True)
    ]
    notes += [note for _, note in settled]
    laid = _lay_out(job, blank, edges, [outline for outline, _ in settled], outlines)
    rooms, holes, keep = laid.rooms, laid.holes, laid.keep
    # A hole takes nothing off an edge, nor off the width beside it, and neither does its slot.
    whole_keep = cut_blank(blank, [room.grown for room in rooms], edges)[0] if holes else keep
    filled = Area(whole_keep.outer)
    cuts: list[CutEdge] = []
    for line in laid.lines:
        made, said = _cut_edge(job, tools, blank, filled, line, laid)
        cuts.append(made)
        notes += said
    bevels = {cut.edge: cut.bevel for cut in cuts if cut.bevel is not None}
    openings, splits = hole_cuts(keep, blank.outer, rooms, holes), split_lines(keep, holes)
    notes += hole_notes(keep, holes, openings, splits)
    walls = job.walls if isinstance(job.walls, LeaningWalls) else None
    entry = going_in(keep.outer, rooms, job.blank.thickness, bevels, walls)
    notes.append(None if entry is None else entry.note)
    notes.append(_movement(job, keep.outer))
    return Piece(
        name=job.name,
        blank=job.blank,
        keep=Polygon(keep.outer, keep.holes),
        waste=tuple(Polygon(part.outer, part.holes) for part in laid.waste),
        cuts=tuple(cuts),
        room=tuple(RoomEdge(r.job.outline, r.outline, r.job.clearance) for r in rooms),
        up=OUTWARD[job.up],
        level=job.level,
        notes=tuple(dict.fromkeys(note for note in notes if note)),
        holes=openings,
        splits=splits,
        passage=None if entry is None else entry.passage,
    )


def _cut_edge(
    job: PieceJob,
    tools: Sequence[Tool],
    blank: Area,
    filled: Area,
    cut: CutLine,
    laid: _LaidOut,
) -> tuple[CutEdge, list[str | None]]:
    """One cut with its table, and what is said of it. filled: the piece without its holes."""
    room, edge = laid.rooms[cut.room], cut.edge
    foot, u, measured = carried(room.front, cut.line, room.job.clearance)
    bevel = back_bevel(room.job, job.blank.thickness, edge)
    passes, drawn = _work(edge, cut.line, tools)
    whole = whole_stations(cut, laid.lines)
    table = removal(edge, blank, filled, cut.line, u, measured, step=job.step, whole=whole)
    notes = [check_beyond(room, foot)]
    if bevel is not None:
        notes.append(bevel_note(bevel, room.job, edge.edge))
    if edge is room.edge:
        notes.append(check_width(room, *widths(room, filled, cut, whole)))
        notes += remarks(room, cut, laid.lines, table)
    made = CutEdge(
        name=room.job.outline,
        edge=edge.edge,
        line=cut.line,
        u=u,
        measured=measured,
        keep=cut.keep,
        from_end=end_word(room.outline, edge, job.up),
        start=edge.chain[0],
        along=edge.along,
        out=edge.out,
        clearance=room.job.clearance,
        removal=table,
        passes=passes,
        marks=drawn,
        bevel=bevel,
        seal=room.job.seal,
    )
    return made, notes


class _LaidOut(NamedTuple):
    """The rooms and holes where they come to lie, and what they leave of the blank."""

    rooms: list[PlacedRoom]
    holes: list[PlacedHole]
    keep: Area
    waste: tuple[Area, ...]
    lines: list[CutLine]


def _lay_out(
    job: PieceJob,
    blank: Area,
    edges: Sequence[BlankEdge],
    settled: Sequence[Outline],
    outlines: Mapping[str, Outline],
) -> _LaidOut:
    """Place everything and cut; an edge with a maximum width is moved on until it has it."""
    jobs = list(job.edges)
    extent = float(np.hypot(*np.ptp(blank.outer, axis=0)))
    for _ in range(_MOVES):
        rooms = place_rooms(jobs, edges, settled, extent)
        holes = place_holes(job.holes, blank.outer, outlines, rooms, settled)
        solids = [hole.grown for hole in holes]
        keep, waste = cut_blank(blank, [*(room.grown for room in rooms), *solids], edges)
        lines = around_corners(cut_lines(keep, rooms, solids), rooms, blank.outer)
        moved = list(jobs)
        for cut in lines:
            room = rooms[cut.room]
            if room.job.maximum_width is not None and cut.edge is room.edge:
                _, left = widths(room, Area(keep.outer), cut, whole_stations(cut, lines))
                moved[cut.room] = moved_on(room.job, left) or moved[cut.room]
        if moved == jobs:
            break
        jobs = moved
    return _LaidOut(rooms, holes, keep, waste, lines)


def _work(
    edge: BlankEdge, line: Array, tools: Sequence[Tool]
) -> tuple[Passes | None, tuple[Marks, ...]]:
    """Passes and marks along a cut; none where it turns back, and no station has one removal."""
    station, remove = edge.station(line), -edge.outwards(line)
    if turning_back(station, CATCH_MM):
        return None, ()
    station = np.maximum.accumulate(station)  # a hair by which a step overhangs is pushed past
    bounds = [end for part in steep_parts(station, remove) for end in (part[0] + 1, part[1])]
    stretches = [
        part
        for part in np.split(np.arange(len(line)), bounds)[::2]
        if len(part) and np.ptp(station[part]) > _STRETCH_MM
    ]
    return plan(station, remove, tools), tuple(
        on_tape(
            marks(station[part], remove[part], "batten", TOLERANCE_MM),
            station[part],
            remove[part],
            out=_waste_beyond(remove, part),
        )
        for part in stretches
    )


def _waste_beyond(remove: Array, part: npt.NDArray[np.intp]) -> tuple[bool, bool]:
    """Whether more comes off just before and just after a stretch, or nothing is left there."""
    first, last = int(part[0]), int(part[-1])
    before = first == 0 or remove[first - 1] > remove[first]
    after = last == len(remove) - 1 or remove[last + 1] > remove[last]
    return bool(before), bool(after)


def _movement(job: PieceJob, outer: Array) -> str | None:
    """How the piece moves with its moisture: timber in its width, a panel in its length."""
    length, width = (float(side) for side in np.ptp(outer, axis=0))
    timber, panel = job.blank.timber, job.blank.panel
    if timber is not None:
        across = {edge.edge: edge.clearance for edge in job.edges if edge.edge in ("top", "bottom")}
        return timber_note(timber, width, sum(across.values()) if len(across) == 2 else None)
    return None if panel is None else panel_note(panel, length)


def _area(shape: Polygon) -> Area:
    closed = np.vstack([shape.outer, shape.outer[:1]])
    if crosses_itself(closed):
        raise ScribeError(
            "blank-crosses-itself",
            what="the sides of the blank cross each other",
            where="shape",
            do="give its corners in order, once round",
        )
    return Area(shape.outer, shape.holes)
