"""Light that reaches the sensor: rays through every pixel, cast at the sheet, table and solids.

A pixel is the mean over `SUB` x `SUB` rays spread over its area. Rays are cast by tiles:
where a tile's rays meet the plane is a smooth function of the pixel, so it is worked out
exactly at 6 x 6 Chebyshev nodes and carried to all rays by the polynomial through them
(below 1e-6 mm for the lenses used here; the tests check it).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np

from tests.scenes.camera import Camera
from tests.scenes.outlines import Array
from tests.scenes.solids import Solid, share
from tests.scenes.stroke import Stroke
from tests.scenes.texture import Texture

SUB = 3
TILE = 120
NODES = 6
SIDE_STEPS = 4
SHADOW_STEPS = 4
_NO_TINT = (1.0, 1.0, 1.0)

Part = tuple[Array, tuple[float, float, float]]  # light of one colour at every ray, and its colour


@dataclass(frozen=True)
class Light:
    """towards: (3,) direction to the lamp. soft: mm of half shadow for each mm of height.

    depth: share of the light a full shadow takes. gradient: change of light per mm in x, y.
    vignette: loss of light in the corners of the photo.
    """

    towards: tuple[float, float, float]
    soft: float
    depth: float
    gradient: tuple[float, float]
    vignette: float


@dataclass(frozen=True)
class World:
    """What lies before the camera: a printed sheet on a table, solids, lowest first, a stroke.

    paper: (width, height) mm. print_scale: printed over stated length, in x and y.
    stroke_on: the index of the solid that carries the stroke, -1 for the plane z = 0.
    """

    sheet: Texture
    paper: tuple[float, float]
    print_scale: tuple[float, float]
    table: Texture
    table_tint: tuple[float, float, float]
    solids: tuple[Solid, ...]
    light: Light
    stroke: Stroke | None = None
    stroke_on: int = -1


def radiance(world: World, camera: Camera) -> Array:
    """(H, W, 3) float32 linear light, white paper in full light near 0.86."""
    width, height = camera.size
    picture = np.empty((height, width, 3), np.float32)
    for top in range(0, height, TILE):
        for left in range(0, width, TILE):
            h, w = min(TILE, height - top), min(TILE, width - left)
            picture[top : top + h, left : left + w] = _tile(world, camera, left, top, w, h)
    return picture


def _tile(world: World, camera: Camera, left: int, top: int, w: int, h: int) -> Array:
    u, v = _nodes() * (w / 2) + left + (w - 1) / 2, _nodes() * (h / 2) + top + (h - 1) / 2
    x, y = camera.hit(*np.meshgrid(u, v))
    across, down = _spread(w * SUB), _spread(h * SUB)
    rays = _carry(down, x, across).astype(np.float32), _carry(down, y, across).astype(np.float32)
    reach = abs(_nodes()[0] - _nodes()[-1]) / 2  # of the tile's side, from node to node
    wide = np.hypot(x[0, 0] - x[0, -1], y[0, 0] - y[0, -1]) / (reach * w)
    tall = np.hypot(x[0, 0] - x[-1, 0], y[0, 0] - y[-1, 0]) / (reach * h)
    spot = float(np.sqrt(wide * tall)) / SUB

    near = [each for each in world.solids if _near(each, world, camera, x, y)]
    parts: list[Part] = []
    if not near or not _hides(near[0], camera, *rays, spot):
        parts = _ground(world, *rays, spot)
    if parts and near:
        shade = _shade(world.light, near, *rays, spot)
        parts = [(part * shade, tint) for part, tint in parts]
    for solid in near:
        stroke = world.stroke if world.stroke_on == world.solids.index(solid) else None
        parts = _lay(solid, stroke, camera, *rays, spot, parts)

    light = np.zeros((h, w, 3), np.float32)
    for part, tint in parts:
        grey = cv2.resize(part, (w, h), interpolation=cv2.INTER_AREA)
        light += grey[..., None] * np.float32(tint)
    gx, gy = world.light.gradient
    even = 1 + gx * (x - world.paper[0] / 2) + gy * (y - world.paper[1] / 2)
    spread = _carry(_spread(h), even, _spread(w))
    middle = (np.array(camera.size) - 1) / 2
    column, row = np.arange(left, left + w) - middle[0], np.arange(top, top + h) - middle[1]
    out = (column[None] ** 2 + row[:, None] ** 2) / (middle @ middle)
    spread = np.maximum(spread, 0.05) * (1 - world.light.vignette * out)
    return light * spread.astype(np.float32)[..., None]


def _ground(world: World, x: Array, y: Array, w: float) -> list[Part]:
    """The plane z = 0: the sheet where the paper is, the table elsewhere."""
    wide, tall = world.paper
    inside = np.minimum(wide / 2 - np.abs(x - wide / 2), tall / 2 - np.abs(y - tall / 2))
    on = share(inside, w)
    parts = []
    if on.any():
        sx, sy = np.float32(world.print_scale)
        sheet = world.sheet.at(x / sx, y / sy, w)
        if world.stroke is not None and world.stroke_on < 0:
            sheet *= world.stroke.light_left(x, y, w)
        parts.append((sheet * on, _NO_TINT))
    if not on.all():
        # Paper lies on the table with a hair of shadow along its edge.
        rim = 1 - 0.35 * np.exp(np.minimum(inside, 0) / np.float32(0.5))
        parts.append((world.table.at(x, y, w) * (1 - on) * rim, world.table_tint))
    return parts


def _near(solid: Solid, world: World, camera: Camera, x: Array, y: Array) -> bool:
    """Whether a tile's rays (their hits at z = 0) can meet the solid or its shadow."""
    cx, cy, cz = camera.position
    k = solid.z_top / cz
    lean = solid.z_top * np.abs(np.array(world.light.towards[:2])) / world.light.towards[2]
    spare = float(lean.max()) + solid.z_top * world.light.soft + 1.0
    x0, y0, x1, y1 = solid.box
    xs, ys = [x, x + k * (cx - x)], [y, y + k * (cy - y)]
    return bool(
        max(a.max() for a in xs) > x0 - spare
        and min(a.min() for a in xs) < x1 + spare
        and max(a.max() for a in ys) > y0 - spare
        and min(a.min() for a in ys) < y1 + spare
    )


def _shade(light: Light, solids: list[Solid], x: Array, y: Array, w: float) -> Array:
    """Light left on the plane z = 0 under the solids: the lamp is hidden at some height."""
    dark = np.zeros_like(x)
    for solid in solids:
        for z in np.linspace(solid.z_low, solid.z_top, SHADOW_STEPS):
            reach = np.float32(z / light.towards[2])
            px, py = (
                x + reach * np.float32(light.towards[0]),
                y + reach * np.float32(light.towards[1]),
            )
            np.maximum(dark, solid.cover(px, py, max(w, light.soft * z)), out=dark)
    return 1 - np.float32(light.depth) * dark


def _at_height(camera: Camera, x: Array, y: Array, z: float) -> tuple[Array, Array]:
    """Where the rays that meet the plane z = 0 at x, y pass the height z."""
    cx, cy, cz = camera.position
    keep, move = np.float32(1 - z / cz), z / cz
    return x * keep + np.float32(move * cx), y * keep + np.float32(move * cy)


def _hides(solid: Solid, camera: Camera, x: Array, y: Array, w: float) -> bool:
    """Whether the top of a solid fills the whole tile."""
    return bool((solid.cover(*_at_height(camera, x, y, solid.z_top), w) == 1).all())


def _lay(
    solid: Solid,
    stroke: Stroke | None,
    camera: Camera,
    x: Array,
    y: Array,
    w: float,
    parts: list[Part],
) -> list[Part]:
    """Put a solid over what was seen so far: its top, and its sides where rays pass the top."""
    px, py = _at_height(camera, x, y, solid.z_top)
    top = solid.cover(px, py, w)
    side = np.zeros_like(top)
    if not (top == 1).all():
        for z in np.linspace(solid.z_top, solid.z_low, SIDE_STEPS + 1)[1:]:
            np.maximum(side, solid.cover(*_at_height(camera, x, y, float(z)), w), out=side)
    seen = np.maximum(top, side)
    under = [(part * (1 - seen), tint) for part, tint in parts]
    own = (seen - top) * np.float32(solid.side)
    if top.any():
        face = solid.albedo(px, py, w)
        if stroke is not None:
            face *= stroke.light_left(px, py, w)
        own += top * face
    return [*under, (own, solid.tint)]


def _carry(down: Array, values: Array, across: Array) -> Array:
    return down @ values @ across.T


@lru_cache(maxsize=1)
def _nodes() -> Array:
    """Chebyshev nodes on -1 .. 1."""
    return np.cos(np.pi * (2 * np.arange(NODES) + 1) / (2 * NODES))


@lru_cache(maxsize=16)
def _spread(count: int) -> Array:
    """(count, NODES): the polynomial through the nodes, at `count` places evenly over -1 .. 1."""
    places = (np.arange(count) + 0.5) / count * 2 - 1
    nodes = _nodes()
    weights = np.ones((count, NODES))
    for i in range(NODES):
        for j in range(NODES):
            if i != j:
                weights[:, i] *= (places - nodes[j]) / (nodes[i] - nodes[j])
    return weights
