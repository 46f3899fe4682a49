"""What else lies and is written on a fitter's bench: each lays or draws it into a scene.

    scene = CLUTTER["rule"](make_scene("edge", 7), np.random.default_rng(7))

The truth stays what it was: the scene's own edge, line or wall.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import cv2
import numpy as np

from tests.scenes.offcut import Offcut
from tests.scenes.outlines import Array
from tests.scenes.rods import Rods
from tests.scenes.scene import Scene
from tests.scenes.sketch import Sketch
from tests.scenes.solids import Board, Solid
from tests.scenes.things import Tint

Lay = Callable[[Scene, np.random.Generator], Scene]

WORDS = ("HALL 3", "this side", "24.5", "KEEP", "610", "left end")
STEEL: Tint = (0.97, 0.98, 1.0)
SKIN: Tint = (0.62, 0.36, 0.26)  # reflectance (common sense, no source), as all below
PENCILS: tuple[Tint, ...] = ((0.95, 0.75, 0.05), (0.65, 0.05, 0.04), (0.08, 0.08, 0.07))


def _low(scene: Scene, solid: Solid) -> Scene:
    """Below everything else on the sheet."""
    world = scene.world
    on = world.stroke_on + 1 if world.stroke_on >= 0 else -1
    return replace(scene, world=replace(world, solids=(solid, *world.solids), stroke_on=on))


def _over(scene: Scene, solid: Solid) -> Scene:
    world = scene.world
    return replace(scene, world=replace(world, solids=(*world.solids, solid)))


def _place(scene: Scene, rng: np.random.Generator, spare: float = 25.0) -> Array:
    """(2,) mm of a place along the outline."""
    x = rng.uniform(scene.truth[:, 0].min() + spare, scene.truth[:, 0].max() - spare)
    return np.array([x, np.interp(x, *scene.truth.T)])


def pencil(scene: Scene, rng: np.random.Generator) -> Scene:
    """It lies on the paper beyond, roughly along."""
    middle = _place(scene, rng) + np.array([0.0, rng.uniform(25.0, 40.0)])
    turn = np.radians(rng.uniform(-20, 20))
    run = rng.uniform(45, 80) * np.array([np.cos(turn), np.sin(turn)])
    tint = PENCILS[int(rng.integers(len(PENCILS)))]
    ends = (middle - run)[None], (middle + run)[None]
    return _over(scene, Rods(*ends, np.array([3.6]), 0.0, 7.0, tint))


def coin(scene: Scene, rng: np.random.Generator) -> Scene:
    radius = rng.uniform(9, 13)
    top = scene.truth[:, 1].max() + radius + rng.uniform(4, 18)
    at = np.array([[_place(scene, rng)[0], top]])
    return _low(scene, Rods(at, at, np.array([radius]), 0.0, 2.0, (0.4, 0.32, 0.2)))


def crumbs(scene: Scene, rng: np.random.Generator) -> Scene:
    """Sawdust on the paper, dark or light, some of it close by."""
    count = 40
    x = rng.uniform(scene.truth[:, 0].min(), scene.truth[:, 0].max(), count)
    y = np.interp(x, *scene.truth.T) + np.abs(rng.normal(0, 12, count)) + 0.8
    run, turn = rng.uniform(0, 1.5, count), rng.uniform(0, np.pi, count)
    a = np.column_stack([x, y])
    b = a + run[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])
    tint = ((0.5, 0.4, 0.26), (0.12, 0.08, 0.05))[int(rng.integers(2))]
    radius = np.exp(rng.uniform(np.log(0.12), np.log(0.7), count))
    return _low(scene, Rods(a, b, radius, 0.0, 0.5, tint))


def _fingers(scene: Scene, rng: np.random.Generator, tips: float, count: int) -> Scene:
    """From the lower side of the sheet up to so many mm from the outline."""
    x, y = _place(scene, rng)
    k = np.arange(count)
    above = y + tips + rng.normal(0, 4, count)
    ends = np.column_stack([x + 17 * (k - (count - 1) / 2), above])
    roots = ends + np.array([rng.uniform(-20, 20), -250.0])
    lies = scene.height + (4 if scene.kind == "gauge" else 0)
    tint = tuple(float(part) for part in np.array(SKIN) * rng.uniform(0.5, 1.0))
    return _over(scene, Rods(ends, roots, np.full(count, 8.0), lies, lies + 15.0, tint))


def held(scene: Scene, rng: np.random.Generator) -> Scene:
    """Fingers hold the thing down, well away from the outline."""
    return _fingers(scene, rng, -40.0, int(rng.integers(1, 5)))


def finger_over(scene: Scene, rng: np.random.Generator) -> Scene:
    """One reaches over the outline."""
    return _fingers(scene, rng, rng.uniform(3, 8), 1)


def words(scene: Scene, rng: np.random.Generator) -> Scene:
    """Written beside it, below."""
    sketch = Sketch()
    for _ in range(int(rng.integers(1, 4))):
        tall = rng.uniform(5, 12)
        at = _place(scene, rng) - [15.0, tall + rng.uniform(4, 25)]
        text = WORDS[int(rng.integers(len(WORDS)))]
        sketch.word(text, at, tall, rng.uniform(0.5, 0.8), rng.uniform(0.4, 0.8))
    return sketch.on_board(scene)


def datum(scene: Scene, rng: np.random.Generator) -> Scene:
    """A ruled line with marks at its stations, 25 to 40 mm below."""
    sketch, dark, width = Sketch(), rng.uniform(0.4, 0.75), rng.uniform(0.35, 0.6)
    x0, x1 = scene.truth[[0, -1], 0]
    level = float(np.median(scene.truth[:, 1])) - rng.uniform(25, 40)
    sketch.stroke(np.array([[x0, level], [x1, level]]), dark, width)
    for x in np.arange(x0 + 10, x1 - 5, 25.0):
        sketch.stroke(np.array([[x, level - 3], [x, level + 3]]), dark, width)
    return sketch.on_board(scene)


def attempt(scene: Scene, rng: np.random.Generator) -> Scene:
    """A line that was given up, a few mm below."""
    sketch = Sketch()
    part = scene.truth[: int(len(scene.truth) * rng.uniform(0.5, 1.0)) : 8]
    low = rng.uniform(4, 8) + rng.uniform(0, 0.03) * (part[:, :1] - part[0, 0])
    sketch.stroke(part - [0.0, 1.0] * low, rng.uniform(0.3, 0.75), rng.uniform(0.35, 0.6))
    return sketch.on_board(scene)


def folds(scene: Scene, rng: np.random.Generator) -> Scene:
    """The sheet was carried in a pocket, and pressed flat again."""
    sketch, (wide, tall) = Sketch(), scene.world.paper
    dark, width = rng.uniform(0.08, 0.25), rng.uniform(0.3, 0.7)
    sketch.stroke(np.array([[wide / 2, 0.0], [wide / 2, tall]]), dark, width)
    sketch.stroke(np.array([[0.0, tall / 2], [wide, tall / 2]]), dark, width)
    return sketch.on_sheet(scene)


def tape(scene: Scene, rng: np.random.Generator) -> Scene:
    """Light tape on the board, along the outline."""
    sketch, board = Sketch(), scene.world.solids[0] if scene.world.solids else None
    usual = 0.86 if board is None else (board.surface.low + board.surface.high) / 2
    upper = float(np.median(scene.truth[:, 1])) + rng.uniform(-12, 12)
    wide, lean = rng.uniform(18, 38), rng.uniform(-2, 2)
    x0, x1 = scene.truth[[0, -1], 0] + [-30.0, 30.0]
    corners = [(x0, upper), (x1, upper + lean), (x1, upper + lean - wide), (x0, upper - wide)]
    light = int(np.clip(100 * rng.uniform(0.55, 0.75) / usual, 20, 250))
    cv2.fillPoly(sketch.left, [np.array([sketch.at(c) for c in corners])], light, cv2.LINE_AA)
    return sketch.on_board(scene)


def arris(scene: Scene, rng: np.random.Generator) -> Scene:
    """The arris is chamfered, and in shade: a dark strip of the board along its edge."""
    sketch = Sketch()
    wide = min(rng.uniform(0.4, 2.0), 0.45 * scene.height)
    sketch.stroke(scene.truth[::4], rng.uniform(0.2, 0.6), 2 * wide)
    return sketch.on_board(scene)


def offcut(scene: Scene, rng: np.random.Generator) -> Scene:
    """It was sawn, drawn apart by some mm, and left lying."""
    piece = scene.world.solids[0]
    assert isinstance(piece, Board)
    gap = rng.uniform(1.5, 8.0)
    upper = float(piece.top.values.max()) + gap + rng.uniform(12.0, 35.0)
    return _over(scene, Offcut(piece, gap, upper))


EVERYWHERE = ("pencil", "coin", "crumbs", "held", "finger_over", "folds")
ON_BOARDS = ("words", "datum", "attempt", "tape")
CLUTTER: dict[str, Lay] = {
    each.__name__: each
    for each in (
        pencil, coin, crumbs, held, finger_over, words, datum, attempt, folds, tape, arris, offcut,
    )
}  # fmt: skip
OF_KIND = {
    "gauge": EVERYWHERE,
    "edge": (*EVERYWHERE, *ON_BOARDS, "arris", "offcut"),
    "line": (*EVERYWHERE, *ON_BOARDS),
}
