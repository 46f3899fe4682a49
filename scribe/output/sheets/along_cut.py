"""What is to be minded along a cut, on the template: hollows too tight for a tool, a back bevel.

A bracket on the kept side spans the stretch, thin and away from the line, so that nobody cuts
along it; words say what to use there, or what stays square.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.output.piece.drawing import Path
from scribe.output.words import Note
from scribe.piece import CutEdge, Piece
from scribe.quantity import format_mm

Array = npt.NDArray[np.float64]

_AWAY, _TICK = 3.0, 1.5  # mm from the line to the bracket; of its ends, towards the line
_NARROWEST = 4.0  # mm, of a bracket
_WORDS = 12.0  # mm from the line to where its words are wanted


def brackets(piece: Piece) -> list[Path]:
    """A bracket along every tight hollow, every place where the line turns back, and every square
    end of a bevelled edge.
    """
    return [
        _bracket(cut, first, last, _AWAY + row * _TICK)
        for cut in piece.cuts
        for row, (first, last, _) in enumerate(_stretches(cut))
    ]


def cut_notes(piece: Piece) -> list[Note]:
    """The words that belong to the brackets, and the bevel in the middle of its edge."""
    notes: list[Note] = []
    for cut in piece.cuts:
        for first, last, said in _stretches(cut):
            notes.append((_inside(cut, (first + last) / 2.0, _WORDS), said))
        if cut.bevel is not None:
            station = cut.removal.station
            middle = float(station[0] + station[-1]) / 2.0 + 4.0 * _WORDS
            degrees = format_mm(cut.bevel.angle_deg, 1)
            land = format_mm(cut.bevel.land, 1)
            said = f"back bevel {degrees} degrees, land {land} mm"
            notes.append((_inside(cut, middle, _WORDS), said))
    return notes


def _stretches(cut: CutEdge) -> list[tuple[float, float, str]]:
    """First and last station, and what is said of them."""
    found = [
        (spot.start, spot.stop, f"tight for the {spot.tool.name}: {spot.instead}")
        for spot in (cut.passes.tight if cut.passes is not None else ())
    ]
    found += [(*stretch, "turns back: follow the line")
              for stretch in cut.turns_back]  # fmt: skip
    low, high = float(cut.removal.station[0]), float(cut.removal.station[-1])
    for first, last in cut.bevel.square if cut.bevel is not None else ():
        if max(first, low) < min(last, high):
            found.append((max(first, low), min(last, high), "square here: this end is seen"))
    return found


def _bracket(cut: CutEdge, first: float, last: float, away: float) -> Path:
    """Straight, so far inside of the deepest place of the stretch, its ends turned to the line;
    wide enough to be seen as one.
    """
    middle, half = (first + last) / 2.0, max(last - first, _NARROWEST) / 2.0
    first, last = middle - half, middle + half
    at, out = (cut.line - cut.start) @ cut.along, (cut.line - cut.start) @ cut.out
    over = out[(at >= first) & (at <= last)]
    deep = min([float(np.interp(each, at, out)) for each in (first, last)] + over.tolist()) - away
    corners = [(first, deep + _TICK), (first, deep), (last, deep), (last, deep + _TICK)]
    return Path(np.array([cut.start + s * cut.along + d * cut.out for s, d in corners]))


def _inside(cut: CutEdge, station: float, deep: float) -> Array:
    """(2,) the point so far inside the piece, square to the edge, beside a station of the cut."""
    out = (cut.line - cut.start) @ cut.out
    depth = float(np.interp(station, (cut.line - cut.start) @ cut.along, out))
    return np.asarray(cut.start + station * cut.along + (depth - deep) * cut.out)
