"""What goes through a piece: `[[piece.hole]]` to `HoleJob`."""

from __future__ import annotations

from collections.abc import Sequence

from scribe.job import EDGES, WAYS, Closed, Edge, HoleJob, Oblong, Point, Round
from scribe.pipes import HEATING_CLEARANCE_MM, WARMS_K, Pipe
from scribe.standards import PIPE_EXPANSION
from scribe.toml_table import Table

_HOLE_KEYS = ("name", "diameter", "U_diameter", "size", "outline", "centre", "from", "beside",
              "U", "clearance", "way", "towards", "pipe", "access")  # fmt: skip
_SHAPES = ("diameter", "size", "outline")
_UPRIGHT: tuple[Edge, ...] = ("left", "right")


def read_hole(table: Table, outlines: Sequence[str], taken: Sequence[str]) -> HoleJob:
    """One hole. outlines: names of the job's; taken: names of this piece's holes before it."""
    table.allow(*_HOLE_KEYS)
    table.need("name", 'write name = "flow pipe": the template and the table call it so')
    name = table.text("name")
    if name in taken:
        raise table.refuse(
            "job-value", "name", f"there is another hole {name!r}", "give each its own name"
        )
    shape = _shape(table, outlines)
    pipe = _pipe(table.table("pipe")) if "pipe" in table else None
    way = table.choice("way", WAYS) if "way" in table else "over"
    if ("towards" in table) != (way != "over"):
        raise table.refuse(
            "job-key",
            "towards" if "towards" in table else "way",
            f"{way!r} and towards don't belong together"
            if "towards" in table
            else f"a {way} needs to know to which edge it runs",
            'write way = "slot" or "split" with towards = the edge, or neither',
        )
    usual = HEATING_CLEARANCE_MM if pipe is not None else 0.0
    return HoleJob(
        name=name,
        shape=shape,
        centre=_centre(table, shape),
        edges=_from(table),
        beside=table.choice("beside", outlines) if "beside" in table else None,
        U=table.length("U", zero=False) if "U" in table else HoleJob.U,
        clearance=table.length("clearance") if "clearance" in table else usual,
        way=way,
        towards=table.choice("towards", EDGES) if "towards" in table else "top",
        pipe=pipe,
        access=table.flag("access") if "access" in table else False,
    )


def _shape(table: Table, outlines: Sequence[str]) -> Round | Oblong | Closed:
    given = [key for key in _SHAPES if key in table]
    if len(given) != 1:
        raise table.refuse(
            "job-key",
            given[1] if given else None,
            f"{' and '.join(given) or 'nothing'} says what shape goes through",
            f"write one of {', '.join(_SHAPES)}",
        )
    if "U_diameter" in table and given != ["diameter"]:
        raise table.refuse(
            "job-key", "U_diameter", "it says how well a diameter is known", "leave it out"
        )
    if "diameter" in table:
        known = table.length("U_diameter", zero=False) if "U_diameter" in table else Round.U
        return Round(table.length("diameter", zero=False), known)
    if "outline" in table:
        return Closed(table.choice("outline", outlines))
    width, height = table.point("size")
    if min(width, height) <= 0.0:
        raise table.wrong("size", "width and height in mm, as [200, 150]")
    return Oblong(width, height)


def _centre(table: Table, shape: Round | Oblong | Closed) -> Point | None:
    if "centre" in table:
        return table.point("centre")
    if isinstance(shape, Closed) and "beside" in table:
        return None  # both were taken in one frame
    table.need("centre", "write centre = [mm from the left, mm from the bottom edge]")
    raise AssertionError("need refuses")


def _from(table: Table) -> tuple[Edge, Edge]:
    """The two edges of the blank that the centre is measured from, one upright, one level."""
    if "from" not in table:
        return HoleJob.edges
    if "beside" in table:
        raise table.refuse(
            "job-key",
            "from",
            "from and beside both say what the centre is measured from",
            "keep one of them",
        )
    first, second = table.choices("from", EDGES)
    if (first in _UPRIGHT) == (second in _UPRIGHT):
        raise table.wrong("from", 'two edges that meet, as ["left", "bottom"]')
    return first, second


def _pipe(table: Table) -> Pipe:
    table.allow("material", "run", "warms")
    table.need("material", f"write material = one of {', '.join(PIPE_EXPANSION)}")
    return Pipe(
        material=table.choice("material", tuple(PIPE_EXPANSION)),
        run=table.length("run") if "run" in table else 0.0,
        warms=table.number("warms", 0.0, 150.0) if "warms" in table else WARMS_K,
    )
