"""The sentence about how a trapped piece goes in, where it is tight, and what cures it.

In: the finished outline of the piece, its placed rooms and bevels, in the piece frame. A piece
is trapped when cuts on two opposite edges both follow the building.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from scribe.fit.place import PlacedRoom
from scribe.fit.way_in import Found, border, in_plane, tilted
from scribe.job import OPPOSITE, Edge
from scribe.quantity import format_mm, round_down_mm

Array = npt.NDArray[np.float64]

_LEVELS = 200
# Turned so that the trapped ends lie left and right and the way in is up: (x, y) from (x, y).
_TURN: dict[Edge, Array] = {
    "top": np.eye(2),
    "bottom": -np.eye(2),
    "left": np.array([[0.0, 1], [-1, 0]]),
}
_TURN["right"] = -_TURN["left"]


def going_in_note(
    keep: Array,
    rooms: Sequence[PlacedRoom],
    thickness: float | None,
    bevels: Mapping[str, float],
) -> str | None:
    """The sentence, None for a piece that isn't trapped.

    keep: (N, 2) the border of the piece. bevels: how far the back stands clear, by edge.
    """
    by_edge = {room.edge.edge: room for room in rooms}
    firsts: tuple[Edge, ...] = ("left", "bottom")
    trapped = next((e for e in firsts if {e, OPPOSITE[e]} <= by_edge.keys()), None)
    if trapped is None:
        return None
    ways = _across(trapped)
    towards = next((e for e in ways if e in by_edge and OPPOSITE[e] not in by_edge), ways[0])
    turn = _TURN[towards]
    both = (trapped, OPPOSITE[trapped])
    ends = sorted(both, key=lambda e: float((turn @ by_edge[e].edge.visible_out)[0]))
    piece = keep @ turn.T
    left, right = (_rising(by_edge[e].front.points @ turn.T) for e in ends)
    found = [in_plane(piece, left, right, turns=False)]
    if found[0].spare < 0.0:
        found.append(in_plane(piece, left, right, turns=True))
    said = [_said(each, ends, towards) for each in found]
    if thickness is not None:
        said.append(_tilt(piece, left, right, thickness, [bevels.get(e, 0.0) for e in ends]))
    return f"Trapped between {ends[0]} and {ends[1]}. " + " ".join(said)


def _across(edge: Edge) -> tuple[Edge, Edge]:
    return ("top", "bottom") if edge in ("left", "right") else ("left", "right")


def _rising(points: Array) -> Array:
    return points if points[-1, 1] > points[0, 1] else points[::-1]


def _said(found: Found, ends: Sequence[str], towards: str) -> str:
    verb = {"slide": "slides straight in", "swing": "swings in"}[found.way]
    if found.spare >= 0.0:
        turned = f", turned by {abs(found.turn_deg):g} degrees" if found.way == "swing" else ""
        spare = format_mm(round_down_mm(found.spare, 0.1), 1)
        return f"In its plane it {verb} towards {towards} with {spare} mm to spare{turned}."
    short = format_mm(-round_down_mm(found.spare, 0.1), 1)
    what = "slide straight in" if found.way == "slide" else "swing in either"
    return (
        f"It can't {what}: {short} mm too wide, where its {ends[0]} end is {found.left:.0f} mm and "
        f"its {ends[1]} end {found.right:.0f} mm from its front."
    )


def _tilt(
    piece: Array, left: Array, right: Array, thickness: float, bevels: Sequence[float]
) -> str:
    low, high = float(piece[:, 1].min()), float(piece[:, 1].max())
    y = np.linspace(low, high, _LEVELS + 2)[1:-1]
    west, east = border(piece, y)
    near, far = (_at(points, y) for points in (left, right))
    found = tilted(east - west, far - near, y - low, thickness, bevels)
    if found.spare >= 0.0:
        spare = format_mm(round_down_mm(found.spare, 0.1), 1)
        return f"Tilted in, one end first, it has {spare} mm to spare if the walls are plumb there."
    at = int(np.argmin(np.abs(y - low - found.left)))
    length, gap = float((east - west)[at]), float((far - near)[at])
    relief = length - float(np.sqrt(max(gap**2 - thickness**2, 0.0)))
    short = format_mm(-round_down_mm(found.spare, 0.01), 2)
    clear = format_mm(-round_down_mm(-max(relief, 0.0), 0.1), 1)
    return (
        f"Tilted in, one end first, its thickness makes it {short} mm too long "
        f"{found.left:.0f} mm from its front: bevel the back of one end until it stands {clear} mm "
        "clear, or leave more clearance."
    )


def _at(points: Array, y: Array) -> Array:
    """(M,) x of a wall on each level; where it turns back, at its first crossing."""
    order = np.maximum.accumulate(points[:, 1])
    return np.asarray(np.interp(y, order, points[:, 0]))
