"""A piece as seen from its back, or turned on the paper. Words are written afterwards, upright."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from scribe.geom.frames import turned
from scribe.output.piece.drawing import Drawing, Text, centred, text_box
from scribe.piece import CutEdge, Piece, Polygon

Array = npt.NDArray[np.float64]


def mirror(piece: Piece) -> Piece:
    """The piece with x turned round; names of edges and ends stay those of the face."""
    return _seen(piece, np.diag([-1.0, 1.0]))


def turn(piece: Piece, angle: float) -> Piece:
    """The piece turned counter-clockwise about the origin, by radians."""
    return _seen(piece, turned(angle).rotation) if angle else piece


def _seen(piece: Piece, change: Array) -> Piece:
    """change: (2, 2), orthogonal. What turns round keeps its rings counter-clockwise."""
    round_ = -1 if np.linalg.det(change) < 0.0 else 1

    def points(each: Array) -> Array:
        return np.asarray(each @ change.T)

    def ring(each: Array) -> Array:
        return points(each)[::round_]

    def side(named: str) -> Literal["left", "right"]:
        return "left" if (named == "left") == (round_ > 0) else "right"

    def polygon(area: Polygon) -> Polygon:
        return Polygon(ring(area.outer), tuple(ring(hole) for hole in area.holes))

    def edge(cut: CutEdge) -> CutEdge:
        return replace(
            cut,
            line=points(cut.line),
            start=points(cut.start),
            along=points(cut.along),
            out=points(cut.out),
            keep=side(cut.keep),
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
                    points=points(room.outline.points), solid=side(room.outline.solid)
                ),
            )
            for room in piece.room
        ),
        up=points(piece.up),
        holes=tuple(
            replace(
                hole,
                lines=tuple(points(line) for line in hole.lines),
                through=ring(hole.through),
                centre=points(hole.centre),
            )
            for hole in piece.holes
        ),
        splits=tuple(points(line) for line in piece.splits),
    )


def turned_drawing(drawing: Drawing, angle: float) -> Drawing:
    """The drawing turned about the origin, by radians; stations' words stay readable."""
    if angle == 0.0:
        return drawing
    frame = turned(angle)
    layers = [
        replace(
            layer,
            paths=tuple(replace(p, points=frame.apply(p.points)) for p in layer.paths),
            texts=tuple(_turned_text(text, angle) for text in layer.texts),
        )
        for layer in drawing.layers
    ]
    return replace(drawing, layers=tuple(layers))


def _turned_text(text: Text, angle: float) -> Text:
    """Readable from below or from the right, as before."""
    x0, y0, x1, y1 = text_box(text)
    middle = turned(angle).apply(np.array([(x0 + x1) / 2, (y0 + y1) / 2]))
    turn_deg = text.angle_deg + float(np.degrees(angle))
    if turn_deg > 91.0:
        turn_deg -= 180.0
    elif turn_deg <= -89.0:
        turn_deg += 180.0
    return centred(replace(text, angle_deg=turn_deg), middle)
