"""What a fitter asks of a solved opening: how far out of plumb, level and square, and where.

Each with its U from the joint covariance. What finished walls are commonly allowed to be is told
as context: whether a wall is acceptable is not for a tape to say.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Literal, get_args

import numpy as np

from scribe.opening import Opening, Side, Size
from scribe.quantity import format_mm, format_u
from scribe.standards import PLUMB_MM, PLUMB_UP_TO_MM, flatness_limit

SIDES: tuple[Side, ...] = get_args(Side)
_VAGUE = 5.0  # mm of u: what is usual in rooms is hardly less known (scribe.fit.opening.room_usual)
_FINISHED_WALLS = 6  # row of DIN 18202, table 3
_Verdict = Literal["size", "out", "within U", "open"]


@dataclass(frozen=True)
class Feature:
    """name: as a fitter says it. words: the size with its U, and what it means. verdict: "size"
    of a width, height or depth; of what should be plumb, level, straight or square whether it is
    "out" by more than U, "within U", or "open" where nobody measured it well enough.
    """

    name: str
    size: Size
    words: str
    verdict: _Verdict


def features(opening: Opening, *, sloping: bool = False) -> tuple[Feature, ...]:
    """Widths, heights, leans, bows, slopes, twist and squareness of an opening.

    sloping: the ceiling is meant to slope, so that diagonals say nothing of squareness.
    """
    width, height, depth = opening.reference
    found: list[Feature] = []

    def add(name: str, function: Callable[[Opening], float], say: Callable[[Size], str]) -> None:
        size = opening.size(function)
        found.append(Feature(name, size, say(size), "size" if say is _plain else _verdict(size)))

    tops = {"left": opening.ceiling_y(0.0, 0.0), "right": opening.ceiling_y(width, 0.0)}
    for plane, z in (("front", 0.0), ("back", depth)):
        for word, y in (("floor", 0.0), ("top", min(tops.values()))):
            add(f"width at the {word}, {plane}", partial(_width, y=y, z=z), _plain)
    for side, x in (("left", 0.0), ("right", width)):
        for plane, z in (("front", 0.0), ("back", depth)):
            add(f"height {side}, {plane}", partial(_height, x=x, z=z), _plain)
    for side, x in (("left", 0.0), ("right", width)):
        add(f"depth {side}", partial(_depth, x=x), _plain)
    for side in SIDES:
        top = tops[side]
        for plane, z in (("front", 0.0), ("back", depth)):
            lean = partial(_lean, side=side, z=z, top=top)
            add(f"{side} wall, {plane}", lean, _leaning)
        add(f"{side} wall, bow", partial(_bow, side=side, top=top), _bowed)
        add(f"{side} wall, twist", partial(_twist, side=side, top=top), _twisted)
        add(f"{side} wall, front to back", partial(_splay, side=side), _splayed)
    add("back wall", partial(_back_lean, top=height), _leaning)
    add("floor", _floor, _tilted)
    add("ceiling", _ceiling, _tilted)
    if not sloping:
        add("out of square, front", _diagonals, _square)
    return tuple(found)


def limits_as_context(opening: Opening) -> str:
    """What walls of this height are commonly allowed to be out, in one sentence."""
    height = opening.reference[1]
    off = format_mm(flatness_limit(_FINISHED_WALLS, height), 0)
    said = f"a finished wall may be off a straight line by {off} mm (DIN 18202)"
    if height <= PLUMB_UP_TO_MM:
        said += f", and a new home's may lean by {format_mm(PLUMB_MM, 0)} mm (NHBC 2020)"
    return f"As context: {said}."


def _width(o: Opening, y: float, z: float) -> float:
    return o.wall_x("right", y, z) - o.wall_x("left", y, z)


def _height(o: Opening, x: float, z: float) -> float:
    return o.ceiling_y(x, z) - o.floor_y(x, z)


def _depth(o: Opening, x: float) -> float:
    return o.back_z(x, o.reference[1] / 2.0)


def _lean(o: Opening, side: Side, z: float, top: float) -> float:
    """mm by which the top stands further into the opening than the foot."""
    moved = o.wall_x(side, top, z) - o.wall_x(side, 0.0, z)
    return moved if side == "left" else -moved


def _twist(o: Opening, side: Side, top: float) -> float:
    return _lean(o, side, o.reference[2], top) - _lean(o, side, 0.0, top)


def _splay(o: Opening, side: Side) -> float:
    """mm by which the back end stands further into the opening than the front, at the floor."""
    moved = o.wall_x(side, 0.0, o.reference[2]) - o.wall_x(side, 0.0, 0.0)
    return moved if side == "left" else -moved


def _back_lean(o: Opening, top: float) -> float:
    middle = o.reference[0] / 2.0
    return o.back_z(middle, 0.0) - o.back_z(middle, top)


def _bow(o: Opening, side: Side, top: float) -> float:
    """mm by which the wall stands into the opening half way up, in front, beyond its ends."""
    low, middle, high = (o.wall_x(side, y, 0.0) for y in (0.0, top / 2.0, top))
    out = middle - (low + high) / 2.0
    return out if side == "left" else -out


def _floor(o: Opening) -> float:
    return o.floor_y(o.reference[0], 0.0) - o.floor_y(0.0, 0.0)


def _ceiling(o: Opening) -> float:
    return o.ceiling_y(o.reference[0], 0.0) - o.ceiling_y(0.0, 0.0)


def _diagonals(o: Opening) -> float:
    """The front diagonal from bottom left less that from bottom right."""
    one = o.corner("front", "top", "right") - o.corner("front", "bottom", "left")
    other = o.corner("front", "top", "left") - o.corner("front", "bottom", "right")
    return float(np.linalg.norm(one) - np.linalg.norm(other))


def _plain(size: Size) -> str:
    return format_u(size.value, size.U)


def _verdict(size: Size) -> _Verdict:
    if size.u > _VAGUE:
        return "open"
    return "within U" if abs(size.value) <= size.U else "out"


def _signed(size: Size, more: str, less: str, none: str) -> str:
    verdict = _verdict(size)
    if verdict == "open":
        return f"not measured well enough to tell ({format_u(size.value, size.U)})"
    if verdict == "within U":
        return f"{none}, as far as U tells ({format_u(size.value, size.U)})"
    word = more if size.value > 0 else less
    return f"{word} {format_u(abs(size.value), size.U)}"


def _leaning(size: Size) -> str:
    return _signed(size, "leans into the opening by", "leans out by", "plumb")


def _bowed(size: Size) -> str:
    return _signed(size, "bulges into the opening by", "is hollow by", "straight")


def _twisted(size: Size) -> str:
    more, less = "leans in more at the back by", "leans in less at the back by"
    return _signed(size, more, less, "no twist")


def _splayed(size: Size) -> str:
    more, less = "comes in towards the back by", "goes out towards the back by"
    return _signed(size, more, less, "square to the front")


def _tilted(size: Size) -> str:
    return _signed(size, "rises to the right by", "falls to the right by", "level")


def _square(size: Size) -> str:
    more = "the diagonal from bottom left is longer by"
    less = "the diagonal from bottom right is longer by"
    return _signed(size, more, less, "square")
