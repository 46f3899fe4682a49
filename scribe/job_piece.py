"""The pieces of a job file: `[[piece]]` to `PieceJob`.

Whatever is wrong is refused with its file, line and key, as in the rest of the job file.
"""

from __future__ import annotations

import re
from typing import Literal

import numpy as np

from scribe.geom.polyline import counter_clockwise, signed_size
from scribe.job import EDGES, Edge, HoleJob, PieceJob
from scribe.job_edge import STEEPEST, read_edge, settle_opening
from scribe.job_hole import read_hole
from scribe.piece import Blank, Polygon
from scribe.side_walls import FACES, LeaningWalls, SurveyedWalls
from scribe.standards import PANEL_BOUND_PERCENT, TIMBER
from scribe.timber import CUTS, Timber
from scribe.toml_table import Table

_UP: tuple[Edge | Literal["face"], ...] = (*EDGES, "face")
# What every system takes as a file's name; a piece's name begins the names of its files.
_NAME = re.compile(r"[\w][\w .-]*[\w]|[\w]")
_MIRRORED = "-mirrored"


def read_piece(table: Table, outlines: list[str], taken: list[str]) -> PieceJob:
    """One piece. outlines: names that its edges may follow; taken: names of the pieces before."""
    table.allow(
        "name",
        "blank",
        "shape",
        "thickness",
        "timber",
        "panel",
        "up",
        "step",
        "edge",
        "hole",
        "walls",
    )
    table.need("name", 'write name = "shelf": its files will be called so')
    table.need("edge", "write [[piece.edge]] with outline = and edge =, for each edge to cut")
    name = _piece_name(table, taken)
    edges = tuple(read_edge(edge, outlines) for edge in table.tables("edge"))
    if not edges:
        raise table.refuse("job-value", "edge", "there is no edge to cut", "write [[piece.edge]]")
    for number, edge in enumerate(table.tables("edge")):
        settle_opening(edge, edges, number)
    up = table.choice("up", _UP) if "up" in table else "top"
    return PieceJob(
        name=name,
        blank=_blank(table),
        edges=edges,
        up="top" if up == "face" else up,
        level=up == "face",
        step=table.length("step", zero=False) if "step" in table else 50.0,
        holes=_holes(table, outlines),
        walls=_walls(table.table("walls")) if "walls" in table else None,
    )


def _walls(table: Table) -> LeaningWalls | SurveyedWalls:
    """How the side walls lean beside a piece that lies level: typed, or as a survey has them."""
    face = table.choice("face", FACES) if "face" in table else "up"
    if "survey" in table:
        table.allow("survey", "level", "face")
        table.need("level", "write level = how high above the floor the piece lies, in mm")
        return SurveyedWalls(table.file("survey"), table.length("level"), face)
    table.allow("left", "right", "U", "face")
    for key in ("left", "right", "U"):
        table.need(
            key,
            "write walls = { left = 4, right = -2, U = 1 }: how far each leans into the opening, "
            'mm on a metre of height, and U; or { survey = "room.toml", level = 1200 }',
        )
    left, right = (table.number(key, -STEEPEST, STEEPEST) for key in ("left", "right"))
    u = table.number("U", 0.0, STEEPEST) / 2.0
    return LeaningWalls(left, right, u, u, face)


def _holes(table: Table, outlines: list[str]) -> tuple[HoleJob, ...]:
    holes: list[HoleJob] = []
    for each in table.tables("hole") if "hole" in table else []:
        holes.append(read_hole(each, outlines, [hole.name for hole in holes]))
    return tuple(holes)


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
    if len(corners) < 3 or signed_size(corners) == 0.0:
        raise table.wrong("shape", "three or more corners in order, as [[0, 0], [600, 0], ...]")
    return Polygon(counter_clockwise(corners))
