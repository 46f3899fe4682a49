"""A piece of a job, fitted to its outlines; nothing is drawn. Refusals name the piece."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from scribe.errors import ScribeError
from scribe.fit.piece import fit_piece
from scribe.job import Job, PieceJob
from scribe.outline import Outline
from scribe.piece import Piece
from scribe.recipes.outlines import captured_all
from scribe.recipes.walls import with_walls

Progress = Callable[[str], None]


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
