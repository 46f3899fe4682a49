"""A scene: a known outline, everything before the camera, the camera, and the truth.

    make_scene("gauge", 7, megapixels=3).write(folder)

Kinds: "gauge" (pins pushed against a wall that lies above them), "edge" (a card or board
lying in the window), "line" (pencil or knife line in the sheet's plane or on a board).
The same kind, seed and options make the same bytes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

import numpy as np

from scribe.target import window_sheet
from tests.scenes.camera import FILM_DIAGONAL_MM, Camera, fill_frame, place_camera
from tests.scenes.outlines import Array, Curve
from tests.scenes.photo import Sensor, encode, expose
from tests.scenes.render import Light, World, radiance
from tests.scenes.texture import Texture, plain, printed, wood
from tests.scenes.things import THINGS, WOOD_TINT, Draw, Tint, Wish

KINDS = tuple(THINGS)
SENSOR_DIAGONAL_MM = 8.0
OF_THE_FILE = {"orientation", "file", "quality", "exif"}  # of a sensor: the pixels don't know them


@dataclass(frozen=True)
class Scene:
    """truth: (N, 2) mm in the sheet frame on z = height, x growing. solid side: left of travel.

    tips: (K, 2) upper ends of the pins, for a gauge. options: what was asked for and drawn.
    """

    kind: str
    seed: int
    world: World
    camera: Camera
    sensor: Sensor
    focal_35mm: int
    truth: Array
    height: float
    tips: Array | None
    options: dict[str, object]

    @property
    def name(self) -> str:
        return f"{self.kind}-{self.seed}"

    @cached_property
    def pixels(self) -> Array:
        """(H, W, 3) uint8, upright."""
        return expose(radiance(self.world, self.camera), self.sensor, self.seed)

    def with_sensor(self, **changes: object) -> Scene:
        """Another sensor; where only the file will differ, the picture is the same one."""
        other = replace(self, sensor=replace(self.sensor, **changes))
        if changes.keys() <= OF_THE_FILE:
            vars(other)["pixels"] = self.pixels
        return other

    def write(self, folder: Path) -> Path:
        """Write the photo and its truth (CSV x_mm,y_mm), return the photo's path."""
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / f"{self.name}.{'jpg' if self.sensor.file == 'jpeg' else 'png'}"
        path.write_bytes(render(self))
        save = {"truth": self.truth} | ({} if self.tips is None else {"tips": self.tips})
        for name, points in save.items():
            rows = "".join(f"{x:.5f},{y:.5f}\n" for x, y in points)
            (folder / f"{self.name}.{name}.csv").write_text(f"x_mm,y_mm\n{rows}")
        return path


def render(scene: Scene) -> bytes:
    """The photo file."""
    focal_mm = scene.focal_35mm / FILM_DIAGONAL_MM * SENSOR_DIAGONAL_MM
    return encode(scene.pixels, scene.sensor, focal_35mm=scene.focal_35mm, focal_mm=focal_mm)


def make_scene(
    kind: str,
    seed: int,
    *,
    megapixels: float = 12.0,
    paper: str = "A4",
    number: int = 1,
    shape: str | None = None,
    outline: Curve | None = None,
    height: float | None = None,
    material: str | None = None,
    tip: str | None = None,
    pitch: float | None = None,
    print_scale: tuple[float, float] = (1.0, 1.0),
    tilt_deg: float | None = None,
    azimuth_deg: float | None = None,
    roll_deg: float | None = None,
    fill: float | None = None,
    focal_35mm: float | None = None,
    lens: tuple[float, float, float, float, float] | None = None,
    light: Light | None = None,
    table: str | None = None,
    **sensor: object,
) -> Scene:
    """What is left out is drawn from the seed.

    shape: of the outline, see outlines.SHAPES. height: mm of the outline over the sheet (for
    a line: 0 puts it in the sheet's plane). material: gauge "black", "bright", "plastic";
    edge "wood", "grey", "white"; both also one of things.COLOURS; line "plain", "wood" (with
    height 0 the plain board is the sheet itself). tip: "round" or "flat". print_scale: printed
    over stated length.
    sensor: fields of photo.Sensor.
    """
    rng = np.random.default_rng([seed, KINDS.index(kind)])
    draw = Draw(rng)
    sheet = window_sheet(paper, number)
    camera, focal = _camera(
        draw, sheet.size, megapixels, tilt_deg, azimuth_deg, roll_deg, fill, focal_35mm, lens
    )
    chosen_light = _light(draw)
    chosen_sensor = _sensor(draw)
    surface = draw.choice(["wood", "grey", "pale"])
    assert sheet.window is not None
    wish = Wish(shape, outline, height, material, tip, pitch)
    parts = THINGS[kind](draw, sheet.window, wish)
    tables = _table(table or surface, seed, sheet.size)
    world = World(
        printed(paper, "window", number),
        sheet.size,
        print_scale,
        *tables,
        parts.solids,
        light or chosen_light,
        parts.stroke,
        parts.stroke_on,
    )
    return Scene(
        kind,
        seed,
        world,
        camera,
        replace(chosen_sensor, **sensor),
        focal,
        parts.truth,
        parts.height,
        parts.tips,
        parts.options,
    )


def _camera(
    draw: Draw,
    paper: tuple[float, float],
    megapixels: float,
    tilt_deg: float | None,
    azimuth_deg: float | None,
    roll_deg: float | None,
    fill: float | None,
    focal_35mm: float | None,
    lens: tuple[float, float, float, float, float] | None,
) -> tuple[Camera, int]:
    drawn = {
        "tilt": draw.between(5, 30),
        "azimuth": -90 + draw.between(-70, 70),
        "roll": draw.between(-6, 6),
        "fill": draw.between(0.78, 0.95),
        "focal": draw.between(23.5, 28.5),
    }
    k1 = draw.between(-0.1, 0.1)
    drawn_lens = (
        k1,
        -0.6 * k1 * draw.between(0, 1),
        draw.between(-1, 1) * 5e-4,
        draw.between(-1, 1) * 5e-4,
        draw.between(-0.01, 0.01),
    )
    aim = (paper[0] / 2 + draw.between(-4, 4), paper[1] / 2 + draw.between(-4, 4))
    narrow = round(np.sqrt(megapixels * 1e6 * 3 / 4))
    size = (narrow, round(narrow * 4 / 3))
    shift = draw.between(-0.006, 0.006) * narrow, draw.between(-0.006, 0.006) * narrow
    focal = drawn["focal"] if focal_35mm is None else focal_35mm
    corners = np.array([[0, 0], [paper[0], 0], paper, [0, paper[1]]], float)

    def at(distance: float) -> Camera:
        return place_camera(
            size,
            focal * float(np.hypot(*size)) / FILM_DIAGONAL_MM,
            ((size[0] - 1) / 2 + shift[0], (size[1] - 1) / 2 + shift[1]),
            drawn_lens if lens is None else lens,
            look_at=aim,
            tilt_deg=drawn["tilt"] if tilt_deg is None else tilt_deg,
            azimuth_deg=drawn["azimuth"] if azimuth_deg is None else azimuth_deg,
            roll_deg=drawn["roll"] if roll_deg is None else roll_deg,
            distance=distance,
        )

    return fill_frame(at, corners, drawn["fill"] if fill is None else fill), round(focal)


def _light(draw: Draw) -> Light:
    """A window or a lamp from above and one side."""
    side, up = np.radians(draw.between(0, 360)), np.radians(draw.between(40, 70))
    towards = (
        float(np.cos(up) * np.cos(side)),
        float(np.cos(up) * np.sin(side)),
        float(np.sin(up)),
    )
    pull = draw.between(0.0003, 0.0012)
    return Light(
        towards=towards,
        soft=draw.between(0.15, 0.6),
        depth=draw.between(0.3, 0.6),
        gradient=(pull * float(np.cos(side)), pull * float(np.sin(side))),
        vignette=draw.between(0.08, 0.25),
    )


def _sensor(draw: Draw) -> Sensor:
    return Sensor(
        exposure=draw.between(0.7, 0.95),
        blur_px=draw.between(0.6, 1.1),
        full_well=draw.between(3000, 12000),
        read_e=draw.between(3, 8),
        white=(1.0, draw.between(0.96, 1.0), draw.between(0.88, 0.98)),
        bend=draw.between(-0.025, 0.025),
        sharpen=draw.between(0.0, 0.35),
        orientation=[1, 6, 6, 8][int(draw.rng.integers(4))],
        quality=int(draw.rng.integers(86, 97)),
    )


def _table(name: str, seed: int, paper: tuple[float, float]) -> tuple[Texture, Tint]:
    origin = (-paper[0] * 1.5, -paper[1] * 1.5)
    size = (paper[0] * 4, paper[1] * 4)
    if name == "wood":
        return wood(seed, origin, size, low=0.13, high=0.34, texel=0.4), WOOD_TINT
    low, high = (0.12, 0.26) if name == "grey" else (0.4, 0.55)
    return plain(seed, origin, size, low=low, high=high, texel=0.4), (0.98, 1.0, 1.02)
