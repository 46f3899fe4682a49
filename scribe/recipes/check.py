"""`scribe check`: the cut edge against the line it was to follow, and the second cut."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from scribe.cut_check import Compared, CutCheck
from scribe.errors import ScribeError
from scribe.files import ready_folder, refuse_existing, write_together
from scribe.fit.check.compare import Lay, Width, compare, felt
from scribe.fit.check.mirrored import refuse_mirrored
from scribe.fit.check.moved import ALONG_MM, TURN_MM, best_move
from scribe.fit.check.second import second_piece
from scribe.job import Job
from scribe.job_file import read_job
from scribe.outline import Building, Outline
from scribe.outline_file import read_csv
from scribe.piece import CutEdge, Piece
from scribe.places import JOB, Words, said, telling
from scribe.print_scale import PrintScale
from scribe.quantity import round_down_mm
from scribe.recipes.make import fitted_piece, piece_contents, straight_words
from scribe.source import PhotoSource
from scribe.tape import TapeReading

Progress = Callable[[str], None]

_FELT_U = 0.05  # mm, of a gap felt with leaves (common practice, no source)
REPORT = "check.html"
_TOWARDS: dict[str, Building] = {
    "top": "above", "bottom": "below", "left": "left", "right": "right",
}  # fmt: skip
# Tracing may ask to be shown where the outline runs, for a described board, or for the paper's
# word: a check takes none of them. What to do there instead, by the kind of the refusal.
_INSTEAD = {
    "edge-covered": "take hands and tools off it and take the photo again",
    "outline-ambiguous": "lay the cut edge into the window with nothing else, and take the photo"
    " again",
    "outline-not-found": "lay the cut edge across the window, light it better, and take the photo"
    " again",
    "photo-no-marks": "lay the printed target under the cut edge and take the photo so that the"
    " whole sheet is in it",
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


@dataclass(frozen=True)
class Checked:
    """What was found of a piece's cut. overlays: PNGs of the photos."""

    piece: str
    check: CutCheck
    overlays: tuple[bytes, ...]
    job: Job

    def lines(self) -> list[str]:
        """What was found, for people."""
        from scribe.output.check.check_words import check_lines

        return check_lines(self.check)

    def verdict(self) -> str:
        """Does it fit, in a sentence: one of the lines."""
        from scribe.output.check.check_words import verdict

        return verdict(self.check)

    def summary(self) -> dict[str, Any]:
        """For another program."""
        check, found = self.check, self.check.found
        return {
            "edge": check.cut.edge,
            "outline": check.cut.name,
            "coverage": round(found.coverage, 3),
            "laid": found.laid.words,
            "deviation_mm": [
                round(float(found.deviation.min()), 3),
                round(float(found.deviation.max()), 3),
            ],
            "u95_mm": round(float(2 * np.median(found.u)), 3),
            "gap_mm": round(float(found.gap.max()), 3),
            "filler_mm": check.filler,
            "second_cut_mm": round_down_mm(float(found.second.max()), 0.001),
            "moves": {
                name: {
                    "along_mm": round(move.along, 3),
                    "into_mm": round(move.into, 3),
                    "turn_mm": round(move.turn, 3),
                    "gap_mm": round(move.gap, 3),
                }
                for name, move in (("shift", check.shift), ("shift and turn", check.both))
                if move is not None and np.isfinite(move.gap)
            },
            "straightness": dict(check.straightness),
            "verdict": self.verdict(),
            "said": self.lines(),
        }


def check(source: CheckSource, progress: Progress = lambda _: None, words: Words = JOB) -> Checked:
    """Fit the piece as `make` does, measure the edge, compare.

    words: in which it tells what is amiss with the job's own outlines.
    """
    with telling(words):
        job = read_job(source.job)
        piece = fitted_piece(job, source.piece, progress)
    cut = _cut(piece, source)
    filler = job.filler if source.filler is None else source.filler
    edge, overlays, assumes = _edge(source, piece, cut, progress)
    if isinstance(edge, Compared):
        found = edge
    else:
        widths = [Width(*each) for each in source.widths]
        found = compare(cut, edge, source.lay, widths, piece.keep)
        if source.lay != "piece":
            refuse_mirrored(cut, edge, found, source.lay, filler)
    progress("looking whether a shift saves it")
    judged = _judged(job, piece, cut, found, filler, edge, (source.along, source.turn))
    return Checked(source.piece, replace(judged, assumes=assumes), overlays, job)


def _judged(
    job: Job,
    piece: Piece,
    cut: CutEdge,
    found: Compared,
    filler: float,
    edge: Outline | Compared,
    limits: tuple[float, float],
) -> CutCheck:
    """With the moves that help and the second cut, where more gapes than U and the plan explain."""
    known = found.laid.along and found.laid.across
    judged = CutCheck(
        cut=cut,
        found=found,
        up=piece.up,
        level=piece.level,
        filler=filler,
        shift=None,
        both=None,
        limits=limits,
        held=tuple(other.edge for other in piece.cuts if known and other.edge != cut.edge),
        sealed=tuple(
            other.edge for other in piece.cuts if other.seal and (known or other.edge == cut.edge)
        ),
        straightness=_straight(piece, cut, found, edge),
        second=None,
    )
    if judged.as_planned:
        return judged
    rest, (along, turn) = piece if known else None, limits
    second: Piece | str | None = None
    if float(found.gap.max()) > filler:
        step = next(each.step for each in job.pieces if each.name == piece.name)
        second = second_piece(piece, cut, found, job.tools, step=step)
    return replace(
        judged,
        shift=best_move(cut, found.edge, rest, filler, along=along, turn=0.0),
        both=best_move(cut, found.edge, rest, filler, along=along, turn=turn),
        second=second,
    )


def write_check(checked: Checked, out: Path, *, force: bool) -> list[Path]:
    """Write the report, its drawing, second-cut.csv, the overlays, and what to print when a second
    cut is needed.
    """
    from scribe.output.check.check_report import check_html
    from scribe.output.check.check_words import check_csv
    from scribe.output.check.deviation_map import deviation_map

    ready_folder(out)
    check = checked.check
    contents = {
        REPORT: check_html(checked.piece, check, checked.overlays).encode("utf-8"),
        "deviation.svg": deviation_map(check).encode("utf-8"),
        "second-cut.csv": check_csv(check).encode("utf-8"),
    }
    contents |= {f"overlay-{n + 1}.png": png for n, png in enumerate(checked.overlays)}
    if isinstance(check.second, Piece):
        contents |= piece_contents(checked.job, check.second, dxf=False, marks=False).contents
    refuse_existing([out / name for name in contents], force=force)
    return write_together(out, contents)


def check_json(checked: Checked, written: Sequence[Path]) -> str:
    """The result for another program."""
    return json.dumps({**checked.summary(), "written": [str(p) for p in written]}, indent=2)


def _cut(piece: Piece, source: CheckSource) -> CutEdge:
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


def _edge(
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


def _straight(
    piece: Piece, cut: CutEdge, found: Compared, edge: Outline | Compared
) -> tuple[tuple[str, str], ...]:
    """How straight outline and cut are over the stations that were seen (ISO 12780)."""
    wall = next(room.outline for room in piece.room if room.name == cut.name)
    station = (wall.points - cut.start) @ cut.along
    seen = (station >= found.station.min()) & (station <= found.station.max())
    lines = [("outline", wall.with_(measured=seen & wall.measured))]
    if isinstance(edge, Compared):
        at = (edge.edge - cut.start) @ cut.along
        u = np.interp(at, edge.station, edge.u)
        edge = Outline(edge.edge, u, "left" if cut.keep == "right" else "right")
    lines.append(("cut edge", edge))
    said = []
    for name, line in lines:
        words = straight_words(line)
        if words:
            said.append((name, words))
    return tuple(said)
