"""A piece as a drawing: what to keep, what is waste, and what comes off at every station.

The geometry is turned as the reader sees it: as it is for the face, mirrored in x for the
back. Words are never mirrored. Station marks stand outside the blank, where they cross
nothing; all other words are placed by `scribe.output.words`.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import ceil

import numpy as np
import numpy.typing as npt

from scribe.output.piece.draw_stations import pair, station_marks
from scribe.output.piece.drawing import (
    Box,
    CheckDistance,
    Drawing,
    Layer,
    LineKind,
    Path,
    text_box,
    text_corners,
)
from scribe.output.piece.free_space import FreeSpace, hatching, rectangle
from scribe.output.piece.holes import centre_paths, hole_paths, is_lid
from scribe.output.piece.mirror import mirror
from scribe.output.sheets.along_cut import brackets, cut_notes
from scribe.output.sheets.match_marks import MatchMark
from scribe.output.words import TOP, UP, Note, visible_edge, words
from scribe.piece import CutEdge, Piece, Polygon
from scribe.quantity import format_mm

Array = npt.NDArray[np.float64]

HATCH_MM = 4.0
_ROOM_SHOWN = 6.0  # mm of the building's line shown beyond the blank
_STUB = 16.0  # mm of the datum drawn beyond each end of the visible edge
_CROSS, _CHECK_INWARD = 3.0, 10.0  # half a check mark; mm from the first cut to the marks
CELL_MM, _AROUND = 420.0, 46.0  # mm of a drawing that share their words; and for words around it


def draw(piece: Piece) -> Drawing:
    """The drawing of a piece seen from its face."""
    drawing = wordless(piece)
    said = f"check: {format_mm(drawing.check.length)} mm from cross to cross"
    notes = [(np.array(mark), said) for mark in drawing.check.marks]
    return labelled(drawing, piece, [rectangle(cell) for cell in _cells(piece)], notes)


def wordless(piece: Piece, *, mirrored: bool = False) -> Drawing:
    """The same without hatching and words, which a template's sheets have of their own.

    mirrored: as seen from the back, for cutting from there.
    """
    seen = mirror(piece) if mirrored else piece
    check = _check(seen)
    ticks, stations = station_marks(seen)
    layers = (
        Layer("waste"),
        Layer("room", tuple(_room(seen))),
        Layer("datum", (*_datum(seen), *centre_paths(seen))),
        Layer("blank", (Path(seen.blank.shape.outer, "blank", closed=True),)),
        Layer("cut", (*(path for cut in seen.cuts for path in _cut(cut)), *hole_paths(seen))),
        Layer("stations", tuple(ticks), tuple(stations)),
        Layer("labels"),
        Layer("check", tuple(_check_marks(check))),
    )
    return Drawing(piece.name, layers, check, mirrored)


def labelled(
    drawing: Drawing,
    seen: Piece,
    windows: Sequence[Polygon],
    notes: Sequence[Note],
    marks: Sequence[MatchMark] = (),
    *,
    angle: float = 0.0,
    within: Array | None = None,
) -> Drawing:
    """The drawing with its words written anew, each whole within one of the windows.

    seen: the piece as it lies on the drawing, turned by `angle` radians. notes: words to stand
    beside the check's crosses. Words keep clear of the marks, and hatching is interrupted round
    marks and words in it. within: (N, 2) corners of what is shown, None for all.
    """
    used = [mark.box for mark in marks]
    for name in ("stations", "check"):
        used += [_path_box(path) for path in drawing.layer(name).paths]
    used += [text_box(text) for text in drawing.layer("stations").texts]
    used += [_path_box(path) for path in centre_paths(seen)]
    beside = brackets(seen)
    used += [_path_box(path) for path in beside]
    notes = [*notes, *cut_notes(seen)]
    labels = words(seen, notes, mirrored=drawing.mirrored, windows=windows, taken=used)
    spared = [text_corners(text) for text in labels.texts if text.words in ("WASTE", UP, TOP)]
    spared += [text_corners(text) for text in drawing.layer("stations").texts]
    spared += [mark.corners for mark in marks]
    waste = [part for part in seen.waste if not is_lid(seen, part)]
    hatch = [
        Path(line)
        for part in waste
        for line in hatching(part, HATCH_MM, spared, angle=angle, within=within)
    ]
    labels = Layer(labels.id, (*labels.paths, *beside), labels.texts)
    return drawing.with_layers(Layer("waste", tuple(hatch)), labels)


def _cells(piece: Piece) -> list[Box]:
    """The blank and some room around it, parted so that no part is larger than CELL_MM."""
    low = piece.blank.shape.outer.min(axis=0) - _AROUND
    high = piece.blank.shape.outer.max(axis=0) + _AROUND
    across, up = (max(1, ceil(float(side) / CELL_MM)) for side in high - low)
    x, y = np.linspace(low[0], high[0], across + 1), np.linspace(low[1], high[1], up + 1)
    return [
        (*a, *b)
        for row in pairwise(y)
        for a, b in (((c[0], row[0]), (c[1], row[1])) for c in pairwise(x))
    ]


def _path_box(path: Path) -> Box:
    (x0, y0), (x1, y1) = path.points.min(axis=0), path.points.max(axis=0)
    return float(x0), float(y0), float(x1), float(y1)


def _cut(cut: CutEdge) -> list[Path]:
    """The cut line; dashed where the outline bridges what nobody measured."""
    known = cut.measured[:-1] & cut.measured[1:]
    turns = np.flatnonzero(np.diff(known.astype(int))) + 1
    bounds = [0, *turns.tolist(), len(known)]
    paths = []
    for first, last in pairwise(bounds):
        kind: LineKind = "cut" if known[first] else "bridged"
        paths.append(Path(cut.line[first : last + 1], kind))
    return paths


def _room(piece: Piece) -> list[Path]:
    """The building's own lines near the blank."""
    low = piece.blank.shape.outer.min(axis=0) - _ROOM_SHOWN
    high = piece.blank.shape.outer.max(axis=0) + _ROOM_SHOWN
    paths = []
    for room in piece.room:
        points = room.outline.points
        near = ((points >= low) & (points <= high)).all(axis=1)
        edges = np.flatnonzero(np.diff(np.concatenate([[0], near.astype(int), [0]])))
        for first, last in zip(edges[::2], edges[1::2], strict=True):
            if last - first > 1:
                paths.append(Path(points[first:last]))
    return paths


def _datum(piece: Piece) -> list[Path]:
    """Chain lines that carry the visible edge on beyond the blank: on it they'd hide its line."""
    ends = visible_edge(piece)
    if ends is None:
        return []
    stub = _STUB * (ends[1] - ends[0]) / float(np.hypot(*(ends[1] - ends[0])))
    starts = [cut.start for cut in piece.cuts]  # there the words of station 0 stand
    return [
        Path(np.array([end, end + way]), "datum")
        for end, way in zip(ends, (-stub, stub), strict=True)
        if min(float(np.hypot(*(end - start))) for start in starts) > _STUB
    ]


def _check(piece: Piece) -> CheckDistance:
    """Two marks on the piece, far apart along its first cut, on whole millimetres.

    Where opposite edges are cut they lie from one to the other, so that the tape checks what
    matters and the pages between are printed.
    """
    cut = piece.cuts[0]
    low, high = piece.keep.outer.min(axis=0), piece.keep.outer.max(axis=0)
    keep, narrow = FreeSpace(piece.keep, (*low, *high)), float(min(high - low))
    opposite = any(float(other.out @ cut.out) < -0.5 for other in piece.cuts)
    along = cut.out if opposite else cut.along
    axis = int(np.abs(along).argmax())
    near = float((cut.line.mean(axis=0) - _CHECK_INWARD * cut.out)[1 - axis])
    found = keep.longest_run(axis, min(_CROSS + 2.0, narrow / 6), near)
    assert found is not None  # a piece has an inside
    start, end = found
    length = max(float(np.floor(end[axis] - start[axis])), 1.0)
    end = start.copy()
    end[axis] += length
    return CheckDistance(pair(start), pair(end), length)


def _check_marks(check: CheckDistance) -> list[Path]:
    arms = np.array([[_CROSS, 0.0], [0.0, _CROSS]])
    return [Path(np.array([mark - arm, mark + arm])) for mark in check.marks for arm in arms]
