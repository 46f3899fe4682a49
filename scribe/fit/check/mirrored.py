"""A cut edge that fits its line turned over, and not as it lies.

The piece lies face down in the photo, or it was cut by a mirrored template laid on its face: the
commonest way to spoil a piece whose two ends differ.
"""

from __future__ import annotations

import numpy as np

from scribe.cut_check import Compared
from scribe.errors import ScribeError
from scribe.fit.check.compare import Lay, compare
from scribe.outline import Outline
from scribe.piece import CutEdge

_BETTER = 3.0  # times as well, for a line that isn't nearly the same turned over (our choice)


def refuse_mirrored(cut: CutEdge, edge: Outline, found: Compared, lay: Lay, filler: float) -> None:
    """Refuse an edge off its line by more than filler closes that follows it when mirrored."""
    off = _rms(found)
    if off <= 2.0 * float(np.median(found.u)) or float(found.gap.max()) <= filler:
        return
    try:
        other = compare(cut, _turned_over(edge), lay)
    except ScribeError:  # then it lies nowhere near the line
        return
    if _BETTER * _rms(other) > off:
        return
    raise ScribeError(
        "check-mirrored",
        what="the edge fits its line turned over, and not as it lies",
        where=f"{cut.edge} edge",
        do="lay the piece face up and take the photo again; if it lay so, it was cut mirrored, and "
        "fits with its face and back exchanged",
    )


def _turned_over(edge: Outline) -> Outline:
    flip = np.array([-1.0, 1.0])
    return edge.with_(
        points=edge.points * flip,
        shared={name: modes * flip for name, modes in edge.shared.items()},
        solid="right" if edge.solid == "left" else "left",
    )


def _rms(found: Compared) -> float:
    return float(np.sqrt((found.deviation**2).mean()))
