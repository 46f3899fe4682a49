"""What lies in the window of the sheet: a gauge, a card or board, a line; each with its truth."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from tests.scenes.outlines import SHAPES, Array, Curve
from tests.scenes.solids import Board, Box, Pins, push_pins
from tests.scenes.stroke import Stroke
from tests.scenes.texture import Texture, plain, wood

Tint = tuple[float, float, float]
WOOD_TINT: Tint = (1.0, 0.78, 0.56)
DARK_TINT: Tint = (1.0, 0.72, 0.48)
STEEL_TINT: Tint = (0.97, 0.98, 1.0)
PLASTIC_TINT: Tint = (0.9, 0.95, 1.15)
BODY_TINTS: tuple[Tint, ...] = ((1.0, 0.95, 0.9), (0.55, 0.8, 1.5), (1.9, 0.75, 0.4))

# Reflectance (common sense, no source): of pins and the streak of light along them.
PIN_LOOKS = {"black": (0.05, 0.06), "bright": (0.3, 0.4), "plastic": (0.11, 0.03)}

# Reflectance of red, green and blue (common sense, no source): painted or plastic things, some as
# light as paper.
COLOURS: dict[str, Tint] = {
    "yellow": (0.95, 0.75, 0.05),
    "orange": (0.9, 0.35, 0.04),
    "sky": (0.35, 0.6, 0.9),
    "blue": (0.04, 0.15, 0.55),
    "green": (0.08, 0.45, 0.12),
    "red": (0.65, 0.05, 0.04),
    "beige": (0.82, 0.74, 0.58),
    "cream": (0.93, 0.86, 0.62),
    "pine": (0.8, 0.62, 0.38),
    "mint": (0.6, 0.85, 0.7),
}

# How far a pin comes to rest from where it touched, mm, standard deviation (estimate, no source).
PLAY = 0.02


class Draw:
    """Draws in a fixed order, so that giving one option leaves the other draws alone."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng

    def between(self, low: float, high: float) -> float:
        return float(self.rng.uniform(low, high))

    def choice(self, names: list[str]) -> str:
        return names[int(self.rng.integers(len(names)))]

    def seed(self) -> int:
        return int(self.rng.integers(1 << 30))


@dataclass(frozen=True)
class Wish:
    """What was asked for; None is drawn."""

    shape: str | None = None
    outline: Curve | None = None
    height: float | None = None
    material: str | None = None
    tip: str | None = None
    pitch: float | None = None

    def curve(self, draw: Draw, shapes: list[str], box: Box, swing: float) -> tuple[str, Curve]:
        """An outline from x0 to x1 within swing of y1, and the name of its shape."""
        x0, _, x1, y = box
        drawn, seed = draw.choice(shapes), draw.seed()
        shape = self.shape or drawn
        made = SHAPES[shape](np.random.default_rng(seed), x0, x1, y, swing=swing)
        return ("given", self.outline) if self.outline is not None else (shape, made)


@dataclass(frozen=True)
class Thing:
    """solids lowest first; truth (N, 2) on z = height; what was drawn, for the record."""

    solids: tuple[Board | Pins, ...]
    truth: Array
    height: float
    options: dict[str, object]
    tips: Array | None = None
    stroke: Stroke | None = None
    stroke_on: int = -1


def gauge(draw: Draw, window: Box, wish: Wish) -> Thing:
    """Pins in a body, their upper ends against a wall that lies above them and is gone again.

    The pins' visible outline from above lies at z_top = height; each has come to rest within
    its play. Truth is the wall, over the width of the pins: the contact surface, reached or not.
    """
    x0, y0, x1, y1 = window
    drawn = draw.between(3, 8), draw.between(0.8, 1.6)
    height = wish.height or drawn[0]
    pitch = wish.pitch or drawn[1]
    drawn_look = draw.choice(list(PIN_LOOKS)), draw.choice(["round", "flat"])
    material, tip = wish.material or drawn_look[0], wish.tip or drawn_look[1]
    travel = 0.05 * (y1 - y0)
    wall_y = y1 - travel - draw.between(8, 20)
    swing = travel * draw.between(0.35, 1.0)
    name, wall = wish.curve(draw, ["smooth", "smooth", "moulding"], (x0, y0, x1, wall_y), swing)

    margin, gap = draw.between(9, 16), draw.between(0.06, 0.14)
    count = int((x1 - x0 - 2 * margin) / pitch)
    half = (pitch - gap) / 2
    first = (x0 + x1) / 2 - (count - 1) * pitch / 2
    tips = push_pins(wall, first, pitch, count, half, rounded=tip == "round")
    base, streak = PIN_LOOKS.get(material, (1.0, 0.03))
    pins = Pins(
        first=first,
        pitch=pitch,
        half=half,
        tips=tips,
        length=0.4 * (y1 - y0),
        round=tip == "round",
        z_low=height - min(draw.between(1.5, 3.0), 0.7 * height),
        z_top=height,
        metal=base * (1 + 0.15 * draw.rng.uniform(-1, 1, count)),
        streak=streak,
        tint=COLOURS.get(material, PLASTIC_TINT if material == "plastic" else STEEL_TINT),
        side=0.5 * base,
    )
    ends = pins.box[0] - draw.between(2, 6), pins.box[2] + draw.between(2, 6)
    middle, deep = float(tips.mean()) - pins.length / 2, draw.between(20, 27)
    body = Board(
        top=Curve(ends[0], np.full(2, middle + deep / 2), step=ends[1] - ends[0]),
        bottom=middle - deep / 2,
        ends=ends,
        z_low=height,
        z_top=height + draw.between(2, 5),
        surface=plain(
            draw.seed(),
            (ends[0] - 5, middle - 30),
            (ends[1] - ends[0] + 10, 60),
            low=0.06,
            high=0.12,
            texel=0.1,
        ),
        tint=BODY_TINTS[int(draw.rng.integers(len(BODY_TINTS)))],
        side=0.04,
    )
    tips = tips + PLAY * draw.rng.standard_normal(count)
    at = np.column_stack([first + pitch * np.arange(count), tips])
    options: dict[str, object] = {"shape": name, "material": material, "tip": tip, "pitch": pitch}
    truth = wall.polyline(pins.box[0], pins.box[2])
    return Thing((replace(pins, tips=tips), body), truth, height, options, tips=at)


def edge(draw: Draw, window: Box, wish: Wish) -> Thing:
    """A card or board flat on the sheet. Truth is the upper edge of its face, z = thickness."""
    x0, y0, x1, y1 = window
    drawn = draw.between(1, 12), draw.choice(["wood", "grey", "white"])
    thickness, material = wish.height or drawn[0], wish.material or drawn[1]
    ends = x0 + draw.between(6, 14), x1 - draw.between(6, 14)
    y = y0 + (y1 - y0) * draw.between(0.55, 0.75)
    box = (ends[0], y0, ends[1], y)
    name, top = wish.curve(draw, list(SHAPES), box, draw.between(4, 14))
    bottom = y0 + draw.between(8, 40)
    surface, tint = _face(draw, material, window)
    board = Board(
        top, bottom, ends, 0.0, thickness, surface, tint, 0.6 * (surface.low + surface.high) / 2
    )
    options: dict[str, object] = {"shape": name, "material": material}
    return Thing((board,), top.polyline(*ends), thickness, options)


def line(draw: Draw, window: Box, wish: Wish) -> Thing:
    """A pencil or knife line. Truth is its middle, over its whole length, gaps included.

    Height 0: in the sheet's plane, on the sheet itself ("plain") or on a thin veneer
    ("wood"); otherwise on the face of a board of that thickness.
    """
    x0, y0, x1, y1 = window
    drawn = draw.choice(["0", "board"]), draw.between(4, 18), draw.choice(["plain", "wood"])
    thickness = wish.height if wish.height is not None else (0.0, drawn[1])[drawn[0] != "0"]
    material = wish.material or drawn[2]
    y = y0 + (y1 - y0) * draw.between(0.4, 0.6)
    name, path = wish.curve(
        draw, ["smooth", "smooth", "moulding"], (x0 + 4, y0, x1 - 4, y), draw.between(4, 16)
    )
    ends = x0 + draw.between(12, 18), x1 - draw.between(12, 18)
    knife = draw.choice(["pencil", "pencil", "knife"]) == "knife"
    gaps = tuple(
        (a, a + draw.between(1.0, 3.0)) for a in draw.rng.uniform(ends[0] + 8, ends[1] - 12, 3)
    )
    count = 25
    specks = np.column_stack(
        [
            draw.rng.uniform(*ends, count),
            y + draw.rng.uniform(-35, 35, count),
            draw.rng.uniform(0.1, 0.35, count),
        ]
    )
    stroke = Stroke(
        path=path,
        ends=ends,
        width=draw.between(0.2, 0.3) if knife else draw.between(0.45, 0.8),
        darkness=draw.between(0.75, 0.9) if knife else draw.between(0.55, 0.8),
        grain=0.2 if knife else draw.between(0.3, 0.7),
        gaps=gaps[: int(draw.rng.integers(4))],
        specks=specks[: int(draw.rng.integers(count))],
        seed=draw.seed(),
    )
    surface, tint = _face(draw, "board" if material == "wood" else "white", window)
    bare = thickness == 0.0 and material == "plain"
    flat = Curve(x0 + 3, np.full(2, y + draw.between(45, 60)), step=x1 - x0 - 6)
    bottom = y - draw.between(45, 60)
    board = Board(
        flat,
        bottom,
        (x0 + 3, x1 - 3),
        0.0,
        thickness,
        surface,
        tint,
        0.6 * (surface.low + surface.high) / 2,
    )
    options: dict[str, object] = {
        "shape": name,
        "material": material,
        "tool": "knife" if knife else "pencil",
        "width": stroke.width,
        "gaps": len(stroke.gaps),
    }
    return Thing(
        () if bare else (board,),
        path.polyline(*ends),
        thickness,
        options,
        stroke=stroke,
        stroke_on=-1 if bare else 0,
    )


def _face(draw: Draw, material: str, window: Box) -> tuple[Texture, Tint]:
    x0, y0, x1, y1 = window
    origin, size, seed = (x0 - 3, y0 - 3), (x1 - x0 + 6, y1 - y0 + 6), draw.seed()
    if material == "wood":
        return wood(seed, origin, size, low=0.07, high=0.22, texel=0.1), DARK_TINT
    if material == "board":
        return wood(seed, origin, size, low=0.38, high=0.6, texel=0.1), WOOD_TINT
    looks = {"grey": (0.2, 0.32), "white": (0.5, 0.62)}
    low, high = looks.get(material, (0.95, 1.0))
    tint = COLOURS.get(material, (1.0, 1.0, 0.99))
    return plain(seed, origin, size, low=low, high=high, texel=0.1), tint


THINGS: dict[str, Callable[[Draw, Box, Wish], Thing]] = {"gauge": gauge, "edge": edge, "line": line}
