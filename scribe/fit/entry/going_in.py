"""How a trapped piece goes in, where it is tight, and what cures it: in words, and as positions.

In: the finished outline of the piece, its placed rooms and bevels, in the piece frame. A piece
is trapped when cuts on two opposite edges both follow the building; a third wall, behind it,
then counts too. What goes is said first, and drawn; where nothing does, what cures it is said, and
where it sticks on the straight way is drawn.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from scribe.fit.entry.easing import Eased, eased
from scribe.fit.entry.positions import in_plane_passage, tilted_passage
from scribe.fit.entry.tilting import PLUMB, Closing, Sections, Tilt, relief, tilted
from scribe.fit.entry.way_in import Found, border, in_plane
from scribe.fit.place import PlacedRoom
from scribe.job import OPPOSITE, Edge
from scribe.passage import Passage
from scribe.piece import Bevel
from scribe.quantity import format_mm, round_down_mm, round_up_mm
from scribe.side_walls import LeaningWalls

Array = npt.NDArray[np.float64]

_LEVELS = 200
# An infill between stile and wall, unlike a shelf, is pushed home square to its face.
_SQUARE_TO_FACE = (
    "Pushed home square to its face, as an infill is, it goes in where nothing in front is "
    "narrower than the place it comes to."
)
# Turned so that the trapped ends lie left and right and the way in is up: (x, y) from (x, y).
_TURN: dict[Edge, Array] = {
    "top": np.eye(2),
    "bottom": -np.eye(2),
    "left": np.array([[0.0, 1], [-1, 0]]),
}
_TURN["right"] = -_TURN["left"]


class GoingIn(NamedTuple):
    """What is said of a trapped piece, and its way in to draw, where there is one to show."""

    note: str
    passage: Passage | None


def going_in(
    keep: Array,
    rooms: Sequence[PlacedRoom],
    thickness: float | None,
    bevels: Mapping[str, Bevel],
    walls: LeaningWalls | None = None,
) -> GoingIn | None:
    """None for a piece that isn't trapped.

    keep: (N, 2) the border of the piece. bevels: by the edge that has one. walls: beside a piece
    that lies level, where somebody knows how they lean.
    """
    by_edge = {room.edge.edge: room for room in rooms}
    firsts: tuple[Edge, ...] = ("left", "bottom")
    trapped = next((e for e in firsts if {e, OPPOSITE[e]} <= by_edge.keys()), None)
    if trapped is None:
        return None
    ways = _across(trapped)
    if all(each in by_edge for each in ways):
        closed = (
            "Closed in on all four sides: it goes in with its face, if nothing in front is "
            "narrower than the place it comes to. Measure both, or try a template of card."
        )
        return GoingIn(closed, None)
    towards = next((e for e in ways if e in by_edge), ways[0])
    turn = _TURN[towards]
    both = (trapped, OPPOSITE[trapped])
    ends = sorted(both, key=lambda e: float((turn @ by_edge[e].edge.visible_out)[0]))
    third = by_edge.get(towards)
    place = _Place(
        keep @ turn.T,
        _rising(by_edge[ends[0]].front.points @ turn.T),
        _rising(by_edge[ends[1]].front.points @ turn.T),
        None if third is None else third.front.points @ turn.T,
        (ends[0], ends[1], towards, "" if third is None else third.job.outline),
    )
    tilt = None
    if thickness is not None:
        square = Bevel(0.0, 0.0, 0.0)
        tilt = _tilt(place, thickness, [bevels.get(e, square) for e in ends], walls)
    said, passage = _ways_in(place, tilt)
    return GoingIn(f"Trapped between {ends[0]} and {ends[1]}. {' '.join(said)}", passage)


class _Place(NamedTuple):
    """A piece and the walls it lies between, turned so that y is the way in.

    piece: (N, 2). left, right: (M, 2) in order of y. behind: the third wall, or None.
    names: of the piece's two ends and of the edge it goes in towards, and of the third outline.
    """

    piece: Array
    left: Array
    right: Array
    behind: Array | None
    names: tuple[str, str, str, str]

    def passage(self, found: Found, words: str) -> Passage | None:
        """The way found in its plane, to be drawn."""
        walls = (self.left, self.right, *([] if self.behind is None else [self.behind]))
        return in_plane_passage(found, self.piece, walls, self.names[:2], words)


class _Tilted(NamedTuple):
    """Whether it goes in tilted, what is said of it, and how it goes."""

    goes: bool
    said: str
    passage: Passage


def _across(edge: Edge) -> tuple[Edge, Edge]:
    return ("top", "bottom") if edge in ("left", "right") else ("left", "right")


def _rising(points: Array) -> Array:
    return points if points[-1, 1] > points[0, 1] else points[::-1]


def _ways_in(place: _Place, tilt: _Tilted | None) -> tuple[list[str], Passage | None]:
    """What goes, then what doesn't; swinging is tried where neither pushing nor tilting does."""
    walls = (place.piece, place.left, place.right)
    slide = in_plane(*walls, turns=False, behind=place.behind)
    tilting = [] if tilt is None else [tilt.said]
    if slide.spare >= 0.0:
        return [_goes(slide, place), *tilting], place.passage(slide, "It slides straight in")
    if tilt is not None and tilt.goes:
        return [tilt.said, _sticks(slide, place)], tilt.passage
    swing = in_plane(*walls, turns=True, behind=place.behind)
    if swing.spare >= 0.0:
        said = [_goes(swing, place), _sticks(slide, place), *tilting]
        return said, place.passage(swing, "It swings in")
    cure = "" if slide.behind else _cure(eased(*walls, slide.path), place)
    said = [
        _SQUARE_TO_FACE,
        "Any other way, as it is, it doesn't go in.",
        *(tilting or ["Give the blank's thickness to learn whether it can be tilted in."]),
        _sticks(slide, place) + cure,
        _sticks(swing, place),
    ]
    return said, place.passage(slide, "Straight in, it sticks")


def _goes(found: Found, place: _Place) -> str:
    verb = {"slide": "slides straight in", "swing": "swings in"}[found.way]
    turned = f", turned by {abs(found.turn_deg):g} degrees" if found.way == "swing" else ""
    spare = format_mm(round_down_mm(found.spare, 0.1), 1)
    return f"In its plane it {verb} towards {place.names[2]} with {spare} mm to spare{turned}."


def _sticks(found: Found, place: _Place) -> str:
    one, other, _, third = place.names
    what = "slide straight in" if found.way == "slide" else "swing in either"
    if not np.isfinite(found.spare):
        return f"It can't {what}: {third} is in the way behind it."
    short = format_mm(round_up_mm(-found.spare, 0.1), 1)
    held = f", and {third} behind it holds it there" if found.behind else ""
    return (
        f"It can't {what}: {short} mm too wide, where its {one} end is {found.left:.0f} mm and "
        f"its {other} end {found.right:.0f} mm from its front{held}."
    )


def _cure(ease: Eased, place: _Place) -> str:
    end = place.names[1] if ease.right else place.names[0]
    first, last = ease.stretch
    most = format_mm(round_up_mm(ease.most, 0.1), 1)
    return (
        f" It would, with up to {most} mm more off its {end} end from {first:.0f} to {last:.0f} mm "
        "from its front; that much gapes there."
    )


def _tilt(
    place: _Place, thickness: float, bevels: Sequence[Bevel], walls: LeaningWalls | None
) -> _Tilted:
    low, high = float(place.piece[:, 1].min()), float(place.piece[:, 1].max())
    y = np.linspace(low, high, _LEVELS + 2)[1:-1]
    west, east = border(place.piece, y)
    near, far = (_at(points, y) for points in (place.left, place.right))
    (a, b), (h, k) = [each.clear for each in bevels], [each.land for each in bevels]
    sections = Sections(west, east, near, far, thickness, (a, b), (h, k))
    closing = PLUMB if walls is None else _closing(walls)
    found = tilted(sections, closing)
    first = place.names[found.first]
    above = walls is None or found.face == (walls.face == "up")
    side = f"from {'above' if above else 'below'}, its {first} end first"
    passage = tilted_passage(
        sections, found, closing, place.names[:2], f"Tilted in {side}", above=above
    )
    if found.spare < 0.0:
        level = float(y[found.levels[1 - found.first]]) - low
        short = _sticks_tilted(found, relief(sections, closing), level, plumb=walls is None)
        return _Tilted(False, short, passage)
    said = f"it has {format_mm(round_down_mm(found.spare, 0.1), 1)} mm to spare"
    if walls is None:
        said = f"Tilted in, one end first, {said} if the walls are plumb there."
    else:
        said = f"Tilted in {side}, {said} between walls that lean as they were surveyed."
    return _Tilted(True, said, passage)


def _sticks_tilted(found: Tilt, clear: float, level: float, *, plumb: bool) -> str:
    """clear: mm that the back must stand clear. level: mm from its front, where it sticks."""
    short = format_mm(round_up_mm(-found.spare, 0.01), 2)
    thick = "its thickness makes" if plumb else "its thickness and the walls' lean make"
    cure = "leave more clearance"
    if np.isfinite(clear):
        stands = format_mm(round_up_mm(clear, 0.1), 1)
        cure = f"bevel the back of one end until it stands {stands} mm clear, or {cure}"
    return (
        f"Tilted in, one end first, {thick} it {short} mm too long {level:.0f} mm from its front: "
        f"{cure}."
    )


def _closing(walls: LeaningWalls) -> tuple[Closing, Closing]:
    """The walls beside the left and the right end, seen from the face with the way in up."""
    up = 1e-3 if walls.face == "up" else -1e-3
    left = Closing(up * walls.left, 1e-3 * walls.left_u)
    right = Closing(up * walls.right, 1e-3 * walls.right_u)
    return (left, right) if walls.face == "up" else (right, left)


def _at(points: Array, y: Array) -> Array:
    """(M,) x of a wall on each level; where it turns back, at its first crossing."""
    order = np.maximum.accumulate(points[:, 1])
    return np.asarray(np.interp(y, order, points[:, 0]))
