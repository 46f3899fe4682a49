"""The files of one piece: their names, and what is in them before anything is written."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from scribe.job import Job
from scribe.piece import Piece

if TYPE_CHECKING:
    from scribe.output.piece.drawing import Picture
    from scribe.output.sheets.sheets import SheetPlan


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
