"""The pieces of a job file: `[[piece]]` and `[[piece.edge]]` to `PieceJob`.

Whatever is wrong is refused with its file, line and key, as in the rest of the job file.
"""

from __future__ import annotations

import re
from typing import Literal

import numpy as np

from scribe.geom.polyline import counter_clockwise, signed_size
from scribe.job import (
    EDGES,
    FACES,
    LEAST,
    OPPOSITE,
    Distance,
    Edge,
    EdgeJob,
    HoleJob,
    LeaningWalls,
    Opening,
    PieceJob,
    Placing,
    SurveyedWalls,
    Touch,
)
from scribe.job_hole import read_hole
from scribe.piece import Blank, Polygon
from scribe.standards import PANEL_BOUND_PERCENT, TIMBER
from scribe.timber import CUTS, Timber
from scribe.toml_file import Table
from scribe.tools import SAW_TILT_DEG

_UP: tuple[Edge | Literal["face"], ...] = (*EDGES, "face")
_PLACES = ("place", "distance", "opening")
STEEPEST = 1000.0  # mm on a metre: 45 degrees
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
    edges = tuple(_edge(edge, outlines) for edge in table.tables("edge"))
    if not edges:
        raise table.refuse("job-value", "edge", "there is no edge to cut", "write [[piece.edge]]")
    for number, edge in enumerate(table.tables("edge")):
        _settle_opening(edge, edges, number)
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
        "lean",
        "lean_U",
        "distance_U",
        "bevel",
        "land",
        "seen",
        "seal",
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
    if "least" in table and ("distance" in table or "opening" in table):
        raise table.refuse(
            "job-key",
            "least",
            "least says that the blank is held against the building, and its place is given too",
            "keep one of them",
        )
    _lean_alone(table)
    seal = table.flag("seal") if "seal" in table else False
    if "bevel" in table and seal:
        raise table.refuse(
            "job-value",
            "bevel",
            "a seal closes this joint, and needs the whole edge square",
            "leave the bevel out, or the seal",
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
        lean=table.number("lean", -STEEPEST, STEEPEST) if "lean" in table else None,
        lean_u=table.number("lean_U", 0.0, STEEPEST) / 2.0 if "lean_U" in table else 0.0,
        distance_u=table.length("distance_U") / 2.0 if "distance_U" in table else 0.0,
        bevel_deg=table.number("bevel", 0.0, SAW_TILT_DEG) if "bevel" in table else None,
        land=table.length("land") if "land" in table else 2.0,
        seen=_seen(table, ends),
        seal=seal,
    )


def _seen(table: Table, ends: tuple[Edge, ...]) -> tuple[Edge, ...]:
    """The ends of a bevelled edge that are seen: one, or a list of both."""
    if "seen" not in table:
        return ()
    if "bevel" not in table:
        raise table.refuse("job-key", "seen", "there is no bevel", "write bevel as well")
    if not isinstance(table.values["seen"], list):
        return (table.choice("seen", ends),)
    return tuple(dict.fromkeys(table.choices("seen", ends)))


def _lean_alone(table: Table) -> None:
    """lean says how the visible edge lies by itself; both U belong to what they are of."""
    for key in ("least", "parallel"):
        if "lean" in table and key in table:
            raise table.refuse(
                "job-key",
                key,
                f"lean and {key} both say how the visible edge is turned",
                "keep one of them",
            )
    for key, of in (("lean_U", "lean"), ("distance_U", "distance")):
        if key in table and of not in table:
            raise table.refuse("job-key", key, f"there is no {of}", f"write {of} as well")


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
