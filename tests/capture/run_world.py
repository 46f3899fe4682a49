"""A run of strips and cameras with known truth, and what the cameras would see: no pixels.

The cameras are those of tests/scenes, written apart from the package.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scribe.capture.exif import Exif
from scribe.capture.pose.lens_prior import LensPrior, lens_prior
from scribe.capture.run.photo_marks import PhotoMarks, SheetMarks
from scribe.tape import Cross, TapeReading
from scribe.target import strip_sheet
from tests.scenes.camera import Camera, place_camera

Array = np.ndarray
SIZE = (4000, 3000)
FOCAL_PX = 2950.0
LENS = (0.02, -0.03, 2e-4, -1e-4, 0.0)
NOISE_PX = 0.15


@dataclass(frozen=True)
class Run:
    """strips: number -> (angle rad, x, y, z): where its lower-left corner lies on the board.

    scale: printed over stated length. cameras in the frame of the board.
    """

    strips: dict[int, tuple[float, float, float, float]]
    cameras: list[Camera]
    scale: tuple[float, float]
    prior: LensPrior

    def on_board(self, number: int, points: Array) -> Array:
        """(N, 3) mm on the board of printed points (N, 2)."""
        angle, x, y, z = self.strips[number]
        turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        flat = (np.asarray(points) * self.scale) @ turn.T + [x, y]
        return np.column_stack([flat, np.full(len(flat), z)])

    def in_first(self, points: Array) -> Array:
        """(N, 2) mm in the frame of the first strip of points (N, 2+) on the board."""
        angle, x, y, _ = self.strips[min(self.strips)]
        turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
        return (np.asarray(points)[:, :2] - [x, y]) @ turn.T

    def seen(self, seed: int, noise_px: float = NOISE_PX) -> list[PhotoMarks]:
        """Fresh noise on every mark that is well inside of each picture."""
        rng = np.random.default_rng([seed, 4711])
        photos = []
        for index, camera in enumerate(self.cameras):
            sheets = []
            for number in self.strips:
                target = strip_sheet("A4", number)
                points = target.crossings
                board = self.on_board(number, points)
                pixels = camera.project(board)
                beyond = (board - camera.position) @ camera.rotation.T
                shown = np.hypot(beyond[:, 0], beyond[:, 1]) < 1.2 * beyond[:, 2]
                inside = shown & ((pixels > 20) & (pixels < np.array(SIZE) - 20)).all(axis=1)
                if inside.sum() >= 12:
                    noisy = pixels[inside] + noise_px * rng.standard_normal((inside.sum(), 2))
                    u = np.full(inside.sum(), noise_px)
                    sheets.append(SheetMarks(target, points[inside], noisy, u))
            photos.append(PhotoMarks(f"photo{index + 1}", SIZE, self.prior, tuple(sheets)))
        return photos

    def tape(self, start: int, end: int, u: float = 0.3, off: float = 0.0) -> TapeReading:
        """The true distance from cross A of a strip to cross B of another one, plus `off`."""
        crosses = Cross(start, "A"), Cross(end, "B")
        places = [strip_sheet("A4", cross.sheet).crosses[cross.letter] for cross in crosses]
        a, b = (
            self.on_board(cross.sheet, np.array([place]))[0]
            for cross, place in zip(crosses, places, strict=True)
        )
        return TapeReading(*crosses, float(np.linalg.norm(b - a)) + off, 2.0 * u)


def make_run(
    seed: int,
    *,
    length: float = 2400.0,
    strips: int = 8,
    photos: int = 7,
    scale: tuple[float, float] = (1.0, 1.0),
    lift: float = 0.0,
    focal_told: bool = True,
    overlap: float = 320.0,
    turned: bool = False,
    overview: bool = False,
) -> Run:
    """Strips taped roughly along a board, photos walked along it. lift: mm sd out of plane."""
    rng = np.random.default_rng(seed)
    start = np.linspace(0.0, length - 287.0, strips)
    laid = {
        k + 1: (
            float(rng.normal(0.0, 0.01)),
            float(x + rng.normal(0.0, 4.0)),
            float(rng.normal(0.0, 3.0)),
            float(rng.normal(0.0, lift)),
        )
        for k, x in enumerate(start)
    }
    wide = length / photos + overlap  # mm that one photo shows
    middles = (np.arange(photos) + 0.5) * length / photos
    focal = float(rng.normal(1.0, 0.01)) * FOCAL_PX
    centre = (1999.5 + float(rng.normal(0, 15)), 1499.5 + float(rng.normal(0, 15)))
    cameras = [
        place_camera(
            SIZE, focal, centre, LENS,
            look_at=(float(x), 25.0 + float(rng.normal(0, 20))),
            tilt_deg=float(rng.uniform(8, 28)),
            azimuth_deg=float(rng.uniform(-140, -40)),
            roll_deg=float(rng.normal(0, 3)) + 180.0 * (turned and k % 2),
            distance=wide * focal / SIZE[0],
        )
        for k, x in enumerate(middles)
    ]  # fmt: skip
    if overview:
        cameras.append(
            place_camera(
                SIZE, focal, centre, LENS, look_at=(length / 2, 25.0), tilt_deg=20.0,
                azimuth_deg=-90.0, roll_deg=1.0, distance=1.15 * length * focal / SIZE[0],
            )
        )  # fmt: skip
    prior = lens_prior(Exif(1, FOCAL_PX if focal_told else None, "", True), SIZE)
    return Run(laid, cameras, scale, prior)
