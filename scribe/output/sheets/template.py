"""The sheets of a template, as PDF, command and report need them: laid out, joined, checked."""

from __future__ import annotations

from scribe.job import PrintSettings
from scribe.output.piece.drawing import Drawing
from scribe.output.sheets.assembly import with_assembly
from scribe.output.sheets.crosses import with_crosses
from scribe.output.sheets.plan import plan_sheets
from scribe.output.sheets.sheets import SheetPlan
from scribe.piece import Piece


def lay_out(drawing: Drawing, piece: Piece, settings: PrintSettings) -> SheetPlan:
    """The fewest sheets, with match marks, crosses, and how surely they lie when joined."""
    plan = with_crosses(plan_sheets(drawing, settings), drawing, piece)
    return with_assembly(plan, drawing, piece)
