"""The [outline.NAME] tables of a job file: where an outline comes from and how it is shaped.

[outline.wall]                  [outline.skirting]          [outline.ceiling]
photo = "wall.jpg"              readings = "skirting.csv"   drawing = "ceiling.dxf"
of = "gauge"                    as = "offsets"              choose = "scribe"
height = 6                      building = "right"          building = "above"
"""

from __future__ import annotations

from scribe.facing import BUILDING
from scribe.job import ASSOCIATIONS, DatumChoice, OutlineJob
from scribe.job_joint import join_source
from scribe.print_scale import PrintScale, combined, from_bars, read_printer, stated
from scribe.quantity import UNITS_MM
from scribe.source import (
    KINDS,
    LINES,
    READ_OPTIONS,
    READINGS,
    SCALE_BY,
    SURFACES,
    FileSource,
    PhotoSource,
    ReadSource,
    Source,
)
from scribe.toml_table import Table

_PHOTO_KEYS = ("photo", "of", "height", "target", "print_scale", "bars", "printer", "scale_by",
               "from", "to", "near", "camera")  # fmt: skip
_FILE_KEYS = ("file", "u95")
_READ_KEYS = ("readings", "as", "u95", "base", "third", "closing", "line", "surface")
_DRAWING_KEYS = ("drawing", "u95", "choose", "unit")
_SHAPE_KEYS = ("building", "washer", "block", "smooth", "datum", "between", "end")
# What an outline can come from: the key that says so.
_SOURCE_KEYS = ("photo", "file", "readings", "drawing", "join")


def outline_of(table: Table, name: str) -> OutlineJob:
    """One [outline.NAME]; every file that it names must be there."""
    given = [key for key in _SOURCE_KEYS if key in table]
    if len(given) != 1:
        raise table.refuse(
            "job-key",
            None,
            f"outline {name} needs one of {', '.join(_SOURCE_KEYS)}"
            + (f", and has {' and '.join(given)}" if given else ""),
            'write photo = "wall.jpg" with of = "gauge", file = "trace/outline.json", '
            'readings = "wall.csv" with as = "offsets", drawing = "wall.dxf", or '
            'join = ["wall", "skirting"]',
        )
    if "washer" in table and "block" in table:
        raise table.refuse(
            "job-key",
            "block",
            "washer and block are both given",
            "keep the one with which the line was drawn",
        )
    return OutlineJob(
        name=name,
        source=_source(given[0], table),
        washer=table.length("washer", zero=False) if "washer" in table else None,
        block=table.length("block", zero=False) if "block" in table else None,
        smooth=table.length("smooth", zero=False) if "smooth" in table else None,
        datum=_datum(table),
        end=table.text("end") if "end" in table else None,
    )


def _source(key: str, table: Table) -> Source:
    if key == "photo":
        return _photo(table)
    if key == "file":
        return _file(table)
    if key == "join":
        return join_source(table, _SHAPE_KEYS[1:])
    return _readings(table) if key == "readings" else _drawing(table)


def _readings(table: Table) -> ReadSource:
    table.allow(*_READ_KEYS, *_SHAPE_KEYS)
    table.need("as", f"write as = one of {', '.join(READINGS)}: how the readings were taken")
    table.need("building", f"readings don't say it: write building = {' | '.join(BUILDING)}")
    form = table.choice("as", READINGS)
    for key, belongs in READ_OPTIONS.items():
        if key in table and form not in belongs:
            raise table.refuse(
                "job-key",
                key,
                f"{key} says nothing about {form}",
                f"leave it out; it belongs to {', '.join(belongs)}",
            )
    return ReadSource(
        table.file("readings"),
        form,
        table.choice("building", BUILDING),
        u95=table.length("u95", zero=False) if "u95" in table else None,
        base=table.length("base", zero=False) if "base" in table else None,
        third=table.point("third") if "third" in table else None,
        closing=table.length("closing", negative=True) if "closing" in table else None,
        line=table.choice("line", LINES) if "line" in table else None,
        surface=table.choice("surface", SURFACES) if "surface" in table else None,
    )


def _drawing(table: Table) -> ReadSource:
    table.allow(*_DRAWING_KEYS, *_SHAPE_KEYS)
    table.need("building", f"a drawing doesn't say it: write building = {' | '.join(BUILDING)}")
    return ReadSource(
        table.file("drawing"),
        "drawing",
        table.choice("building", BUILDING),
        u95=table.length("u95", zero=False) if "u95" in table else None,
        choose=table.text("choose") if "choose" in table else None,
        unit=UNITS_MM[table.choice("unit", tuple(UNITS_MM))] if "unit" in table else None,
    )


def _photo(table: Table) -> PhotoSource:
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
