"""The job file: TOML to `Job`. Whatever is wrong is refused with its file, line and key.

name = "alcove"

[outline.wall]
photo = "wall.jpg"
of = "gauge"
height = 6

[[piece]]
name = "scribe-strip"
blank = { length = 600, width = "6 cm", thickness = 18 }

[[piece.edge]]
outline = "wall"
edge = "top"
clearance = 1
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from scribe.job import FILLER_MM, Job, OutlineJob, PieceJob, PrintSettings
from scribe.job_joint import check_joined
from scribe.job_outline import outline_of
from scribe.job_piece import read_piece
from scribe.source import PhotoSource
from scribe.standards import ROLL_MM, TEMPLATE_PAPER_MM
from scribe.tape import TapeReading, reading_of
from scribe.toml_file import read_toml
from scribe.toml_table import Table
from scribe.tool_file import read_tools
from scribe.tools import USUAL_TOOLS


def read_job(path: Path) -> Job:
    """Read a job file; every file it names must be there."""
    top = read_toml(path)
    top.allow("name", "print", "tools", "filler", "outline", "piece", "tape")
    top.need("outline", "write [outline.NAME] for each outline, with photo = or where else it is")
    top.need("piece", "write [[piece]] with its name and blank, for each piece")
    outlines = top.table("outline")
    by_name = {name: taped(outline_of(outlines.table(name), name), top) for name in outlines.values}
    check_joined(outlines, by_name)
    _check_tapes(top, by_name)
    pieces: list[PieceJob] = []
    for table in top.tables("piece"):
        pieces.append(read_piece(table, list(by_name), [piece.name for piece in pieces]))
        _check_frames(table, pieces[-1], by_name)
    if not pieces:
        raise top.refuse("job-value", "piece", "there is no piece to make", "write [[piece]]")
    return Job(
        path=path,
        name=top.text("name") if "name" in top else path.stem,
        print=_print(top.table("print")) if "print" in top else PrintSettings(),
        outlines=by_name,
        pieces=tuple(pieces),
        tools=read_tools(top.file("tools")) if "tools" in top else USUAL_TOOLS,
        filler=top.length("filler") if "filler" in top else FILLER_MM,
    )


def _check_frames(table: Table, piece: PieceJob, outlines: Mapping[str, OutlineJob]) -> None:
    """Two sheets lie as they were dropped: nothing is parallel from one photo to another."""
    for edge, each in zip(table.tables("edge"), piece.edges, strict=True):
        if each.parallel is None:
            continue
        own, other = (outlines[name].source for name in (each.outline, each.parallel))
        if (
            isinstance(own, PhotoSource)
            and isinstance(other, PhotoSource)
            and own.photos[0] != other.photos[0]
        ):
            raise edge.refuse(
                "job-value",
                "parallel",
                f"{each.outline} and {each.parallel} come from different photos, and nothing "
                "says how one lies to the other",
                "trace both from the same photo or run of strips, or write lean = instead",
            )


def taped(outline: OutlineJob, top: Table) -> OutlineJob:
    """The outline with what was taken with a tape along its strips: each [[tape]] that names it,
    and, where it has several photos, each that names none.
    """
    source = outline.source
    if not isinstance(source, PhotoSource):
        return outline
    several = len(source.photos) > 1
    own = [
        _tape(table)
        for table in _tapes(top)
        if (table.text("outline") == outline.name if "outline" in table else several)
    ]
    return replace(outline, source=replace(source, tapes=tuple(own)))


def _tapes(top: Table) -> list[Table]:
    return top.tables("tape") if "tape" in top else []


def _check_tapes(top: Table, outlines: Mapping[str, OutlineJob]) -> None:
    """Refuse a tape reading that is none of any outline's."""
    photos = {
        name: len(job.source.photos)
        for name, job in outlines.items()
        if isinstance(job.source, PhotoSource)
    }
    for table in _tapes(top):
        if "outline" in table:
            table.choice("outline", tuple(photos))
        elif max(photos.values(), default=0) < 2:
            raise top.refuse(
                "job-key",
                "tape",
                "a tape reading is for photos of a run of strips, and no outline has several"
                " photos",
                "leave it out, or give the outline its photos as a list",
            )


def _print(table: Table) -> PrintSettings:
    table.allow("paper", "margin", "overlap")
    usual = PrintSettings()
    roll = _roll(table) if str(table.values.get("paper", "")).startswith("roll") else None
    named = "paper" in table and roll is None
    return PrintSettings(
        paper=table.choice("paper", tuple(TEMPLATE_PAPER_MM)) if named else usual.paper,
        margin=table.length("margin") if "margin" in table else usual.margin,
        overlap=table.length("overlap") if "overlap" in table else usual.overlap,
        roll=roll,
    )


def _roll(table: Table) -> float:
    """The width of paper from a roll, as in "roll 610" or "roll 24 in"."""
    width = table.text("paper").removeprefix("roll").strip()
    if not width:
        raise table.wrong("paper", 'the roll\'s width as well, as "roll 610" or "roll 24 in"')
    value = replace(table, values={"paper": width}).length("paper")
    narrow, wide = ROLL_MM
    if not narrow <= value <= wide:
        raise table.wrong("paper", f"a roll between {narrow:g} and {wide:g} mm wide")
    return value


def _tape(table: Table) -> TapeReading:
    """A [[tape]]: from, to, length, U, and perhaps the outline along whose strips it was taken."""
    table.allow("outline", "from", "to", "length", "U")
    for key in ("from", "to", "length"):
        table.need(key, 'write from = "sheet 1 cross A", to = "sheet 8 cross B", length = 2210')
    parts = [table.text("from"), table.text("to"), str(table.length("length", zero=False))]
    if "U" in table:
        parts.append(str(table.length("U", zero=False)))
    return reading_of(parts, where=table.where())
