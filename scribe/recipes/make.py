"""`scribe make`: job file -> outlines -> pieces -> templates, tables and one report."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from scribe.files import ready_folder, refuse_existing, write_together
from scribe.job import Job, PieceJob
from scribe.job_file import read_job
from scribe.piece import Piece
from scribe.places import JOB, Words, telling
from scribe.recipes.fitted import fit_in_job
from scribe.recipes.made import MadePiece, MakeResult, edge_figures
from scribe.recipes.outlines import Captured, captured_all
from scribe.recipes.piece_files import piece_contents, piece_files
from scribe.recipes.straight import straight_words

if TYPE_CHECKING:
    from scribe.output.sheets.sheets import SheetPlan

Progress = Callable[[str], None]

REPORT = "report.html"


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
            MadePiece(piece.name, files[piece.name], its, edge_figures(piece), piece.notes)
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
