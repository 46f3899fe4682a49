"""Holes and splits: how they are drawn, and what cover, table and report say of them."""

from __future__ import annotations

import numpy as np

from scribe.output.piece.drawing import Path
from scribe.piece import HoleCut, Piece, Polygon
from scribe.quantity import format_mm, round_up_mm

COLUMNS = (
    "hole", "from_edge", "distance_mm", "from_other_edge", "other_distance_mm", "u95_mm",
    "bore_mm", "width_mm", "height_mm", "clearance_mm", "way",
)  # fmt: skip
_ARM_MM = 4.0  # that a centre's cross reaches beyond the hole
_LID_MM = 1.0


def hole_paths(piece: Piece) -> list[Path]:
    """Cut lines of the holes, and the lines along which the piece is split."""
    paths = []
    for hole in piece.holes:
        for line in hole.lines:
            closed = bool(np.hypot(*(line[-1] - line[0])) < 1e-6)
            paths.append(Path(line[:-1] if closed else line, "cut", closed=closed))
    return paths + [Path(line, "cut") for line in piece.splits]


def centre_paths(piece: Piece) -> list[Path]:
    """A cross through the centre of every hole, to be marked and bored by."""
    paths = []
    for hole in piece.holes:
        reach = np.array(hole.size) / 2.0 + _ARM_MM
        paths += [
            Path(np.array([hole.centre - arm, hole.centre + arm]), "datum")
            for arm in np.diag(reach)
        ]
    return paths


def is_lid(piece: Piece, part: Polygon) -> bool:
    """Whether what falls off there stays, as the lid of an opening."""
    middle = (part.outer.min(axis=0) + part.outer.max(axis=0)) / 2.0
    return any(
        hole.access and bool(np.hypot(*(hole.centre - middle)) < _LID_MM) for hole in piece.holes
    )


def hole_size(hole: HoleCut) -> str:
    """What to cut, in words; rounded up, so that the clearance is there."""
    if hole.bore is not None:
        return f"bore {format_mm(round_up_mm(hole.bore, 0.1), 1)} mm"
    width, height = (format_mm(round_up_mm(side, 0.1), 1) for side in hole.size)
    return f"cut {width} x {height} mm"


def hole_lines(piece: Piece) -> list[str]:
    """How each hole is marked out on the blank before anything is cut."""
    said = []
    for hole in piece.holes:
        (one, a), (other, b) = hole.from_edges
        u95 = format_mm(round_up_mm(2.0 * hole.u, 0.1), 1)
        way = "" if hole.way == "over" else f"; {hole.way} to the {hole.towards} edge"
        said.append(
            f"{hole.name}: centre {format_mm(a, 1)} mm from the {one} edge and {format_mm(b, 1)} mm"
            f" from the {other} edge of the uncut blank (+/- {u95} mm); {hole_size(hole)}{way}"
        )
    return said


def holes_csv(piece: Piece) -> str:
    """One row for each hole."""
    rows = [",".join(COLUMNS)]
    for hole in piece.holes:
        (one, a), (other, b) = hole.from_edges
        bore = "" if hole.bore is None else f"{round_up_mm(hole.bore, 0.1):.1f}"
        width, height = (round_up_mm(side, 0.1) for side in hole.size)
        name = '"' + hole.name.replace('"', '""') + '"'
        rows.append(
            f"{name},{one},{a:.2f},{other},{b:.2f},{round_up_mm(2.0 * hole.u, 0.01):.2f},"
            f"{bore},{width:.1f},{height:.1f},{hole.clearance:.1f},{hole.way}"
        )
    return "\n".join(rows) + "\n"
