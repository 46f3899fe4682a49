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

from pathlib import Path

from scribe.job import (
    ASSOCIATIONS,
    KINDS,
    SCALE_BY,
    DatumChoice,
    FileSource,
    Job,
    OutlineJob,
    PhotoSource,
    PieceJob,
    PrintSettings,
)
from scribe.job_piece import read_piece
from scribe.outline import BUILDING
from scribe.print_scale import PrintScale, combined, from_bars, read_printer, stated
from scribe.standards import PAPER_MM
from scribe.tape import TapeReading, reading_of
from scribe.toml_file import Table, read_toml
from scribe.tool_file import read_tools
from scribe.tools import USUAL_TOOLS

_PHOTO_KEYS = ("photo", "of", "height", "target", "print_scale", "bars", "printer", "scale_by",
               "from", "to", "near", "camera")  # fmt: skip
_FILE_KEYS = ("file", "u95")
_SHAPE_KEYS = ("building", "washer", "block", "smooth", "datum", "between", "end")


def read_job(path: Path) -> Job:
    """Read a job file; every file it names must be there."""
    top = read_toml(path)
    top.allow("name", "print", "tools", "outline", "piece", "tape")
    top.need("outline", "write [outline.NAME] with photo = or file =, for each outline")
    top.need("piece", "write [[piece]] with its name and blank, for each piece")
    outlines = top.table("outline")
    tapes = tuple(_tape(table) for table in top.tables("tape")) if "tape" in top else ()
    by_name = {name: _outline(outlines.table(name), name, tapes) for name in outlines.values}
    pieces: list[PieceJob] = []
    for table in top.tables("piece"):
        pieces.append(read_piece(table, list(by_name), [piece.name for piece in pieces]))
    if not pieces:
        raise top.refuse("job-value", "piece", "there is no piece to make", "write [[piece]]")
    return Job(
        path=path,
        name=top.text("name") if "name" in top else path.stem,
        print=_print(top.table("print")) if "print" in top else PrintSettings(),
        outlines=by_name,
        pieces=tuple(pieces),
        tools=read_tools(top.file("tools")) if "tools" in top else USUAL_TOOLS,
    )


def _print(table: Table) -> PrintSettings:
    table.allow("paper", "margin", "overlap")
    usual = PrintSettings()
    return PrintSettings(
        paper=table.choice("paper", tuple(PAPER_MM)) if "paper" in table else usual.paper,
        margin=table.length("margin") if "margin" in table else usual.margin,
        overlap=table.length("overlap") if "overlap" in table else usual.overlap,
    )


def _tape(table: Table) -> TapeReading:
    """A [[tape]]: from, to, length, U. Only runs of strips use it."""
    table.allow("from", "to", "length", "U")
    for key in ("from", "to", "length"):
        table.need(key, 'write from = "sheet 1 cross A", to = "sheet 8 cross B", length = 2210')
    parts = [table.text("from"), table.text("to"), str(table.length("length", zero=False))]
    if "U" in table:
        parts.append(str(table.length("U", zero=False)))
    return reading_of(parts, where=table.where())


def _outline(table: Table, name: str, tapes: tuple[TapeReading, ...]) -> OutlineJob:
    if ("photo" in table) == ("file" in table):
        raise table.refuse(
            "job-key",
            None,
            f"outline {name} needs either photo or file",
            'write photo = "wall.jpg" with of = "gauge", or file = "trace/outline.json"',
        )
    if "washer" in table and "block" in table:
        raise table.refuse(
            "job-key",
            "block",
            "washer and block are both given",
            "keep the one with which the line was drawn",
        )
    source = _photo(table, tapes) if "photo" in table else _file(table)
    return OutlineJob(
        name=name,
        source=source,
        washer=table.length("washer", zero=False) if "washer" in table else None,
        block=table.length("block", zero=False) if "block" in table else None,
        smooth=table.length("smooth", zero=False) if "smooth" in table else None,
        datum=_datum(table),
        end=table.text("end") if "end" in table else None,
    )


def _photo(table: Table, tapes: tuple[TapeReading, ...]) -> PhotoSource:
    table.allow(*_PHOTO_KEYS, *_SHAPE_KEYS)
    table.need("of", f"write of = one of {', '.join(KINDS)}: what the photo shows")
    return PhotoSource(
        photos=table.files("photo"),
        of=table.choice("of", KINDS),
        height=table.length("height") if "height" in table else None,
        target=table.file("target") if "target" in table else None,
        print_scale=_print_scale(table),
        building=table.choice("building", BUILDING) if "building" in table else None,
        start=table.point("from") if "from" in table else None,
        end=table.point("to") if "to" in table else None,
        near=table.file("near") if "near" in table else None,
        camera=table.file("camera") if "camera" in table else None,
        tapes=tapes,
        scale_by=(table.choice("scale_by", SCALE_BY),) if "scale_by" in table else (),
    )


def _print_scale(table: Table) -> PrintScale | None:
    bars = "bars" in table
    given = [stated(*table.scale("print_scale"))] if "print_scale" in table else []
    given += [from_bars(*table.point("bars"), where=table.where("bars"))] if bars else []
    given += [read_printer(table.file("printer"))] if "printer" in table else []
    return combined(given) if given else None


def _file(table: Table) -> FileSource:
    table.allow(*_FILE_KEYS, *_SHAPE_KEYS)
    path = table.file("file")
    if path.suffix.lower() not in (".json", ".csv"):
        raise table.refuse(
            "job-value",
            "file",
            f"{path.name} is neither .json nor .csv",
            "give the outline.json that scribe trace wrote, or a CSV of points",
        )
    drawn = path.suffix.lower() == ".csv"
    if drawn:
        table.need("building", f"a CSV doesn't say it: write building = {' | '.join(BUILDING)}")
    for key in ("building", "u95"):
        if key in table and not drawn:
            raise table.refuse(
                "job-key", key, f"{key} is for CSV; {path.name} says it itself", "leave it out"
            )
    return FileSource(
        path=path,
        building=table.choice("building", BUILDING) if drawn else None,
        u95=table.length("u95", zero=False) if "u95" in table else None,
    )


def _datum(table: Table) -> DatumChoice | None:
    if "datum" not in table:
        if "between" in table:
            raise table.refuse(
                "job-key", "between", "it needs a datum", 'write datum = "two points" as well'
            )
        return None
    association = table.choice("datum", ASSOCIATIONS)
    if (association == "two points") != ("between" in table):
        raise table.refuse(
            "job-key",
            "datum",
            'datum = "two points" and between belong together',
            'write datum = "two points" and between = [[x, y], [x, y]]',
        )
    if association != "two points":
        return DatumChoice(association)
    points = table.points("between")
    if len(points) != 2 or points[0] == points[1]:
        raise table.wrong("between", "two different points, as [[x, y], [x, y]]")
    return DatumChoice(association, (points[0], points[1]))
