"""A drawing -> Outline: DXF by layer, SVG by the identity of a path or group.

Curves are flattened until no chord departs from them by more than `CHORD_MM`. Pieces that
meet end to end within `JOIN_MM` are put together in one line; where three ends meet, or more
than one line is left, nobody can tell which is meant and it is refused.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from scribe.capture.numbers.drawing_file import JOIN_MM, refuse
from scribe.facing import Building, axis_facing, side_facing
from scribe.geom.region import crosses_itself
from scribe.outline import Outline
from scribe.quantity import LONGEST_MM, format_mm

Array = npt.NDArray[np.float64]

_LEAST_MM = 5.0  # no edge that anybody scribes is shorter: the drawing's unit is another one


def read_drawing(
    path: Path, building: Building, *, choose: str | None, u95: float, unit_mm: float | None
) -> Outline:
    """The outline that a drawing shows.

    choose: a layer (DXF) or an id (SVG); None when there is but one line. u95: mm, U of its
    points. unit_mm: mm of a drawing unit, as stated.
    """
    points = _one_line(_without_doubles(_pieces(path, choose, unit_mm)), path)
    _refuse_size(points, path)
    if crosses_itself(points):
        raise refuse(
            "drawing-crosses",
            path,
            "the line crosses or touches itself",
            "draw it once, from one end to the other",
        )
    origin = f"drawing {path.name}" + (f", {choose}" if choose else "")
    u = np.full(len(points), u95 / 2.0)
    outline = Outline(
        points,
        u,
        side_facing(points, building, str(path)),
        datum=replace(axis_facing(building), association="drawing's axis"),
        origin=origin,
        budget={"drawn": u},
    )
    return outline if outline.closed else _with_ends(outline, u95 / 2.0)


def _with_ends(outline: Outline, u: float) -> Outline:
    """With what its two ends may lie off along it, each by itself; u: mm."""
    points = outline.points
    modes = np.zeros((2, *points.shape))
    for mode, end, beside in ((0, 0, 1), (1, -1, -2)):
        along = points[end] - points[beside]
        modes[mode, end] = u * along / np.hypot(*along)
    nothing = np.zeros(len(points))
    budget = {**outline.budget, "drawn ends": nothing}
    return outline.with_(budget=budget, shared={"drawn ends": modes})


def _pieces(path: Path, choose: str | None, unit_mm: float | None) -> list[Array]:
    """(N, 2) mm, y up, for every line that was drawn."""
    kind = path.suffix.lower()
    if kind == ".dxf":
        from scribe.capture.numbers.drawing_dxf import dxf_lines

        return dxf_lines(path, choose, unit_mm)
    if kind == ".svg":
        from scribe.capture.numbers.drawing_svg import svg_lines

        return svg_lines(path, choose, unit_mm)
    raise refuse("drawing-kind", path, "it is neither .dxf nor .svg", "save it as one of them")


def _refuse_size(points: Array, path: Path) -> None:
    size = float(np.hypot(*np.ptp(points, axis=0)))
    if not _LEAST_MM <= size <= LONGEST_MM:
        raise refuse(
            "drawing-size",
            path,
            f"the line is {format_mm(size, 2)} mm across, and no edge in a room is",
            "look which unit it was drawn in, and state it with {unit} or in the drawing",
        )


def _without_doubles(pieces: list[Array]) -> list[Array]:
    """Lines that were drawn twice, one over the other, count once."""
    kept: list[Array] = []
    for piece in pieces:
        if not any(_same(piece, other) for other in kept):
            kept.append(piece)
    return kept


def _same(one: Array, other: Array) -> bool:
    if len(one) != len(other):
        return False
    return any(bool(np.abs(one - way).max() <= JOIN_MM) for way in (other, other[::-1]))


def _one_line(pieces: list[Array], path: Path) -> Array:
    """The pieces put end to end; refuses where ends branch or lines are left over."""
    ends = np.array([end for piece in pieces for end in (piece[0], piece[-1])])
    near = np.hypot(*(ends[:, None] - ends).transpose(2, 0, 1)) <= JOIN_MM
    if (near.sum(axis=1) > 2).any():
        x, y = ends[int(near.sum(axis=1).argmax())]
        raise refuse(
            "drawing-branches",
            path,
            f"three lines or more meet at {x:.1f}, {y:.1f} mm, and nobody can tell which goes on",
            "put the line that is meant on a layer of its own, and name it",
        )
    left = list(pieces)
    line = left.pop(0)
    while left:
        for k, piece in enumerate(left):
            joined = _joined(line, piece)
            if joined is not None:
                line = joined
                left.pop(k)
                break
        else:
            raise refuse(
                "drawing-parts",
                path,
                f"there are {1 + len(left)} lines that don't meet",
                "name the layer or id of the one that is meant, or close the gaps between them",
            )
    return line


def _joined(line: Array, piece: Array) -> Array | None:
    """Both as one where an end of the one lies on an end of the other."""
    for one in (line, line[::-1]):
        for other in (piece, piece[::-1]):
            if np.hypot(*(one[-1] - other[0])) <= JOIN_MM:
                return np.vstack([one, other[1:]])
    return None
