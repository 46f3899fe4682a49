"""What a check is given: the cut that is meant, and its edge as it was taken.

In: files, and what is known of them. Out: an outline from photos or points, or gaps as felt.
Refusals of tracing say what to do at a check.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from scribe.cut_check import Compared
from scribe.errors import ScribeError
from scribe.facing import Building
from scribe.fit.check.compare import Lay, felt
from scribe.fit.check.moved import ALONG_MM, TURN_MM
from scribe.outline import Outline
from scribe.outline_file import read_csv
from scribe.piece import CutEdge, Piece
from scribe.places import said
from scribe.print_scale import PrintScale
from scribe.source import PhotoSource
from scribe.tape import TapeReading

Progress = Callable[[str], None]

_FELT_U = 0.05  # mm, of a gap felt with leaves (common practice, no source)

_TOWARDS: dict[str, Building] = {
    "top": "above", "bottom": "below", "left": "left", "right": "right",
}  # fmt: skip
# Tracing may ask to be shown where the outline runs, for a described board, or for the paper's
# word: a check takes none of them. What to do there instead, by the kind of the refusal.
_INSTEAD = {
    "another-kind": "lay the cut edge itself into the window, and take the photo again",
    "edge-covered": "take hands and tools off it and take the photo again",
    "edge-parted": "take the offcut away and take the photo again",
    "outline-ambiguous": "lay the cut edge into the window with nothing else, and take the photo"
    " again",
    "outline-not-found": "lay the cut edge across the window, light it better, and take the photo"
    " again",
    "photo-no-marks": "lay the printed target under the cut edge, hold the phone still, and take"
    " the photo so that the whole sheet is in it, and not mirrored",
    "print-scale-wrong": "print it again at 100 %; or measure both check bars of this very sheet"
    " and give {bars}",
    "run-disagrees": "take the photos again without moving anything between them",
}

_ANYWHERE = {"height": "the height of the edge above the sheet"}


@dataclass(frozen=True)
class CheckSource:
    """What was cut and what was found. files: photos of the edge, or one CSV: its points, or
    station and gap felt along the fitted piece. edge: which cut of the piece, None when it has
    one. height: of the edge above the sheet, None for the blank's thickness. filler: mm of
    gap that filler may close, None for the job's. lay: what is known of where the edge lies,
    with widths of the cut piece: station and mm. along, turn: mm by which the piece may be shifted,
    and one end taken in against the other, to save it. print_scale, camera, tapes: as for
    tracing; photos of strips laid along an edge longer than one sheet are solved together.
    """

    job: Path
    piece: str
    files: tuple[Path, ...]
    edge: str | None = None
    height: float | None = None
    filler: float | None = None
    lay: Lay = "free"
    widths: tuple[tuple[float, float], ...] = ()
    along: float = ALONG_MM
    turn: float = TURN_MM
    print_scale: PrintScale | None = None
    camera: Path | None = None
    tapes: tuple[TapeReading, ...] = ()


def cut_meant(piece: Piece, source: CheckSource) -> CutEdge:
    """The cut of the piece that is to be checked."""
    named = [cut for cut in piece.cuts if source.edge in (None, cut.edge)]
    if len(named) != 1:
        edges = ", ".join(dict.fromkeys(cut.edge for cut in piece.cuts)) or "none"
        raise ScribeError(
            "check-edge",
            what=f"{source.piece} is cut along these edges: {edges}",
            where=str(source.job),
            do="name the one to check {edge}",
        )
    return named[0]


def edge_taken(
    source: CheckSource, piece: Piece, cut: CutEdge, progress: Progress
) -> tuple[Outline | Compared, tuple[bytes, ...], tuple[str, ...]]:
    """The edge as it was measured, or gaps that were felt; the photos' overlays, and what the
    edge's U takes for granted.
    """
    if source.files and all(path.suffix.lower() == ".csv" for path in source.files):
        return _from_csv(source, cut), (), ()
    if source.lay == "piece":
        raise ScribeError(
            "check-lay",
            what="a photo doesn't tell where the edge lies on the piece",
            where=", ".join(path.name for path in source.files),
            do="leave out {lay}, or measure two widths and give {width}",
        )
    from scribe.recipes.trace import trace

    height = piece.blank.thickness if source.height is None else source.height
    photos = PhotoSource(
        source.files, "edge", height=height, print_scale=source.print_scale,
        camera=source.camera, tapes=source.tapes,
    )  # fmt: skip
    try:
        traced = trace(photos, progress, certain=True)
    except ScribeError as refusal:
        do = _INSTEAD.get(refusal.kind, refusal.do)
        raise ScribeError(refusal.kind, what=refusal.what, where=refusal.where, do=do) from refusal
    assumes = tuple(said(each, _ANYWHERE) for each in traced.assumes)
    return traced.outline, traced.overlays, assumes


def _from_csv(source: CheckSource, cut: CutEdge) -> Outline | Compared:
    from scribe.capture.numbers.readings_table import read_table

    if len(source.files) != 1:
        raise ScribeError(
            "check-files",
            what=f"{len(source.files)} tables are too many",
            where=", ".join(path.name for path in source.files),
            do="give one table, or photos",
        )
    path = source.files[0]
    head = path.read_text(encoding="utf-8-sig").splitlines()[:1] if path.is_file() else [""]
    if "x_mm" in "".join(head):
        return read_csv(path, building=_TOWARDS[cut.edge] if source.lay == "piece" else "above")
    if source.lay != "free" or source.widths:
        raise ScribeError(
            "check-lay",
            what="gaps felt along the fitted piece tell its place themselves",
            where=path.name,
            do="leave out {lay} and {width}",
        )
    table = read_table(path)
    table.need("station", "offset")
    return felt(cut, table.lengths("station"), table.lengths("offset"), _FELT_U)
