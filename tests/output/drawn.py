"""The pieces all output tests draw, drawn and laid on sheets once, and what stands on them."""

from __future__ import annotations

import numpy as np

from scribe.geom.frames import Rigid, turned
from scribe.job import PrintSettings
from scribe.output.piece.draw_piece import draw, wordless
from scribe.output.piece.drawing import Drawing, text_box
from scribe.output.piece.free_space import inside
from scribe.output.sheets.plan import plan_sheets
from scribe.output.sheets.sheet_view import sheet_view
from scribe.output.sheets.sheets import SheetPlan
from scribe.piece import Piece, Polygon

PT_PER_MM = 72 / 25.4  # ISO 32000-1, 8.3.2.3

DPI = 150
A4 = PrintSettings()

_DRAWN: dict[tuple[str, bool], Drawing] = {}
_PLANNED: dict[tuple[str, bool, str], SheetPlan] = {}


def drawn(piece: Piece, *, mirrored: bool = False) -> Drawing:
    """One of the four pieces drawn, once for all tests: nobody changes a drawing. The mirrored one
    has its words on its sheets alone.
    """
    key = piece.name, mirrored
    if key not in _DRAWN:
        _DRAWN[key] = wordless(piece, mirrored=True) if mirrored else draw(piece)
    return _DRAWN[key]


def planned(piece: Piece, *, mirrored: bool = False, paper: str = "A4") -> SheetPlan:
    """Its sheets, likewise."""
    key = piece.name, mirrored, paper
    if key not in _PLANNED:
        plan = plan_sheets(drawn(piece), PrintSettings(paper))
        _PLANNED[key] = plan.mirrored() if mirrored else plan
    return _PLANNED[key]


def views(piece: Piece, *, mirrored: bool) -> list[tuple[Rigid, Drawing]]:
    """Everything with words that is made of it, each with its frame: sheet by sheet, and the whole
    as seen from the face.
    """
    plan, drawing = planned(piece, mirrored=mirrored), drawn(piece, mirrored=mirrored)
    sheets = [
        (turned(sheet.turn), sheet_view(drawing, piece, plan, sheet)) for sheet in plan.sheets
    ]
    return sheets if mirrored else [*sheets, (turned(0.0), drawing)]


def is_inside(area: Polygon, point: np.ndarray) -> bool:
    return bool(inside(area, point[:1], point[1:])[0, 0])


def words(drawing: Drawing, start: str) -> list[np.ndarray]:
    """Middles of the labels that begin so."""
    boxes = [text_box(t) for t in drawing.layer("labels").texts if t.words.startswith(start)]
    return [np.array([(a + c) / 2, (b + d) / 2]) for a, b, c, d in boxes]
