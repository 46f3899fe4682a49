"""The edges of a piece of a job file: `[[piece.edge]]` to `EdgeJob`.

Whatever is wrong is refused with its file, line and key, as in the rest of the job file.
"""

from __future__ import annotations

from scribe.job import EDGES, LEAST, OPPOSITE, Distance, Edge, EdgeJob, Opening, Placing, Touch
from scribe.toml_table import Table
from scribe.tools import SAW_TILT_DEG

_PLACES = ("place", "distance", "opening")
STEEPEST = 1000.0  # mm on a metre: 45 degrees


def read_edge(table: Table, outlines: list[str]) -> EdgeJob:
    """One edge. outlines: names that it may follow."""
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


def settle_opening(table: Table, edges: tuple[EdgeJob, ...], number: int) -> None:
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
