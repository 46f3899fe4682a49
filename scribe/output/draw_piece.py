"""A piece as a drawing: what to keep, what is waste, and what comes off at every station.

The geometry is turned as the reader sees it: as it is for the face, mirrored in x for the
back. Words are never mirrored. Station marks stand outside the blank, where they cross
nothing; words about the piece stand inside the part they speak of.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from scribe.output.drawing import CheckDistance, Drawing, Layer, LineKind, Path, Text
from scribe.output.free_space import FreeSpace, hatching
from scribe.piece import CutEdge, Piece, Polygon
from scribe.quantity import format_mm, round_down_mm

Array = npt.NDArray[np.float64]

FACE = "FACE - seen when fitted"
BACK = "BACK - cut from this side"
MIRRORED = "MIRRORED - CUT FROM THE BACK"

HATCH_MM = 4.0
_TICK, _LABEL = 3.0, 3.5  # mm beyond the blank's edge; height of a station's words
_ROW = 5.0  # mm that a station's words need along the edge
_BIG, _SMALL = 8.0, 3.5  # largest and smallest words about the piece
_ROOM_SHOWN = 6.0  # mm of the building's line shown beyond the blank
_CROSS = 3.0  # half a check mark
_KEEP_EVERY, _INWARD = 230.0, 22.0  # mm along a cut from KEEP to KEEP, and how far inside
# Average widths of Helvetica's letters over a capital's height, on the generous side.
_CAPITAL, _OTHER, _BOLDER = 0.98, 0.75, 1.06


def draw(piece: Piece, *, mirrored: bool = False) -> Drawing:
    """The drawing of a piece seen from its face, or mirrored for cutting from its back."""
    seen = _mirrored(piece) if mirrored else piece
    paths, texts, check = _words(seen, mirrored)
    ticks, stations = _stations(seen)
    layers = (
        Layer(
            "waste", tuple(Path(line) for part in seen.waste for line in hatching(part, HATCH_MM))
        ),
        Layer("room", tuple(_room(seen))),
        Layer("datum", *_datum(seen)),
        Layer("blank", (Path(seen.blank.shape.outer, "blank", closed=True),)),
        Layer("cut", tuple(path for cut in seen.cuts for path in _cut(cut))),
        Layer("stations", tuple(ticks), tuple(stations)),
        Layer("labels", tuple(paths), (*texts, *_outside(seen, mirrored))),
        Layer("check", *_check_marks(check)),
    )
    return Drawing(piece.name, layers, check, mirrored)


def text_size(text: Text) -> tuple[float, float]:
    """(width, height) mm that the words take before they are turned."""
    letters = sum(_CAPITAL if letter.isupper() else _OTHER for letter in text.words)
    return letters * text.size * (_BOLDER if text.bold else 1.0), text.size * 1.3


def _mirrored(piece: Piece) -> Piece:
    flip = np.array([-1.0, 1.0])

    def polygon(area: Polygon) -> Polygon:
        return Polygon((area.outer * flip)[::-1], tuple((h * flip)[::-1] for h in area.holes))

    def edge(cut: CutEdge) -> CutEdge:
        return replace(
            cut,
            line=cut.line * flip,
            start=cut.start * flip,
            along=cut.along * flip,
            out=cut.out * flip,
            keep="left" if cut.keep == "right" else "right",
        )

    return replace(
        piece,
        blank=replace(piece.blank, shape=polygon(piece.blank.shape)),
        keep=polygon(piece.keep),
        waste=tuple(polygon(part) for part in piece.waste),
        cuts=tuple(edge(cut) for cut in piece.cuts),
        room=tuple(
            replace(
                room,
                outline=room.outline.with_(
                    points=room.outline.points * flip,
                    solid="left" if room.outline.solid == "right" else "right",
                ),
            )
            for room in piece.room
        ),
        up=piece.up * flip,
    )


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


def _datum(piece: Piece) -> tuple[tuple[Path, ...], tuple[Text, ...]]:
    """A chain line along the visible edge opposite the first cut, just outside of the blank."""
    cut, outer = piece.cuts[0], piece.blank.shape.outer
    if any(float(other.out @ cut.out) < -0.5 for other in piece.cuts):
        return (), ()  # the opposite edge is cut as well
    depth = float((outer @ -cut.out).max())
    ends = [float((outer @ cut.along).min()), float((outer @ cut.along).max())]
    line = np.array([end * cut.along - (depth + 2.5) * cut.out for end in ends])
    middle = line.mean(axis=0) - 4.5 * cut.out
    words = Text(_pair(middle), "visible edge", _SMALL, angle_deg=_upright(cut.along))
    return (Path(line, "datum"),), (words,)


def _stations(piece: Piece) -> tuple[list[Path], list[Text]]:
    """A tick from the cut line out over the blank's edge at every row of the tables, with words."""
    ticks, texts = [], []
    for cut in piece.cuts:
        table = cut.removal
        rank = {"end": 0, "corner": 1, "hollow": 2, "peak": 2, "step": 3}
        shown: list[float] = []
        for row in sorted(range(len(table.station)), key=lambda k: (rank[table.kind[k]], k)):
            station, remove = float(table.station[row]), float(table.remove[row])
            foot = cut.start + station * cut.along
            edge = foot + (cut.out @ (_border(piece, foot, cut.out) - foot)) * cut.out
            ticks.append(Path(np.array([edge - remove * cut.out, edge + _TICK * cut.out])))
            if any(abs(station - other) < _ROW for other in shown):
                continue
            shown.append(station)
            off = format_mm(round_down_mm(max(remove, 0.0), 0.1))
            words = f"{format_mm(station, 0)}: {off}"
            at = edge + (_TICK + 1.5) * cut.out
            texts.append(_beyond(words, at, cut.out))
    return ticks, texts


def _border(piece: Piece, foot: Array, out: Array) -> Array:
    """Where the blank's border lies square out from a point on the line between its ends."""
    ring = piece.blank.shape.outer
    side = np.array([-out[1], out[0]])
    a, b = ring - foot, np.roll(ring, -1, axis=0) - foot
    across_a, across_b = a @ side, b @ side
    met = np.flatnonzero((across_a <= 1e-9) != (across_b <= 1e-9))
    if not len(met):
        return foot
    share = across_a[met] / (across_a[met] - across_b[met])
    depth = a[met] @ out + share * ((b[met] - a[met]) @ out)
    return np.asarray(foot + float(depth.max()) * out)


def _beyond(words: str, at: Array, out: Array) -> Text:
    """Words that start at a point and run outwards, readable from below or from the right."""
    angle = float(np.degrees(np.arctan2(out[1], out[0])))
    backwards = angle > 91.0 or angle <= -89.0
    turned = angle - 180.0 if backwards else angle
    drop = np.array([-np.sin(np.radians(turned)), np.cos(np.radians(turned))]) * (_LABEL / 2)
    return Text(_pair(at - drop), words, _LABEL, "end" if backwards else "start", turned)


def _words(piece: Piece, mirrored: bool) -> tuple[list[Path], list[Text], CheckDistance]:
    """KEEP, side, UP and name inside the piece; WASTE inside what falls off."""
    keep = FreeSpace(piece.keep)
    low, high = piece.keep.outer.min(axis=0), piece.keep.outer.max(axis=0)
    check = _check(piece, keep, float(min(high - low)))
    words = _check_words(check)
    width, height = text_size(words)
    keep.take(np.array(words.at) + np.array([width / 2, height / 3]), (width, height), 0.5)
    texts: list[Text] = []
    paths: list[Path] = []

    def put(words: str, wanted: Array, size: float, bold: bool) -> None:
        while size >= _SMALL:
            text = Text((0.0, 0.0), words, size, bold=bold)
            found = keep.place(text_size(text), wanted)
            if found is not None:
                keep.take(found, text_size(text), 1.5)
                texts.append(replace(text, at=_pair(found - [0.0, size / 2])))
                return
            size *= 0.85

    for cut in piece.cuts:
        for spot in _beside(cut, _KEEP_EVERY):
            put("KEEP", spot, _BIG, True)
    beside = _beside(piece.cuts[0], np.inf)[0]
    put(BACK if mirrored else FACE, beside - np.array([0.0, 2 * _BIG]), 6.0, True)
    put(piece.name, beside + np.array([60.0, 0.0]), 5.0, False)
    scale = 1.0
    arrow = keep.place((14.0, 26.0), beside - np.array([60.0, 0.0]))
    if arrow is None:
        scale = 0.6
        arrow = keep.place((9.0, 16.0), beside - np.array([60.0, 0.0]))
    if arrow is not None:
        paths, word = _up(piece.up, arrow, scale)
        texts.append(word)
    texts.extend(text for part in piece.waste for text in _waste(part))
    return paths, texts, check


def _waste(part: Polygon) -> list[Text]:
    """WASTE where there is room for it; the hatching says it everywhere."""
    space = FreeSpace(part)
    for size in (6.0, 4.5, _SMALL):
        text = Text((0.0, 0.0), "WASTE", size, bold=True)
        at = space.place(text_size(text), part.outer.mean(axis=0))
        if at is not None:
            return [replace(text, at=_pair(at - np.array([0.0, size / 2])))]
    return []


def _beside(cut: CutEdge, every: float) -> list[Array]:
    """Places on the keep side of a cut, one to every so many mm of it."""
    place = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(cut.line, axis=0).T))])
    count = max(1, round(place[-1] / every))
    at = (np.arange(count) + 0.5) * place[-1] / count
    spots = np.column_stack([np.interp(at, place, cut.line[:, k]) for k in (0, 1)])
    return list(spots - _INWARD * cut.out)


def _up(up: Array, centre: Array, scale: float) -> tuple[list[Path], Text]:
    """An arrow that points up in the room, with its word."""
    side = np.array([-up[1], up[0]])
    tip, neck = centre + 11 * scale * up, centre + 5 * scale * up
    head = [tip, neck + 4.5 * scale * side, neck - 4.5 * scale * side]
    shaft = np.array([neck, centre - 3 * scale * up])
    word = Text(_pair(centre - 10 * scale * up - [0.0, 2.0 * scale]), "UP", 5 * scale, bold=True)
    return [Path(np.array(head), "cut", closed=True), Path(shaft, "cut")], word


def _outside(piece: Piece, mirrored: bool) -> list[Text]:
    """WALL SIDE along each cut, what is mirrored, and what the hatching means."""
    texts = []
    outer = piece.blank.shape.outer
    for cut in piece.cuts:
        _, marks = _stations(replace(piece, cuts=(cut,)))
        length = max(text_size(mark)[0] for mark in marks)
        depth = float((outer @ cut.out).max()) + _TICK + length + 7.0
        middle = float((outer @ cut.along).min() + (outer @ cut.along).max()) / 2
        at = middle * cut.along + depth * cut.out
        words = f"WALL SIDE: {cut.name}"
        texts.append(Text(_pair(at), words, 6.0, angle_deg=_upright(cut.along), bold=True))
    low = outer.min(axis=0)
    ends = {cut.edge for cut in piece.cuts}
    lines = ["hatched: waste. Thick line: cut. 120: 3.4 means 3.4 mm come off at 120."]
    if mirrored:
        lines.insert(0, MIRRORED)
    y = low[1] - (16.0 if "top" in ends else 8.0) - (30.0 if "bottom" in ends else 0.0)
    for words in lines:
        big = words == MIRRORED
        texts.append(
            Text((float(low[0]), float(y)), words, 6.0 if big else _SMALL, "start", bold=big)
        )
        y -= 8.0
    return texts


def _check(piece: Piece, keep: FreeSpace, narrow: float) -> CheckDistance:
    """Two marks on the piece, far apart along its first cut, on whole millimetres.

    Where opposite edges are cut they lie from one to the other, so that the tape checks what
    matters and the pages between are printed.
    """
    cut = piece.cuts[0]
    opposite = any(float(other.out @ cut.out) < -0.5 for other in piece.cuts)
    along = cut.out if opposite else cut.along
    axis = int(np.abs(along).argmax())
    near = float((cut.line.mean(axis=0) - _INWARD * cut.out)[1 - axis])
    found = keep.longest_run(axis, min(_CROSS + 2.0, narrow / 6), near)
    assert found is not None  # a piece has an inside
    start, end = found
    length = max(float(np.floor(end[axis] - start[axis])), 1.0)
    end = start.copy()
    end[axis] += length
    for mark in (start, end):
        keep.take(mark, (2 * _CROSS, 2 * _CROSS))
    return CheckDistance(_pair(start), _pair(end), length)


def _check_marks(check: CheckDistance) -> tuple[tuple[Path, ...], tuple[Text, ...]]:
    arms = np.array([[_CROSS, 0.0], [0.0, _CROSS]])
    marks = (np.array(check.start), np.array(check.end))
    paths = tuple(Path(np.array([mark - arm, mark + arm])) for mark in marks for arm in arms)
    return paths, (_check_words(check),)


def _check_words(check: CheckDistance) -> Text:
    at = (check.start[0] + _CROSS + 1.0, check.start[1] + 0.8)
    return Text(at, f"check: {format_mm(check.length)} mm from cross to cross", 2.5, "start")


def _upright(along: Array) -> float:
    """The angle of a direction at which words stand upright or read from the right."""
    angle = float(np.degrees(np.arctan2(along[1], along[0])))
    return angle - 180.0 if angle > 91.0 else angle + 180.0 if angle <= -89.0 else angle


def _pair(point: Array) -> tuple[float, float]:
    return float(point[0]), float(point[1])
