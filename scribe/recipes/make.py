"""`scribe make`: job file -> outlines -> pieces -> templates, tables and one report."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.files import ready_folder, refuse_existing, write_together
from scribe.fit.piece import fit_piece
from scribe.job import Job, PieceJob
from scribe.job_file import read_job
from scribe.outline import Outline
from scribe.piece import CutEdge, Piece
from scribe.places import JOB, Words, telling
from scribe.quantity import format_u, round_down_mm
from scribe.recipes.outlines import Captured, captured_all
from scribe.recipes.walls import with_walls
from scribe.standards import COVERAGE_FACTOR

if TYPE_CHECKING:
    from scribe.output.piece.drawing import Picture
    from scribe.output.sheets.sheets import SheetPlan

Progress = Callable[[str], None]
Array = npt.NDArray[np.float64]

REPORT = "report.html"
_STEP_MM = 0.001


@dataclass(frozen=True)
class Figure:
    """One row of a removal table: where, how much comes off, and its U (k = 2), in mm."""

    station: float
    remove: float
    U: float


@dataclass(frozen=True)
class EdgeFigures:
    """What a fitter wants to know of one cut before opening any file.

    end: the end from which stations count. narrowest: mm of width left.
    """

    outline: str
    edge: str
    end: str
    most: Figure
    least: Figure
    narrowest: float
    bridged: bool


@dataclass(frozen=True)
class MadePiece:
    """files: as written, without their folder. sheets: of the template. notes: for the fitter."""

    name: str
    files: tuple[str, ...]
    sheets: SheetPlan
    edges: tuple[EdgeFigures, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class MakeResult:
    """What a job made. advice: outline -> what would make it more certain."""

    job: str
    folder: Path
    pieces: tuple[MadePiece, ...]
    written: tuple[Path, ...]
    advice: Mapping[str, tuple[str, ...]]


def make_job(
    job_path: Path,
    out: Path,
    *,
    dxf: bool = False,
    force: bool = False,
    needed: bool = False,
    words: Words = JOB,
    progress: Progress = lambda _: None,
) -> MakeResult:
    """Run a whole job. Every file is made before the first one is moved into place.

    needed: only of the outlines that a piece takes; one that isn't right yet then stops no other.
    words: in which it tells what is amiss, and what would help.
    """
    with telling(words):
        return _made(read_job(job_path), out, dxf, force, needed, words, progress)


def _made(
    job: Job, out: Path, dxf: bool, force: bool, needed: bool, words: Words, progress: Progress
) -> MakeResult:
    files = {
        piece.name: piece_files(piece.name, dxf=dxf, holes=bool(piece.holes))
        for piece in job.pieces
    }
    names = [name for group in files.values() for name in group] + [REPORT]
    refuse_existing([out / name for name in names], force=force)
    ready_folder(out)
    taken = dict.fromkeys(name for piece in job.pieces for name in piece.outlines)
    captured = captured_all(job.outlines, taken if needed else job.outlines, progress)
    outlines = {name: each.in_words(words) for name, each in captured.items()}
    shapes = {name: each.shaped for name, each in outlines.items()}
    pieces = [
        _noted(fit_in_job(job, piece, shapes, progress), piece, outlines) for piece in job.pieces
    ]
    progress("drawing the templates")
    contents, sheets = _render(job, pieces, outlines, dxf=dxf)
    return MakeResult(
        job=job.name,
        folder=out,
        pieces=tuple(
            MadePiece(piece.name, files[piece.name], its, _figures(piece), piece.notes)
            for piece, its in zip(pieces, sheets, strict=True)
        ),
        written=tuple(write_together(out, contents)),
        advice={name: each.advice for name, each in outlines.items() if each.advice},
    )


def _noted(piece: Piece, wanted: PieceJob, outlines: Mapping[str, Captured]) -> Piece:
    """With what the U of its outlines takes for granted among its notes, and which names no sheet
    shows.
    """
    from scribe.output.pages.on_canvas import in_its_letters

    names = list(dict.fromkeys(wanted.outlines))
    notes = [f"Outline '{name}': {words}." for name in names
             for words in outlines[name].assumes]  # fmt: skip
    unseen = [name for name in (piece.name, *names) if not in_its_letters(name)]
    if unseen:
        notes.append(
            f"The PDF's letters don't have all of {', '.join(map(repr, unseen))}: blocks stand for "
            "what is missing. A name in Latin letters is printed whole."
        )
    return replace(piece, notes=(*piece.notes, *notes))


def fitted_piece(job: Job, name: str, progress: Progress) -> Piece:
    """One piece of a job, fitted to its outlines; nothing is drawn."""
    wanted = next((piece for piece in job.pieces if piece.name == name), None)
    if wanted is None:
        known = ", ".join(piece.name for piece in job.pieces)
        raise ScribeError(
            "check-piece",
            what=f"the job has no piece {name!r}",
            where=str(job.path),
            do=f"name one of {known}",
        )
    outlines = captured_all(job.outlines, wanted.outlines, progress)
    return fit_in_job(
        job, wanted, {each: outline.shaped for each, outline in outlines.items()}, progress
    )


def piece_files(name: str, *, dxf: bool, holes: bool) -> tuple[str, ...]:
    """The names of the files made for a piece."""
    endings = [
        ".pdf",
        "-mirrored.pdf",
        "-marks.pdf",
        ".svg",
        *([".dxf"] if dxf else []),
        "-remove.csv",
    ]
    endings += ["-holes.csv"] * holes
    return tuple(name + ending for ending in endings)


def result_json(result: MakeResult) -> str:
    """The result for another program: lengths in mm to a micrometre, what comes off rounded
    down.
    """
    content: dict[str, Any] = {
        "job": result.job,
        "folder": str(result.folder),
        "pieces": [
            {
                "name": piece.name,
                "files": list(piece.files),
                "sheets": len(piece.sheets.sheets),
                "sheets_saved": piece.sheets.saved,
                "on_paper_u95_mm": _on_paper(piece.sheets),
                "edges": [_edge_json(edge) for edge in piece.edges],
                "notes": list(piece.notes),
            }
            for piece in result.pieces
        ],
        "advice": {name: list(lines) for name, lines in result.advice.items()},
        "written": [str(path) for path in result.written],
    }
    return json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False)


def fit_in_job(
    job: Job,
    piece: PieceJob,
    outlines: Mapping[str, Outline],
    progress: Progress = lambda _: None,
) -> Piece:
    """One piece of a job, fitted to outlines as the job shapes them; refusals name the piece."""
    progress(f"fitting {piece.name}")
    try:
        return fit_piece(with_walls(piece), outlines, job.tools)
    except ScribeError as refusal:
        raise ScribeError(
            refusal.kind,
            what=refusal.what,
            where=f"{job.path}, piece {piece.name}, {refusal.where}",
            do=refusal.do,
        ) from refusal


class Rendered(NamedTuple):
    """Every file of one piece, in the order of `piece_files`; how its template's sheets lie; and a
    picture of it in place.
    """

    contents: dict[str, bytes]
    sheets: SheetPlan
    picture: Picture


def piece_contents(job: Job, piece: Piece, *, dxf: bool, marks: bool = True) -> Rendered:
    """What is made of a piece; nothing is written yet. marks: with the page for marking without a
    template, which a piece without marks of its own can't have.
    """
    from scribe.output.pages.mark_sheet import mark_sheet_pdf
    from scribe.output.pages.pdf import template_pdf
    from scribe.output.piece.draw_piece import draw, wordless
    from scribe.output.piece.holes import holes_csv
    from scribe.output.piece.pictogram import SIZE, in_place, turned_over
    from scribe.output.piece.svg import svg_bytes
    from scribe.output.piece.table import removal_csv
    from scribe.output.sheets.template import lay_out

    contents: dict[str, bytes] = {}
    face, back = draw(piece), wordless(piece, mirrored=True)
    sheets, picture = lay_out(face, piece, job.print), in_place(piece, SIZE)
    contents[piece.name + ".pdf"] = template_pdf(face, picture, piece, sheets, job.print)
    contents[piece.name + "-mirrored.pdf"] = template_pdf(
        back, turned_over(piece, SIZE), piece, sheets.mirrored(), job.print
    )
    if marks:
        contents[piece.name + "-marks.pdf"] = mark_sheet_pdf(piece, job.print.paper)
    contents[piece.name + ".svg"] = svg_bytes(face)
    if dxf:
        from scribe.output.piece.dxf import dxf_bytes

        contents[piece.name + ".dxf"] = dxf_bytes(face, piece)
    contents[piece.name + "-remove.csv"] = removal_csv(piece).encode("utf-8")
    if piece.holes:
        contents[piece.name + "-holes.csv"] = holes_csv(piece).encode("utf-8")
    return Rendered(contents, sheets, picture)


def _render(
    job: Job, pieces: list[Piece], outlines: Mapping[str, Captured], *, dxf: bool
) -> tuple[dict[str, bytes], list[SheetPlan]]:
    """Every file of the job by name, and the sheets of each piece; nothing is written yet."""
    from scribe.output.report import PieceReport, TraceReport, report_html

    contents: dict[str, bytes] = {}
    reports, sheets = [], []
    for piece in pieces:
        made, its, picture = piece_contents(job, piece, dxf=dxf)
        contents |= made
        sheets.append(its)
        reports.append(PieceReport(piece, made[piece.name + ".svg"], picture, tuple(made), its))
    traces = [
        TraceReport(
            name,
            each.shaped,
            each.facts,
            each.advice,
            each.overlay,
            straight_words(each.shaped),
            each.assumes,
        )
        for name, each in outlines.items()
    ]
    contents[REPORT] = report_html(job.name, traces, reports).encode("utf-8")
    return contents, sheets


def straight_words(outline: Outline) -> str:
    """How straight an outline is, with U; nothing where two points alone were measured."""
    if int(outline.measured.sum()) < 3:
        return ""
    from scribe.shape.straightness import straightness_of

    found = straightness_of(outline)
    least, zone = (format_u(t, 2.0 * found.u_t) for t in (found.t, found.t_minimum_zone))
    return f"{least} from the least-squares line, {zone} in the minimum zone"


def _figures(piece: Piece) -> tuple[EdgeFigures, ...]:
    return tuple(
        EdgeFigures(
            outline=cut.name,
            edge=cut.edge,
            end=cut.from_end,
            most=_figure(cut, _row(cut, cut.removal.remove)),
            least=_figure(cut, _row(cut, -cut.removal.remove)),
            narrowest=_narrowest(cut),
            bridged=not bool(cut.measured.all()),
        )
        for cut in piece.cuts
    )


def _row(cut: CutEdge, value: Array) -> int:
    """The row of the greatest value, of steep ones only where all are steep."""
    steep = cut.removal.steep
    return int(np.argmax(np.where(steep & ~steep.all(), -np.inf, value)))


def _narrowest(cut: CutEdge) -> float:
    """mm of width left at the narrowest, away from corners that the cuts beside it take off."""
    whole = cut.removal.whole
    return float(cut.removal.width_left[whole if whole.any() else slice(None)].min())


def _figure(cut: CutEdge, row: int) -> Figure:
    table = cut.removal
    return Figure(
        float(table.station[row]),
        float(table.remove[row]),
        COVERAGE_FACTOR * float(table.u[row]),
    )


def _on_paper(sheets: SheetPlan) -> float | None:
    """U (k = 2) that joining and laying the sheets adds across the line; None for one sheet."""
    joined = sheets.assembly
    return None if joined is None else round(COVERAGE_FACTOR * joined.across, 3)


def _edge_json(edge: EdgeFigures) -> dict[str, Any]:
    return {
        "outline": edge.outline,
        "edge": edge.edge,
        "stations_from": edge.end,
        "most": _figure_json(edge.most),
        "least": _figure_json(edge.least),
        "narrowest_mm": round_down_mm(edge.narrowest, _STEP_MM),
        "bridged": edge.bridged,
    }


def _figure_json(figure: Figure) -> dict[str, float]:
    return {
        "station_mm": round(figure.station, 3),
        "remove_mm": round_down_mm(max(figure.remove, 0.0), _STEP_MM),
        "u95_mm": round(figure.U, 3),
    }
