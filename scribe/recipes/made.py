"""What a job made, in figures: for whoever made it, and as JSON for another program.

In: pieces and the sheets of their templates. Out: lengths in mm, what comes off rounded down.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from scribe.piece import CutEdge, Piece
from scribe.quantity import round_down_mm
from scribe.standards import COVERAGE_FACTOR

if TYPE_CHECKING:
    from scribe.output.sheets.sheets import SheetPlan

Array = npt.NDArray[np.float64]

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


def edge_figures(piece: Piece) -> tuple[EdgeFigures, ...]:
    """One for each cut of a piece."""
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
