"""`scribe check`: the cut edge against the line it was to follow, and the second cut."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from scribe.cut_check import Compared, CutCheck
from scribe.files import ready_folder, refuse_existing, write_together
from scribe.fit.check.compare import Width, compare
from scribe.fit.check.mirrored import refuse_mirrored
from scribe.fit.check.moved import best_move
from scribe.fit.check.second import second_piece
from scribe.job import Job
from scribe.job_file import read_job
from scribe.outline import Outline
from scribe.piece import CutEdge, Piece
from scribe.places import JOB, Words, telling
from scribe.quantity import round_down_mm
from scribe.recipes.check_source import CheckSource, cut_meant, edge_taken
from scribe.recipes.fitted import fitted_piece
from scribe.recipes.piece_files import piece_contents
from scribe.recipes.straight import straight_words

Progress = Callable[[str], None]

REPORT = "check.html"


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
    cut = cut_meant(piece, source)
    filler = job.filler if source.filler is None else source.filler
    edge, overlays, assumes = edge_taken(source, piece, cut, progress)
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
    from scribe.output.check.check_table import check_csv
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
