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

import re
from pathlib import Path

import numpy as np

from scribe.job import (
    ASSOCIATIONS,
    EDGES,
    KINDS,
    LEAST,
    OPPOSITE,
    SCALE_BY,
    DatumChoice,
    Distance,
    Edge,
    EdgeJob,
    FileSource,
    Job,
    Opening,
    OutlineJob,
    PhotoSource,
    PieceJob,
    Placing,
    PrintSettings,
    Touch,
)
from scribe.outline import BUILDING
from scribe.piece import Blank, Polygon
from scribe.print_scale import PrintScale, combined, from_bars, read_printer, stated
from scribe.standards import PANEL_BOUND_PERCENT, PAPER_MM, TIMBER
from scribe.tape import TapeReading, reading_of
from scribe.timber import CUTS, Timber
from scribe.toml_file import Table, read_toml
from scribe.tool_file import read_tools
from scribe.tools import SAW_TILT_DEG, USUAL_TOOLS

_PHOTO_KEYS = ("photo", "of", "height", "target", "print_scale", "bars", "printer", "scale_by",
               "from", "to", "near", "camera")  # fmt: skip
_FILE_KEYS = ("file", "u95")
_SHAPE_KEYS = ("building", "washer", "block", "smooth", "datum", "between", "end")
_PLACES = ("place", "distance", "opening")
# What every system takes as a file's name; a piece's name begins the names of its files.
_NAME = re.compile(r"[\w][\w .-]*[\w]|[\w]")
_MIRRORED = "-mirrored"


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
        pieces.append(_piece(table, list(by_name), [piece.name for piece in pieces]))
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


def _piece(table: Table, outlines: list[str], taken: list[str]) -> PieceJob:
    table.allow("name", "blank", "shape", "thickness", "timber", "panel", "up", "step", "edge")
    table.need("name", 'write name = "shelf": its files will be called so')
    table.need("edge", "write [[piece.edge]] with outline = and edge =, for each edge to cut")
    name = _piece_name(table, taken)
    edges = tuple(_edge(edge, outlines) for edge in table.tables("edge"))
    if not edges:
        raise table.refuse("job-value", "edge", "there is no edge to cut", "write [[piece.edge]]")
    for number, edge in enumerate(table.tables("edge")):
        _settle_opening(edge, edges, number)
    return PieceJob(
        name=name,
        blank=_blank(table),
        edges=edges,
        up=table.choice("up", EDGES) if "up" in table else "top",
        step=table.length("step", zero=False) if "step" in table else 50.0,
    )


def _piece_name(table: Table, taken: list[str]) -> str:
    name = table.text("name")
    if not _NAME.fullmatch(name) or name.endswith(_MIRRORED) or len(name) > 80:
        raise table.wrong(
            "name", "a short name of letters, digits, spaces, dots and hyphens, for its files"
        )
    if name.lower() in [other.lower() for other in taken]:
        raise table.refuse(
            "job-value", "name", f"there is another piece {name!r}", "give each piece its own name"
        )
    return name


def _blank(table: Table) -> Blank:
    if ("blank" in table) == ("shape" in table):
        raise table.refuse(
            "job-key",
            None,
            "a piece needs either blank or shape",
            "write blank = { length = 600, width = 60 }, or shape = [[0, 0], [600, 0], ...]",
        )
    if "shape" in table:
        thickness = table.length("thickness", zero=False) if "thickness" in table else None
        return Blank(_polygon(table), thickness, *_material(table))
    blank = table.table("blank")
    blank.allow("length", "width", "thickness")
    for key in ("length", "width"):
        blank.need(key, "write blank = { length = 600, width = 60 }, in mm")
    if "thickness" in table:
        raise table.refuse("job-key", "thickness", "it belongs into blank", "move it in there")
    length, width = blank.length("length", zero=False), blank.length("width", zero=False)
    outer = np.array([[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]])
    thickness = blank.length("thickness", zero=False) if "thickness" in blank else None
    return Blank(Polygon(outer), thickness, *_material(table))


def _material(table: Table) -> tuple[Timber | None, str | None]:
    """What the blank is made of, when the job says it: a board of timber, or a panel."""
    if "timber" in table and "panel" in table:
        raise table.refuse(
            "job-key", "panel", "timber and panel are both given", "keep the one it is made of"
        )
    panel = table.choice("panel", tuple(PANEL_BOUND_PERCENT)) if "panel" in table else None
    if "timber" not in table:
        return None, panel
    wood = table.table("timber")
    wood.allow("species", "cut", "moisture", "in_use")
    for key in ("species", "cut", "moisture", "in_use"):
        wood.need(
            key,
            'write timber = { species = "white oak", cut = "flatsawn", moisture = 12, '
            "in_use = [8, 11] }, moistures in %",
        )
    low, high = wood.numbers("in_use", 0.0, 30.0)
    if low > high:
        raise wood.wrong("in_use", "the driest and the dampest, in this order, as [8, 11]")
    return (
        Timber(
            species=wood.choice("species", tuple(TIMBER)),
            cut=wood.choice("cut", CUTS),
            now=wood.number("moisture", 0.0, 30.0),
            low=low,
            high=high,
        ),
        None,
    )


def _polygon(table: Table) -> Polygon:
    """The blank's corners, turned counter-clockwise; crossings are found when it's cut."""
    corners = np.array(table.points("shape"), dtype=float).reshape(-1, 2)
    if len(corners) > 1 and (corners[0] == corners[-1]).all():
        corners = corners[:-1]
    x, y = corners.T
    area = 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    if len(corners) < 3 or area == 0.0:
        raise table.wrong("shape", "three or more corners in order, as [[0, 0], [600, 0], ...]")
    return Polygon(corners if area > 0 else corners[::-1])


def _edge(table: Table, outlines: list[str]) -> EdgeJob:
    table.allow(
        "outline",
        "edge",
        "clearance",
        "station",
        "from",
        *_PLACES,
        "minimum_width",
        "maximum_width",
        "beyond",
        "least",
        "parallel",
        "bevel",
        "land",
    )
    table.need("outline", f"write outline = one of {', '.join(outlines)}")
    table.need("edge", f"write edge = one of {', '.join(EDGES)}: which edge of the blank is cut")
    if "least" in table and "parallel" in table:
        raise table.refuse(
            "job-key",
            "parallel",
            "least and parallel both say how the visible edge is turned",
            "keep one of them",
        )
    edge = table.choice("edge", EDGES)
    ends: tuple[Edge, ...] = ("left", "right") if edge in ("top", "bottom") else ("bottom", "top")
    return EdgeJob(
        outline=table.choice("outline", outlines),
        edge=edge,
        clearance=table.length("clearance") if "clearance" in table else 0.0,
        station=table.length("station", negative=True) if "station" in table else 0.0,
        start=table.choice("from", ends) if "from" in table else None,
        placing=_placing(table),
        minimum_width=table.length("minimum_width") if "minimum_width" in table else 0.0,
        maximum_width=(
            table.length("maximum_width", zero=False) if "maximum_width" in table else None
        ),
        beyond=table.length("beyond") if "beyond" in table else None,
        least=table.choice("least", LEAST) if "least" in table else None,
        parallel=table.choice("parallel", outlines) if "parallel" in table else None,
        bevel_deg=table.number("bevel", 0.0, SAW_TILT_DEG) if "bevel" in table else None,
        land=table.length("land") if "land" in table else 2.0,
    )


def _placing(table: Table) -> Placing:
    given = [key for key in _PLACES if key in table]
    if len(given) > 1:
        raise table.refuse(
            "job-key", given[1], f"{' and '.join(given)} are both given", "keep one of them"
        )
    if "distance" in table:
        return Distance(table.length("distance", negative=True))
    if "opening" in table:
        return Opening(table.length("opening", zero=False))
    if "place" in table:
        table.choice("place", ("touch",))
    return Touch()


def _settle_opening(table: Table, edges: tuple[EdgeJob, ...], number: int) -> None:
    """An opening is measured from an opposite edge; two trapped edges can't both touch."""
    edge = edges[number]
    opposite = [other for other in edges if other.edge == OPPOSITE[edge.edge]]
    if isinstance(edge.placing, Opening):
        if len(opposite) != 1 or isinstance(opposite[0].placing, Opening):
            raise table.refuse(
                "job-value",
                "opening",
                f"an opening needs one cut on the {OPPOSITE[edge.edge]} edge to be measured from",
                "give that edge its outline with place or distance, or use distance here",
            )
    elif isinstance(edge.placing, Touch) and any(
        isinstance(other.placing, Touch) for other in opposite
    ):
        raise table.refuse(
            "job-value",
            "edge",
            f"the piece is trapped between {opposite[0].edge} and {edge.edge}, "
            "and nothing says how far apart they are",
            "write opening = the distance between the two datums on one of them",
        )
