"""A view without a photo: a picture in mm with known outlines, read between its pixels."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter, map_coordinates

Array = npt.NDArray[np.float64]
Paint = Callable[[Array, Array], Array]

PX_PER_MM = 8
WIDTH, HEIGHT = 110.0, 70.0
_FINE = 2  # samples to a pixel and axis


@dataclass
class FakeView:
    """light: (H, W) linear, row 0 at y = 0, pixel centres at (i + 0.5) / PX_PER_MM mm.

    colours: (3, H/2, W/2) linear red, green, blue.
    """

    picture: Array
    where: str = "fake.jpg"
    area: tuple[float, float, float, float] = (0.0, 0.0, WIDTH, HEIGHT)
    window: tuple[float, float, float, float] = (0.0, 0.0, WIDTH, HEIGHT)
    blur_px: float = 0.8
    height: float = 0.0
    slope: tuple[float, float] = (0.0, 0.0)
    colours: Array | None = None
    _rough: Array = field(init=False)

    def __post_init__(self) -> None:
        rows, columns = self.picture.shape
        self._rough = self.picture.reshape(rows // 4, 4, columns // 4, 4).mean(axis=(1, 3))

    def light(self, points: Array) -> Array:
        return self._read(self.picture, PX_PER_MM, points)

    def rough_light(self, points: Array) -> Array:
        return self._read(self._rough, PX_PER_MM / 4, points)

    def colour(self, points: Array) -> Array | None:
        if self.colours is None:
            return None
        planes = [self._read(plane, PX_PER_MM / 2, points) for plane in self.colours]
        return np.stack(planes, axis=-1)

    def pixel(self, points: Array) -> Array:
        return np.full(points.shape[:-1], 1.0 / PX_PER_MM)

    def lean(self, points: Array) -> Array:
        return np.broadcast_to(self.slope, points.shape)

    @staticmethod
    def _read(picture: Array, scale: float, points: Array) -> Array:
        place = points[..., ::-1] * scale - 0.5
        return map_coordinates(picture, place.reshape(-1, 2).T, order=1, mode="nearest").reshape(
            points.shape[:-1]
        )


def seen(paint: Paint, *, blur_px: float = 0.8, noise: float = 0.008, seed: int = 0) -> FakeView:
    """The view of what paint(x, y) puts on the plane (linear light), with blur and noise."""
    side = np.arange(0.5, WIDTH * PX_PER_MM * _FINE) / (PX_PER_MM * _FINE)
    up = np.arange(0.5, HEIGHT * PX_PER_MM * _FINE) / (PX_PER_MM * _FINE)
    fine = paint(side[None, :], up[:, None])
    rows, columns = fine.shape
    mean = fine.reshape(rows // _FINE, _FINE, columns // _FINE, _FINE).mean(axis=(1, 3))
    rng = np.random.default_rng(seed)
    picture = gaussian_filter(mean, blur_px) + rng.normal(0, noise, mean.shape)
    return FakeView(np.clip(picture, 0.0, 1.0), blur_px=float(np.hypot(blur_px, 0.29)))


def line_paint(
    truth: Array, width: float, *, board: float = 0.55, line: float = 0.2, grain: float = 0.0
) -> Paint:
    """A stroke along a polyline (N, 2) on a board with grain along x."""
    from shapely import LineString, contains_xy, prepare

    stroke = LineString(truth).buffer(width / 2, cap_style="flat")
    prepare(stroke)

    def paint(x: Array, y: Array) -> Array:
        streaks = np.sin(3.1 * y + 0.02 * x) + np.sin(7.7 * y - 0.015 * x + 1.0)
        light = (board + 0.0 * x) * (1.0 + grain * 0.5 * streaks)
        low, high = truth.min(axis=0) - 2, truth.max(axis=0) + 2
        i, j = np.searchsorted(x[0], [low[0], high[0]]), np.searchsorted(y[:, 0], [low[1], high[1]])
        part = slice(*j), slice(*i)
        inside = contains_xy(stroke, *np.broadcast_arrays(x[:, part[1]], y[part[0]]))
        light[part][inside] *= line / board
        return light

    return paint


def board_paint(
    corners: Array, *, face: float = 0.3, paper: float = 0.8, shadow: tuple[float, float] = (0, 0),
    soft: float = 1.0, depth: float = 0.45, ripple: float = 0.03,
) -> Paint:  # fmt: skip
    """A board with the outline `corners` (N, 2), and its soft shadow moved by `shadow` mm.

    ripple: of the face, part of its light.
    """

    def paint(x: Array, y: Array) -> Array:
        board = _inside(corners.tobytes(), x.tobytes(), y.tobytes())
        light = np.full(board.shape, paper)
        if any(shadow):
            shifted = (x - shadow[0]).tobytes(), (y - shadow[1]).tobytes()
            dark = _inside(corners.tobytes(), *shifted).astype(float)
            light *= 1.0 - depth * gaussian_filter(dark, soft * PX_PER_MM * _FINE / 2)
        light[board] = face * (1.0 + ripple * np.sin(9.0 * np.broadcast_to(y, board.shape)[board]))
        return light

    return paint


@lru_cache(maxsize=8)
def _inside(corners: bytes, x: bytes, y: bytes) -> npt.NDArray[np.bool_]:
    """(H, W) where a grid of x (W,) and y (H,) lies in a polygon (N, 2): the dear part of it all,
    and the same for boards that differ in their light alone.
    """
    from shapely import Polygon, contains_xy, prepare

    shape = Polygon(np.frombuffer(corners).reshape(-1, 2))
    prepare(shape)
    grid = np.meshgrid(np.frombuffer(x), np.frombuffer(y))
    return np.asarray(contains_xy(shape, *grid))


def off(points: Array, truth: Array) -> Array:
    """(N,) mm from points to a polyline, by shapely."""
    from shapely import LineString, distance
    from shapely import points as as_points

    line = LineString(truth)
    return np.asarray(distance(line, as_points(points)))
