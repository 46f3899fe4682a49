"""The table of docs/templates.md: `python -m tests.examples.sheets` prints it.

How many sheets the jobs in `fixtures` take, on three papers, and what joining them adds to U.
"""

from __future__ import annotations

import sys
from dataclasses import replace

from scribe.job_file import read_job
from scribe.output.piece.draw_piece import draw
from scribe.output.sheets.template import lay_out
from scribe.quantity import format_mm, round_down_mm
from scribe.recipes.fitted import fitted_piece
from tests.examples.walls import FIXTURES

JOBS = ("fascia", "alcove-shelf", "plinth", "sloping-top", "pipe-boxing")
PAPERS = ("A4", "A3", "A1")


def rows() -> list[str]:
    """One row of a Markdown table for each job and paper."""
    said = []
    for name in JOBS:
        job = read_job(FIXTURES / name / "job.toml")
        piece = fitted_piece(job, job.pieces[0].name, lambda _words: None)
        for paper in PAPERS:
            plan = lay_out(draw(piece), piece, replace(job.print, paper=paper))
            joined = plan.assembly
            told = ("-", "-") if joined is None else (_up(joined.across), _up(joined.alone))
            cells = (name, paper, str(plan.grid), str(len(plan.sheets)), *told)
            said.append(f"| {' | '.join(cells)} |")
    return said


def _up(u: float) -> str:
    return format_mm(-round_down_mm(-2.0 * u, 0.1), 1)


if __name__ == "__main__":
    sys.stdout.write("\n".join(rows()) + "\n")
