"""What goes wrong with photos: each spoils a rendered one, as a hand, a lamp or a phone would.

Pictures are (H, W, 3) uint8, upright. Where it matters for the geometry (a sheet that isn't
flat) every point of the picture is moved to where the camera would see it; the rest happens
in the picture itself.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np

from scribe.target import window_sheet
from tests.scenes.camera import Camera
from tests.scenes.outlines import Array
from tests.scenes.photo import tone as tone_curve
from tests.scenes.scene import Scene
from tests.scenes.texture import printed

_NET = 240  # parts of each side of the picture between which a shift is taken as straight

Spoil = Callable[[Array, Scene, np.random.Generator], Array]


def glare(picture: Array, scene: Scene, rng: np.random.Generator) -> Array:
    """A lamp mirrored in the sheet: marks drown in white."""
    middle = _on_marks(scene, rng)
    reach = rng.uniform(25.0, 60.0) * _px_per_mm(scene)
    far = _distance(picture, middle) / reach
    light = (picture / 255.0) ** 2.2 + (1.6 * np.exp(-((far) ** 2)))[..., None]
    return _encoded(light ** (1 / 2.2))


def hand(picture: Array, scene: Scene, rng: np.random.Generator) -> Array:
    """Fingers over the marks at one side of the sheet."""
    out = picture.copy()
    place, scale = _on_marks(scene, rng), _px_per_mm(scene)
    inward = _project(scene, np.array(scene.world.paper) / 2.0) - place
    inward = inward / np.hypot(*inward)
    mask = np.zeros(picture.shape[:2], np.uint8)
    across = np.array([-inward[1], inward[0]])
    for k in range(int(rng.integers(2, 5))):
        root = place - 60 * scale * inward + (k - 1.5) * 17 * scale * across
        tip = place + rng.uniform(0, 25) * scale * inward + (k - 1.5) * 17 * scale * across
        a, b = (tuple(int(v) for v in end) for end in (root, tip))
        cv2.line(mask, a, b, 255, max(int(15 * scale), 3), cv2.LINE_AA)
    soft = cv2.GaussianBlur(mask, (0, 0), 1.2)[..., None] / 255.0
    skin = np.array([205.0, 150.0, 125.0]) * rng.uniform(0.6, 1.0)
    return _encoded((out * (1 - soft) + skin * soft) / 255.0)


def motion(picture: Array, scene: Scene, rng: np.random.Generator) -> Array:  # noqa: ARG001
    """The phone moved while the shutter was open."""
    length, turn = rng.uniform(3, 18), rng.uniform(0, 180)
    size = int(length) // 2 * 2 + 3
    kernel = np.zeros((size, size), np.float32)
    step = np.array([np.cos(np.radians(turn)), np.sin(np.radians(turn))]) * length / 2
    a, b = (tuple(round(v) for v in size // 2 + s * step) for s in (-1, 1))
    cv2.line(kernel, a, b, 1.0, 1, cv2.LINE_AA)
    return cv2.filter2D(picture, -1, kernel / kernel.sum())


def defocus(picture: Array, scene: Scene, rng: np.random.Generator) -> Array:  # noqa: ARG001
    """Focused on something else."""
    return cv2.GaussianBlur(picture, (0, 0), rng.uniform(1.5, 6.0))


def defocus_to_one_side(picture: Array, scene: Scene, rng: np.random.Generator) -> Array:  # noqa: ARG001
    """Sharp at one end of the sheet, soft at the other."""
    soft = cv2.GaussianBlur(picture, (0, 0), rng.uniform(2.5, 5.0)).astype(np.float32)
    ramp = np.linspace(0, 1, picture.shape[0], dtype=np.float32)[:, None, None]
    return _encoded((picture * (1 - ramp) + soft * ramp) / 255.0)


def noise(picture: Array, scene: Scene, rng: np.random.Generator) -> Array:  # noqa: ARG001
    """A dark room, pushed."""
    spread = rng.uniform(8, 22)
    return _encoded((picture + rng.normal(0, spread, picture.shape)) / 255.0)


def tone(picture: Array, scene: Scene, rng: np.random.Generator) -> Array:  # noqa: ARG001
    """A phone that flatters: local contrast and strong sharpening."""
    lab = cv2.cvtColor(picture, cv2.COLOR_RGB2LAB)
    lab[..., 0] = cv2.createCLAHE(rng.uniform(1.5, 3.0), (6, 6)).apply(lab[..., 0])
    even = cv2.cvtColor(lab, cv2.COLOR_LAB2RGB).astype(np.float32)
    soft = cv2.GaussianBlur(even, (0, 0), rng.uniform(1.0, 2.5))
    return _encoded((even + rng.uniform(0.5, 1.2) * (even - soft)) / 255.0)


def screen(picture: Array, scene: Scene, rng: np.random.Generator) -> Array:  # noqa: ARG001
    """Taken from a screen: its pixels beat with the camera's."""
    rows, columns = np.indices(picture.shape[:2], dtype=np.float32)
    pitch, turn = rng.uniform(2.2, 4.5), np.radians(rng.uniform(1, 12))
    u = (columns * np.cos(turn) + rows * np.sin(turn)) / pitch
    v = (rows * np.cos(turn) - columns * np.sin(turn)) / pitch
    grid = np.stack([0.75 + 0.25 * np.cos(2 * np.pi * (u + k / 3)) for k in range(3)], axis=-1)
    grid *= (0.85 + 0.15 * np.cos(2 * np.pi * v))[..., None]
    return _encoded(picture / 255.0 * grid)


def wobble(picture: Array, scene: Scene, rng: np.random.Generator) -> Array:  # noqa: ARG001
    """Read row by row while the phone swung."""
    rows, columns = np.indices(picture.shape[:2], dtype=np.float32)
    swing, waves = rng.uniform(2, 9), rng.uniform(0.4, 1.6)
    moved = columns + np.float32(swing) * np.sin(2 * np.pi * waves * rows / len(picture)).astype(
        np.float32
    )
    return cv2.remap(picture, moved, rows, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)


def curl(picture: Array, scene: Scene, rng: np.random.Generator) -> Array:
    """A sheet that bends up evenly towards two sides."""
    sag, turn = rng.uniform(1.0, 8.0), rng.uniform(0, np.pi)
    return _lifted(picture, scene, lambda s: sag * s**2, turn)


def crease(picture: Array, scene: Scene, rng: np.random.Generator) -> Array:
    """A fold across the sheet: a roof."""
    sag, turn = rng.uniform(2.0, 7.0), rng.uniform(0, np.pi)
    return _lifted(picture, scene, lambda s: sag * (1 - np.abs(s)).clip(0), turn)


def corner(picture: Array, scene: Scene, rng: np.random.Generator) -> Array:
    """One corner of the sheet lifts."""
    sag, turn = rng.uniform(5.0, 20.0), np.pi / 4 + np.pi / 2 * int(rng.integers(4))
    return _lifted(picture, scene, lambda s: sag * ((s - 0.3) / 0.7).clip(0) ** 2, turn)


def photo_of_photo(picture: Array, scene: Scene, rng: np.random.Generator) -> Array:  # noqa: ARG001
    """A print of the photo, photographed from the side: no camera of its own explains it."""
    height, width = picture.shape[:2]
    frame = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    reach = rng.uniform(0.03, 0.12)
    seen = frame + (rng.uniform(-reach, reach, (4, 2)) * [width, height]).astype(np.float32)
    turn = cv2.getPerspectiveTransform(frame, seen)
    again = cv2.warpPerspective(picture, turn, (width, height), flags=cv2.INTER_AREA)
    return cv2.GaussianBlur(again, (0, 0), 0.8)


def second_sheet(picture: Array, scene: Scene, rng: np.random.Generator) -> Array:
    """Another print of the same kind lies over one side of the sheet."""
    wide, tall = scene.world.paper
    number, across = int(rng.integers(2, 40)), rng.uniform(0.62, 0.9) * wide
    side = 1 if rng.random() < 0.5 else -1
    sheet = printed("A4", "window", number)
    page = sheet.levels[2]
    corners = np.array([[0, tall], [wide, tall], [wide, 0], [0, 0]])
    corners[:, 0] += side * across
    seen = scene.camera.project(np.column_stack([corners, np.zeros(4)])).astype(np.float32)
    rows, columns = page.shape
    frame = np.array([[0, 0], [columns, 0], [columns, rows], [0, rows]], np.float32)
    turn = cv2.getPerspectiveTransform(frame, seen)
    size = picture.shape[1], picture.shape[0]
    share = cv2.warpPerspective(np.full(page.shape, 255, np.uint8), turn, size)[..., None] / 255.0
    light = cv2.warpPerspective(page, turn, size, flags=cv2.INTER_AREA) / 255.0
    over = tone_curve(0.03 + 0.67 * light)[..., None]
    return _encoded(picture / 255.0 * (1 - share) + over * share)


def number_hidden(picture: Array, scene: Scene, rng: np.random.Generator) -> Array:
    """Scraps of card over most of the marks that say which sheet it is."""
    target = window_sheet("A4", 1)
    out = picture.copy()
    for marker in target.markers[~target.is_place]:
        if rng.random() < 0.85:
            middle = marker.mean(axis=0)
            square = middle + (marker - middle) * rng.uniform(0.9, 1.4)
            seen = np.array([_project(scene, corner) for corner in square])
            cv2.fillConvexPoly(out, np.rint(seen).astype(np.int32), (120, 100, 80), cv2.LINE_AA)
    return out


def shade(picture: Array, scene: Scene, rng: np.random.Generator) -> Array:  # noqa: ARG001
    """The shadow of the phone, or of whoever holds it, lies across the sheet."""
    high, wide = picture.shape[:2]
    middle = wide * (0.5 + rng.uniform(-0.2, 0.2)), high * (0.5 + rng.uniform(-0.25, 0.25))
    sides = wide * rng.uniform(0.25, 0.6), wide * rng.uniform(0.4, 1.0)
    corners = cv2.boxPoints((middle, sides, float(rng.uniform(0, 360))))
    small = np.zeros((high // 8, wide // 8), np.float32)
    cv2.fillPoly(small, [np.int32(corners / 8)], 1.0)
    soft = float(np.exp(rng.uniform(np.log(3.0), np.log(25.0))))  # 24 to 200 px
    dark = cv2.resize(cv2.GaussianBlur(small, (0, 0), soft), (wide, high))
    light = (picture / 255.0) ** 2.2 * (1.0 - rng.uniform(0.25, 0.6) * dark)[..., None]
    return _encoded(light ** (1 / 2.2))


SPOILS: dict[str, Spoil] = {
    each.__name__: each
    for each in (
        glare, hand, motion, defocus, defocus_to_one_side, noise, tone, screen, wobble, curl,
        crease, corner, photo_of_photo, second_sheet, number_hidden, shade,
    )
}  # fmt: skip


@dataclass(frozen=True)
class _Bent:
    """z of the sheet over x, y: a profile over the distance along one direction."""

    scene: Scene
    profile: Callable[[Array], Array]
    turn: float

    def z(self, x: Array, y: Array) -> Array:
        wide, tall = self.scene.world.paper
        along = (x - wide / 2) * np.cos(self.turn) + (y - tall / 2) * np.sin(self.turn)
        return np.asarray(self.profile(along / (np.hypot(wide, tall) / 2)))


def _lifted(picture: Array, scene: Scene, profile: Callable[[Array], Array], turn: float) -> Array:
    """The picture of the same sheet lifted by z(x, y): every point moves to where it is seen.

    The ray of a pixel meets the lifted sheet at x, y; on the flat sheet that point was seen where
    it projects to from z = 0, and there its light is taken. Worked out on a net.
    """
    bent, camera = _Bent(scene, profile, turn), scene.camera
    height, width = picture.shape[:2]
    u, v = np.meshgrid(np.linspace(0, width - 1, _NET + 1), np.linspace(0, height - 1, _NET + 1))
    x, y = camera.hit(u, v)
    for _ in range(4):
        x, y = _at(camera, u, v, bent.z(x, y))
    flat = camera.project(np.column_stack([x.ravel(), y.ravel(), np.zeros(x.size)]))
    shift = (flat.reshape(*u.shape, 2) - np.stack([u, v], axis=-1)).astype(np.float32)
    rows, columns = np.indices((height, width), dtype=np.float32)
    at = columns * np.float32(_NET / (width - 1)), rows * np.float32(_NET / (height - 1))
    moved = cv2.remap(shift, *at, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return cv2.remap(
        picture,
        columns + moved[..., 0],
        rows + moved[..., 1],
        cv2.INTER_CUBIC,
        borderMode=cv2.BORDER_REPLICATE,
    )


def _at(camera: Camera, u: Array, v: Array, z: Array) -> tuple[Array, Array]:
    """Where rays pass the heights z (one for each): between the planes 0 and 1, carried on."""
    (x0, y0), (x1, y1) = camera.hit(u, v, 0.0), camera.hit(u, v, 1.0)
    return x0 + z * (x1 - x0), y0 + z * (y1 - y0)


def _on_marks(scene: Scene, rng: np.random.Generator) -> Array:
    """(2,) px of a place on the ring of marks."""
    wide, tall = scene.world.paper
    side, part = int(rng.integers(4)), rng.uniform(0.15, 0.85)
    at = {0: (part * wide, 18.0), 1: (part * wide, tall - 18.0), 2: (18.0, part * tall)}
    return _project(scene, np.array(at.get(side, (wide - 18.0, part * tall))))


def _project(scene: Scene, point: Array) -> Array:
    return np.asarray(scene.camera.project(np.array([[*point, 0.0]]))[0])


def _px_per_mm(scene: Scene) -> float:
    middle = np.array(scene.world.paper) / 2.0
    a, b = _project(scene, middle), _project(scene, middle + np.array([10.0, 0.0]))
    return float(np.hypot(*(b - a))) / 10.0


def _distance(picture: Array, middle: Array) -> Array:
    rows, columns = np.indices(picture.shape[:2], dtype=np.float32)
    return np.hypot(columns - np.float32(middle[0]), rows - np.float32(middle[1]))


def _encoded(values: Array) -> Array:
    return np.asarray((np.clip(values, 0, 1) * 255 + 0.5).astype(np.uint8))
