"""How high an outline lies over the strips of a run: as stated, held against the photos.

A height is told from the board that the strips are taped to. Inside, the strips' faces are
z = 0: the board lies a paper's thickness below them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.upright import SQUARE
from scribe.errors import ScribeError
from scribe.quantity import format_u
from scribe.recipes.height import JOINT, THICK_U, KnownHeight, before_photos
from scribe.source import PhotoSource

if TYPE_CHECKING:
    from scribe.capture.run.height import RunHeight
    from scribe.capture.run.trace import Piece

Array = npt.NDArray[np.float64]

# The strips' faces lie over the board: paper of 80 to 160 g/m2 is 0.1 to 0.2 mm thick, and some air
# stays under it (common practice, no source). Standard uncertainty.
_PAPER_MM, _PAPER_U = 0.12, 0.05
_LEVEL_MM = 2.0  # an edge no further above the strips lies on the board that they lie on
_WORSE = 2.0  # times the misfit of the likeliest


@dataclass(frozen=True)
class _Told:
    """What the photos tell if those with the board's side in view show its foot, or don't."""

    feet: bool
    seen: RunHeight
    u: float

    def over_board(self) -> str:
        """In words, from the board that the strips lie on."""
        return format_u(self.seen.height + _PAPER_MM, 2.0 * self.u)


def before_run(source: PhotoSource) -> KnownHeight:
    """What is known before photos are compared, over the strips' faces."""
    known = before_photos(source)
    u = float(np.hypot(known.u, _PAPER_U))
    return replace(known, height=known.height - _PAPER_MM, u=u)


def settled_run(
    source: PhotoSource, before: KnownHeight, pieces: Sequence[Piece], roots: Mapping[str, Array]
) -> tuple[KnownHeight, list[Piece], list[str]]:
    """The height, the stretches each at the height of what it shows, and what is to be said.

    A line lies on the board that the strips lie on unless somebody says otherwise, and so does
    an edge that the photos tell to lie level with them. Any other edge must be stated
    ("run-height"), and not against what the photos tell ("height-contradicts").
    """
    alone = replace(before, alone=source.height is not None)
    if source.of == "line":
        return *_of_line(alone, pieces, roots), []
    if source.height == 0.0:
        return alone, list(pieces), []
    told = _told(source, pieces, roots)
    if source.height is None:
        return _level(told, pieces), list(pieces), []
    if not told:
        return _untold(source, alone, pieces)

    best = min(told, key=lambda one: abs(one.seen.height - before.height))
    if abs(best.seen.height - before.height) > JOINT * float(np.hypot(best.u, before.u)):
        raise _contradicted(before, told[0].over_board(), pieces)
    return before, _at_their_feet(pieces, before) if best.feet else list(pieces), []


def _of_line(
    before: KnownHeight, pieces: Sequence[Piece], roots: Mapping[str, Array]
) -> tuple[KnownHeight, list[Piece]]:
    """A line lies on the strips' board: how far below their faces, the photos tell as well.

    Both are weighed; refuses a line that lies elsewhere ("height-contradicts").
    """
    from scribe.capture.run.height import at_height, height_of_run

    seen = height_of_run(pieces, roots)
    if seen is None:
        return before, list(pieces)
    u = float(np.hypot(seen.u, THICK_U["line"]))
    off = seen.height - before.height
    if abs(off) > max(JOINT * float(np.hypot(u, before.u)), _LEVEL_MM):
        raise _contradicted(before, format_u(seen.height + _PAPER_MM, 2.0 * u), pieces)
    a, b = 1.0 / before.u**2, 1.0 / u**2
    height = before.height + off * b / (a + b)
    settled = replace(before, height=height, u=float(1.0 / np.sqrt(a + b)), alone=False)
    return settled, [at_height(piece, height) for piece in pieces]


def _contradicted(before: KnownHeight, told: str, pieces: Sequence[Piece]) -> ScribeError:
    return ScribeError(
        "height-contradicts",
        what=f"its height above the board that carries the strips is {before.words}, and the"
        f" photos tell {told}",
        where=f"{len(pieces)} photos from {pieces[0].name}",
        do="measure again how far it lies above that board and give it as {height}, and take"
        " photos that show the side of a board again from over it",
    )


def _told(source: PhotoSource, pieces: Sequence[Piece], roots: Mapping[str, Array]) -> list[_Told]:
    """What the overlaps tell, once for each of what photos may show that see a board's side.

    The likeliest first, and none that fits far worse.
    """
    from scribe.capture.run.height import height_of_run, side_in_view

    found = []
    in_doubt = source.of == "edge" and any(side_in_view(piece) for piece in pieces)
    for feet in (False, True) if in_doubt else (False,):
        seen = height_of_run(pieces, roots, -_PAPER_MM if feet else None)
        if seen is not None:
            found.append(_Told(feet, seen, float(np.hypot(seen.u, THICK_U[source.of]))))
    found.sort(key=lambda one: one.seen.misfit)
    return [one for one in found if one.seen.misfit <= _WORSE * found[0].seen.misfit]


def _untold(
    source: PhotoSource, before: KnownHeight, pieces: Sequence[Piece]
) -> tuple[KnownHeight, list[Piece], list[str]]:
    """The height as stated; where a foot may have been traced, U covers that too."""
    from scribe.capture.run.height import side_in_view

    low = [piece.name for piece in pieces if source.of == "edge" and side_in_view(piece)]
    if not low or before.height < _LEVEL_MM:
        return before, list(pieces), []
    said = (
        f"{low[0]} looks at the side of the board, and may show its foot instead of its upper edge:"
        " U covers both. Take it again from over the board."
    )
    return replace(before, u=float(np.hypot(before.u, before.height / 2.0))), list(pieces), [said]


def _level(told: list[_Told], pieces: Sequence[Piece]) -> KnownHeight:
    """Level with the strips, if that is what the photos tell; else refused."""
    for one in told:
        off = abs(one.seen.height + _PAPER_MM)
        if not one.feet and off <= max(2.0 * one.u, _LEVEL_MM):
            words = f"level with the strips, {one.over_board()} by the photos"
            return KnownHeight(-_PAPER_MM, max(one.u, off), words)
    words = told[0].over_board() if told else "nothing"
    doubt = ", but some may show the foot of the board" if len(told) > 1 else ""
    raise ScribeError(
        "run-height",
        what=f"how high the edge lies above the strips isn't stated (the photos tell {words}"
        f"{doubt})",
        where=f"{len(pieces)} photos from {pieces[0].name}",
        do="measure the board's thickness and give {height}, or 0 where both lie level",
    )


def _at_their_feet(pieces: Sequence[Piece], before: KnownHeight) -> list[Piece]:
    """The stretches, those with the board's side in view on the board that they stand on."""
    from scribe.capture.run.height import at_height, side_in_view

    unsquare = SQUARE * (before.height + _PAPER_MM)
    return [
        replace(at_height(piece, -_PAPER_MM), unsquare=unsquare) if side_in_view(piece) else piece
        for piece in pieces
    ]
