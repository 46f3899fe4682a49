"""Undo how the line was drawn: from the line on the board back to the building.

A washer rolled along the wall with a pencil in its hole draws the parallel curve of its
radius. A pencil in a block that is held square to the datum and slid along the wall draws the
wall shifted by the block's width, the same way everywhere. The two differ on every slope, so
the one that was used must be the one that is undone.
"""

from __future__ import annotations

import numpy as np

from scribe.errors import ScribeError
from scribe.outline import Outline
from scribe.shape.offset import offset_translated, rolled_back


def undo_washer(outline: Outline, radius: float) -> Outline:
    """The wall along which a washer of this radius (hole at its centre) was rolled.

    outline: the line drawn; its solid side is the wall's. The result lies `radius` mm nearer to
    the building. Hollows tighter than the washer come back as arcs of its rim and are marked
    as not measured. Noise in the line grows where it curves around the wall's bumps: smooth
    first.

    Refuses with "probe-size" a radius that isn't positive, and as `rolled_back`.
    """
    _refuse_size(outline, radius, "washer's radius")
    return rolled_back(outline, radius)


def undo_block(outline: Outline, width: float) -> Outline:
    """The wall along which a block of this width was slid, held square to the datum.

    outline: the line drawn, with the datum the block was held to. Exact for any shape the
    edge of the block can follow; turned by q in the hand, the line is shifted by
    width * sin(q) along the wall and falls short by width * (1 - cos(q)).

    Refuses with "probe-size" a width that isn't positive and with "probe-datum" a datum
    that runs across the outline.
    """
    _refuse_size(outline, width, "block's width")
    chord = outline.points[-1] - outline.points[0]
    run = float(chord @ outline.datum.direction) / float(max(np.hypot(*chord), 1e-12))
    if abs(run) < 0.17:  # more than 80 deg: which way is square to the datum can't be told
        raise ScribeError(
            "probe-datum",
            what="the datum runs across the line, so it is unclear which way the block was held",
            where=outline.origin or "outline",
            do="give the datum that the block was held square to",
        )
    left = outline.datum.towards * np.sign(run)
    towards = left if outline.solid == "left" else -left
    moved = offset_translated(outline, width, towards)
    return moved.with_(origin=outline.noted(f"block of width {width:.3f} mm undone"))


def _refuse_size(outline: Outline, size: float, name: str) -> None:
    if not (np.isfinite(size) and size > 0.0):
        raise ScribeError(
            "probe-size",
            what=f"the {name} must be more than nothing, not {size} mm",
            where=outline.origin or "outline",
            do="measure what the pencil was held in and give its size in mm",
        )
