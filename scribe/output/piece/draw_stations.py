"""The stations of a piece's cuts as they are drawn: a tick outside the blank, and its words."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.geom.polyline import line_through
from scribe.output.piece.drawing import Box, Path, Text, text_box, text_size
from scribe.output.piece.table import other_side, remove_text, station_text
from scribe.piece import CutEdge, Piece

Array = npt.NDArray[np.float64]

_TICK, _LABEL = 3.0, 3.5  # mm beyond the blank's edge; height of a station's words
_BESIDE = 1.5  # mm between a tick and its words
_FAR, _AMID = 60.0, 12.0  # mm: an edge further from the line; from there to words amid a tick
_ROW = 5.0  # mm that a station's words need along the edge


def station_marks(piece: Piece) -> tuple[list[Path], list[Text]]:
    """A tick from the cut line out over the blank's edge at every row of the tables, with words:
    beyond the edge, or amid the tick where the edge is far from the line.
    """
    ticks: list[Path] = []
    texts: list[Text] = []
    for cut in piece.cuts:
        table = cut.removal
        rank = {"end": 0, "corner": 1, "hollow": 2, "peak": 2, "step": 3}
        shown: list[float] = []
        for row in sorted(range(len(table.station)), key=lambda k: (rank[table.kind[k]], k)):
            station, remove = float(table.station[row]), float(table.remove[row])
            foot = cut.start + station * cut.along
            across = line_through(piece.blank.shape.outer, foot, cut.out)
            edge = foot if across is None else across[1]
            on_line, end = edge - remove * cut.out, edge + _TICK * cut.out
            ticks.append(Path(np.array([on_line, end])))
            if any(abs(station - other) < _ROW for other in shown):
                continue
            shown.append(station)
            past = other_side(table, row)
            to = "" if past is None else f" to {remove_text(float(table.remove[past]))}"
            words = f"{station_text(table, row)}: {remove_text(remove)}{to}"
            text = _beyond(words, end + _BESIDE * cut.out, cut.out)
            amid = _amid(piece, cut, words, on_line) if remove > _FAR else None
            if amid is not None:
                text, width = amid, text_size(amid)[0]
                beyond = on_line + (_AMID + width + 2 * _BESIDE) * cut.out
                ticks[-1] = Path(np.array([on_line, on_line + _AMID * cut.out]))
                ticks.append(Path(np.array([beyond, end])))
            if not any(_touch(text_box(text), text_box(other)) for other in texts):
                texts.append(text)
    return ticks, texts


def _amid(piece: Piece, cut: CutEdge, words: str, on_line: Array) -> Text | None:
    """Words near the line, in the waste, clear of cuts and of the blank's edges."""
    lines = np.vstack([each.line for each in piece.cuts])
    low, high = piece.blank.shape.outer.min(axis=0), piece.blank.shape.outer.max(axis=0)
    for aside in (0.0, _LABEL, -_LABEL):
        at = on_line + (_AMID + _BESIDE) * cut.out + aside * cut.along
        text = _beyond(words, at, cut.out)
        box = np.array(text_box(text))
        within = (box[:2] > low).all() and (box[2:] < high).all()
        if within and not ((lines > box[:2]) & (lines < box[2:])).all(axis=1).any():
            return text
    return None


def _touch(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _beyond(words: str, at: Array, out: Array) -> Text:
    """Words that start at a point and run outwards, readable from below or from the right."""
    angle = float(np.degrees(np.arctan2(out[1], out[0])))
    backwards = angle > 91.0 or angle <= -89.0
    turned = angle - 180.0 if backwards else angle
    drop = np.array([-np.sin(np.radians(turned)), np.cos(np.radians(turned))]) * (_LABEL / 2)
    return Text(pair(at - drop), words, _LABEL, "end" if backwards else "start", turned)


def pair(point: Array) -> tuple[float, float]:
    """A point (2,) as texts and marks have it."""
    return float(point[0]), float(point[1])
