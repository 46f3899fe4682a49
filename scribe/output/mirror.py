"""A piece as seen from its back. Geometry turns round; words are written afterwards, upright."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scribe.piece import CutEdge, Piece, Polygon


def mirror(piece: Piece) -> Piece:
    """The piece with x turned round; names of edges and ends stay those of the face."""
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
        holes=tuple(
            replace(
                hole,
                lines=tuple(line * flip for line in hole.lines),
                through=(hole.through * flip)[::-1],
                centre=hole.centre * flip,
            )
            for hole in piece.holes
        ),
        splits=tuple(line * flip for line in piece.splits),
    )
