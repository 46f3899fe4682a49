"""An outline above a sheet as cameras from known sides see it: no pixels, all with noise.

The cameras that see are those of tests/scenes; those that measure are solved from noisy marks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from types import SimpleNamespace

import numpy as np

from scribe.capture.exif import Exif
from scribe.capture.photo_view import PhotoView
from scribe.capture.pose.camera import Camera, lifted, moved, resect
from scribe.capture.pose.lens_prior import LensPrior, lens_prior
from scribe.capture.several import Height, height_from
from scribe.capture.view import Trace
from scribe.geom.polyline import normals
from scribe.target import window_sheet
from tests.scenes.camera import Camera as SceneCamera
from tests.scenes.camera import place_camera

Array = np.ndarray
SIZE = (3000, 4000)
FOCAL_PX = 2950.0
MARK_PX = 0.15
EDGE_PX = 0.1


@dataclass(frozen=True)
class Side:
    """One photo: the camera that sees, and what is seen of the outline, px (N, 2)."""

    name: str
    seen_by: SceneCamera
    pixels: Array
    seed: int

    @cached_property
    def solved(self) -> Camera:
        """From 0.15 px marks of the window sheet, the focal length told to 4 %."""
        rng = np.random.default_rng([self.seed, 5])
        marks = window_sheet("A4", 1).crossings
        pixels = self.seen_by.project(lifted(marks, 0.0))
        pixels = pixels + rng.normal(0, MARK_PX, pixels.shape)
        prior: LensPrior = lens_prior(Exif(1, FOCAL_PX, "", True), SIZE)
        camera = self.seen_by
        start = Camera(prior.mean, camera.rotation, -camera.rotation @ camera.position,
                       np.zeros((14, 14)))  # fmt: skip
        u = np.full(len(marks), MARK_PX)
        return resect(marks, pixels, u, prior, moved(start, np.zeros(14))).camera

    def at(self, height: float) -> tuple[Trace, PhotoView]:
        """The trace on a plane, and a view of it."""
        points = self.solved.on_plane(self.pixels, height)
        u = EDGE_PX * self.solved.mm_per_px(points, height)
        count = len(points)
        trace = Trace(points, u, normals(points), np.ones(count, bool), {}, np.zeros((0, 2)))
        photo = SimpleNamespace(name=self.name)
        return trace, PhotoView(SimpleNamespace(camera=self.solved, photo=photo), height)


def wavy(seed: int) -> Array:
    """(N, 2) mm: a wall over the window of the sheet."""
    rng = np.random.default_rng([seed, 6])
    x = np.arange(30.0, 180.0, 0.7)
    waves = sum(rng.normal(0, 1.5) * np.sin(2 * np.pi * x / w + rng.uniform(0, 6))
                for w in (60.0, 95.0, 170.0))  # fmt: skip
    return np.column_stack([x, 160.0 + waves])


def turned(points: Array, turn_deg: float) -> Array:
    """(N, 2) the wall turned about its middle."""
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    about = points.mean(axis=0)
    return (points - about) @ np.array([[c, s], [-s, c]]) + about


def side(seed: int, points: Array, height: float, *, azimuth: float, tilt: float) -> Side:
    """What a camera from that side sees of points that lie so high."""
    rng = np.random.default_rng([seed, int(azimuth) % 360, 7])
    focal = FOCAL_PX * float(rng.normal(1.0, 0.02))
    k1 = float(rng.normal(0, 0.03))
    camera = place_camera(
        SIZE, focal, tuple((np.array(SIZE) - 1) / 2 + rng.normal(0, 15, 2)),
        (k1, -0.5 * k1, 0.0, 0.0, 0.0),
        look_at=(105.0, 148.0), tilt_deg=tilt, azimuth_deg=azimuth,
        roll_deg=float(rng.normal(0, 3)), distance=330.0,
    )  # fmt: skip
    pixels = camera.project(lifted(points, height))
    pixels = pixels + rng.normal(0, EDGE_PX, pixels.shape)
    return Side(f"from {azimuth:.0f}", camera, pixels, seed + int(azimuth) % 360)


def compared(sides: Sequence[Side], height: float, rounds: int = 4) -> Height:
    """The height on which the photos agree, started from another."""
    for _ in range(rounds):
        pairs = [each.at(height) for each in sides]
        found = height_from([trace for trace, _ in pairs], [view for _, view in pairs])
        height = found.height
    return found
