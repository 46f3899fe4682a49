"""Pieces as `scribe.fit` makes them: long strip, notched panel, trapped shelf, short strip."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from scribe.fit.piece import fit_piece
from scribe.job_file import read_job
from scribe.outline import Outline
from scribe.outline_file import outline_json
from scribe.piece import Piece

STRIP = """
[[piece]]
name = "long strip"
blank = { length = 900, width = 60, thickness = 18 }
[[piece.edge]]
outline = "wave"
edge = "top"
clearance = 0.5
"""
SHORT = """
[[piece]]
name = "short strip"
blank = { length = 150, width = 60 }
step = 20
[[piece.edge]]
outline = "wave"
edge = "top"
station = -100
"""
PANEL = """
[[piece]]
name = "notched panel"
blank = { length = 400, width = 700, thickness = 18 }
[[piece.edge]]
outline = "skirting"
edge = "left"
from = "bottom"
beyond = 600
"""
SHELF = """
[[piece]]
name = "trapped shelf"
blank = { length = 600, width = 250, thickness = 22 }
[[piece.edge]]
outline = "left wall"
edge = "left"
from = "bottom"
[[piece.edge]]
outline = "right wall"
edge = "right"
from = "top"
opening = 590
"""


def pieces(folder: Path) -> dict[str, Piece]:
    """Name -> piece; the outlines are files in the folder."""
    x = np.linspace(0.0, 1000.0, 1001)
    wave = np.column_stack([x, 3.0 * np.sin(x / 60.0) + 1.2 * np.sin(x / 17.0)])
    skirting = np.array([[0.0, -18.0], [110.0, -18.0], [110.0, 0.0], [200.0, 0.0]])
    run = np.linspace(0.0, 250.0, 126)
    wall = np.column_stack([run, 2.0 * np.sin(run / 40.0)])
    outlines = {"wave": wave, "skirting": skirting, "left wall": wall, "right wall": wall}
    heads = []
    for name, points in outlines.items():
        u = np.full(len(points), 0.05)
        measured = np.ones(len(points), bool)
        if name == "wave":
            measured[300:320] = False
        outline = Outline(points, u, "left", measured=measured, budget={"localisation": u})
        (folder / f"{name}.json").write_text(outline_json(outline))
        heads.append(f'[outline."{name}"]\nfile = "{name}.json"\n')
    job_path = folder / "job.toml"
    job_path.write_text("\n".join(heads) + STRIP + SHORT + PANEL + SHELF)
    job = read_job(job_path)
    from scribe.outline_file import read_json

    shaped = {name: read_json(folder / f"{name}.json") for name in outlines}
    return {piece.name: fit_piece(piece, shaped) for piece in job.pieces}
