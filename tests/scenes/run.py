"""A run: strips taped along a board beside a pencil line, and photos walked along it.

    make_run(2400, photos=7, seed=1).write(folder)

The line lies on the board, the strips' faces a paper's thickness over it, flat. The photos are of
one lens, held the same way. Truth is given in the frame of the first strip; the same arguments make
the same bytes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

import numpy as np

from scribe.target import STRIPS_TO_A_PAGE, page, strip_sheet
from tests.scenes.camera import FILM_DIAGONAL_MM, Camera, place_camera
from tests.scenes.outlines import Array, Curve
from tests.scenes.photo import Sensor, encode, expose
from tests.scenes.render import Light, World, radiance
from tests.scenes.scene import SENSOR_DIAGONAL_MM
from tests.scenes.solids import Board, share
from tests.scenes.stroke import Stroke
from tests.scenes.texture import Texture, plain, printed, wood

DEEP = 420.0  # mm, the board and what lies round it, across the run
STRIPS_Y, LINE_Y, EDGE_Y = 170.0, 250.0, 120.0
MARGIN = 250.0  # mm before the first strip and after the last
FOCAL_35MM = 26


@dataclass(frozen=True)
class Strip:
    """Where a strip's lower-left corner lies on the board, mm, and how far it is turned, rad."""

    number: int
    corner: tuple[float, float]
    angle: float
    scale: tuple[float, float]

    def on_board(self, points: Array) -> Array:
        """(N, 2) mm on the board of points (N, 2) as printed at 100 %."""
        turn = np.array([[np.cos(self.angle), -np.sin(self.angle)],
                         [np.sin(self.angle), np.cos(self.angle)]])  # fmt: skip
        return np.asarray(np.asarray(points) * self.scale) @ turn.T + self.corner

    def own(self, x: Array, y: Array) -> tuple[Array, Array]:
        """mm as printed at 100 %, of places on the board."""
        dx, dy = x - self.corner[0], y - self.corner[1]
        c, s = np.cos(self.angle), np.sin(self.angle)
        return (c * dx + s * dy) / self.scale[0], (c * dy - s * dx) / self.scale[1]


@dataclass(frozen=True)
class Surface:
    """Reflectance of the board with its strips; stands where a scene has its printed sheet.

    paper_mm: how far the strips' faces lie over the board. eye: (3,) where the camera is, since
    from there a strip hides a little of the board beside it.
    """

    board: Texture
    strips: tuple[Strip, ...]
    paper: str
    paper_mm: float
    eye: tuple[float, float, float] = (0.0, 0.0, np.inf)

    def at(self, x: Array, y: Array, footprint: float) -> Array:
        """As Texture.at: (H, W) of places x, y, averaged over about the footprint."""
        value = self.board.at(x, y, footprint)
        part = self.paper_mm / self.eye[2]
        x, y = x + part * (self.eye[0] - x), y + part * (self.eye[1] - y)
        wide, tall = strip_sheet(self.paper, 1).size
        ends = float(x.min()), float(x.max())
        for strip in self.strips:
            if not ends[0] - wide - tall < strip.corner[0] < ends[1] + wide + tall:
                continue  # strips lie along x: this one is far off
            u, v = strip.own(x.astype(float), y.astype(float))
            inside = np.minimum(wide / 2 - np.abs(u - wide / 2), tall / 2 - np.abs(v - tall / 2))
            if inside.max() < -1.0:
                continue
            copy = (strip.number - 1) // STRIPS_TO_A_PAGE + 1
            _, (left, low) = page(self.paper, "strip", copy).targets[
                (strip.number - 1) % STRIPS_TO_A_PAGE
            ]
            ink = printed(self.paper, "strip", copy).at(
                (u + left).astype(np.float32), (v + low).astype(np.float32), footprint
            )
            on = share(inside.astype(np.float32), footprint)
            value = value * (1 - on) + ink * on
        return value


@dataclass(frozen=True)
class Run:
    """truth: (N, 2) mm of the line in the frame of the first strip, x growing."""

    length: float
    seed: int
    world: World
    cameras: tuple[Camera, ...]
    sensor: Sensor
    strips: tuple[Strip, ...]

    @cached_property
    def truth(self) -> Array:
        """(N, 2) mm."""
        return self.in_first(self.on_board())

    def on_board(self) -> Array:
        """(N, 2) mm, the line on the board, or the upper edge of what was laid on it."""
        stroke = self.world.stroke
        if stroke is not None:
            path, ends = stroke.path, stroke.ends
        else:
            (laid,) = self.world.solids
            assert isinstance(laid, Board)
            path, ends = laid.top, laid.ends
        x = np.arange(ends[0], ends[1], 0.5)
        return np.column_stack([x, path.at(x)])

    def in_first(self, points: Array) -> Array:
        """(N, 2) mm in the frame of the first strip of places (N, 2) on the board, true mm."""
        first = replace(self.strips[0], scale=(1.0, 1.0))
        return np.column_stack(first.own(points[:, 0], points[:, 1]))

    def tape(self, one: int, other: int) -> float:
        """mm from cross A of one strip to cross B of another."""
        ends = [
            strip.on_board(np.array([strip_sheet("A4", strip.number).crosses[letter]]))[0]
            for strip, letter in ((self.strips[one - 1], "A"), (self.strips[other - 1], "B"))
        ]
        return float(np.hypot(*(ends[1] - ends[0])))

    def write(self, folder: Path) -> list[Path]:
        """Write the photos that aren't there yet, return their paths."""
        return [self.write_photo(folder, k) for k in range(len(self.cameras))]

    def write_photo(self, folder: Path, k: int) -> Path:
        """Write one photo, return its path."""
        path = folder / f"run-{self.seed}-{k + 1:02d}.jpg"
        if path.exists():
            return path
        folder.mkdir(parents=True, exist_ok=True)
        camera, surface = self.cameras[k], self.world.sheet
        assert isinstance(surface, Surface)
        x, y, z = (float(value) for value in camera.position)
        world = replace(self.world, sheet=replace(surface, eye=(x, y, z)))
        pixels = expose(radiance(world, camera), self.sensor, 1000 * self.seed + k)
        focal = FOCAL_35MM / FILM_DIAGONAL_MM * SENSOR_DIAGONAL_MM
        path.write_bytes(encode(pixels, self.sensor, focal_35mm=FOCAL_35MM, focal_mm=focal))
        return path


def make_run(
    length: float,
    photos: int,
    seed: int,
    *,
    strips: int | None = None,
    megapixels: float = 12.0,
    overlap: float = 330.0,
    print_scale: tuple[float, float] = (1.0, 1.0),
    turned: bool = False,
    grain: bool | None = None,
    thick: float | None = None,
) -> Run:
    """A run of `length` mm. strips: how many, or as many as lie end to end.

    overlap: mm of board that a photo shares with the next. turned: every second photo is taken
    with the phone upside down (as the photo then shows it: the pictures aren't turned upright).
    grain: a board of wood, or a plain one; drawn where it isn't given. thick: mm, of a dark board
    laid on a white one below the strips, whose upper edge takes the place of the line.
    """
    rng = np.random.default_rng([seed, 77])
    wide = strip_sheet("A4", 1).size[0]
    count = strips or int((length + 10.0) // (wide + 10.0))
    x = MARGIN + np.linspace(0.0, length - wide, count)
    laid = tuple(
        Strip(
            k + 1,
            (float(x[k] + rng.normal(0, 1.5)), float(STRIPS_Y + rng.normal(0, 2.5))),
            float(rng.normal(0, 0.006)),
            print_scale,
        )
        for k in range(count)
    )
    whole = (length + 2 * MARGIN, DEEP)
    drawn = rng.random() < 0.5
    face = wood if (drawn if grain is None else grain) else plain
    board = face(seed, (0.0, 0.0), whole, low=0.38, high=0.6, texel=0.5)
    # Paper of 80 to 160 g/m2, and the air that stays under it when it is taped down.
    paper_mm = float(np.random.default_rng([seed, 78]).uniform(0.08, 0.2))
    surface = Surface(board, laid, "A4", paper_mm)
    table = plain(seed + 1, (-MARGIN, -MARGIN), (whole[0] + 500, whole[1] + 500), low=0.12,
                  high=0.26, texel=2.0)  # fmt: skip
    light = Light((0.3, -0.4, 0.86), 0.3, 0.4, (float(rng.normal(0, 3e-5)), 2e-4), 0.15)
    stroke = _stroke(rng, length)
    world = World(surface, whole, (1.0, 1.0), table, (1.0, 1.0, 1.0), (), light, stroke)
    if thick is not None:
        surface = replace(surface, board=plain(seed, (0.0, 0.0), whole, low=0.72, high=0.8,
                                               texel=0.5))  # fmt: skip
        # Light from the strips' side: no shadow beside the edge.
        light = replace(light, towards=(0.3, 0.4, 0.86))
        world = replace(world, sheet=surface, solids=(_laid(stroke, seed, thick),), light=light,
                        stroke=None)  # fmt: skip
    sensor = Sensor(
        exposure=float(rng.uniform(0.75, 0.95)),
        blur_px=float(rng.uniform(0.6, 1.0)),
        full_well=8000.0,
        read_e=5.0,
        bend=float(rng.uniform(-0.02, 0.02)),
        sharpen=float(rng.uniform(0.0, 0.3)),
        orientation=1,
        quality=92,
    )
    return Run(length, seed, world, _cameras(rng, length, photos, megapixels, overlap, turned),
               sensor, laid)  # fmt: skip


def _laid(stroke: Stroke, seed: int, thick: float) -> Board:
    """A dark board with the course of the line as its edge, as far below the strips."""
    top = replace(stroke.path, values=stroke.path.values - LINE_Y + EDGE_Y)
    dark = plain(seed + 2, (0.0, 0.0), (stroke.path.x1, EDGE_Y + 30.0), low=0.12, high=0.2,
                 texel=0.5)  # fmt: skip
    return Board(top, 10.0, stroke.ends, 0.0, thick, dark, (1.0, 0.95, 0.9), 0.1)


def _stroke(rng: np.random.Generator, length: float) -> Stroke:
    """A wall that bows by some millimetres and waves on top of it."""
    x = np.arange(0.0, length + 2 * MARGIN, 0.02)
    part = (x - MARGIN) / length
    bow = rng.normal(0, 4) * np.sin(np.pi * part)
    waves = sum(rng.normal(0, 0.8) * np.sin(2 * np.pi * x / w + rng.uniform(0, 6))
                for w in rng.uniform(150, 900, 4))  # fmt: skip
    ends = (MARGIN + 5.0, MARGIN + length - 5.0)
    return Stroke(Curve(0.0, LINE_Y + bow + waves, step=0.02), ends, float(rng.uniform(0.4, 0.7)),
                  0.7, 0.4, (), np.zeros((0, 3)), int(rng.integers(1000)))  # fmt: skip


def _cameras(
    rng: np.random.Generator,
    length: float,
    photos: int,
    megapixels: float,
    overlap: float,
    turned: bool,
) -> tuple[Camera, ...]:
    narrow = round(np.sqrt(megapixels * 1e6 * 3 / 4))
    size = (round(narrow * 4 / 3), narrow)
    focal = float(rng.uniform(0.98, 1.02)) * FOCAL_35MM * float(np.hypot(*size)) / FILM_DIAGONAL_MM
    k1 = float(rng.uniform(-0.06, 0.06))
    lens = (k1, -0.5 * k1, float(rng.normal(0, 2e-4)), float(rng.normal(0, 2e-4)), 0.0)
    centre = tuple((side - 1) / 2 + float(rng.normal(0, 0.004)) * size[0] for side in size)
    wide = length / photos + overlap
    return tuple(
        place_camera(
            size, focal, centre, lens,
            look_at=(MARGIN + (k + 0.5) * length / photos, 212.0 + float(rng.normal(0, 10))),
            tilt_deg=float(rng.uniform(6, 24)),
            azimuth_deg=-90 + float(rng.uniform(-50, 50)),
            roll_deg=float(rng.normal(0, 2)) + 180.0 * (turned and k % 2),
            distance=wide * focal / size[0],
        )
        for k in range(photos)
    )  # fmt: skip
