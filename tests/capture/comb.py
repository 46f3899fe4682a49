"""A picture of a profile gauge pushed against a known wall, as the tracers see it.

Everything is laid out in the gauge's own frame (s along the body, t along the pins, the
wall at greater t), turned onto the sheet, averaged over each pixel, blurred and made noisy.
It shares nothing with the code it tests.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter, map_coordinates, uniform_filter

from tests.capture.coloured_view import LUMA

Array = npt.NDArray[np.float64]
Wall = Callable[[Array], Array]


@dataclass(frozen=True)
class Gauge:
    """pins: count; width: of a pin; tip: "round" or "flat"; material: "black", "bright",
    "plastic", "coloured" or "white"; broken: indices of pins cut short by so many mm; light: of
    plain pins, instead of the material's.
    """

    pins: int = 44
    pitch: float = 1.27
    width: float = 1.2
    tip: str = "round"
    material: str = "black"
    length: float = 55.0
    body: tuple[float, float] = (-14.0, 12.0)
    overhang: float = 3.0
    jitter: float = 0.02
    broken: dict[int, float] = field(default_factory=dict)
    light: float | None = None

    def profile(self, s: Array) -> Array:
        """Height of the tip below its apex at s from the pin's middle (inf outside the pin)."""
        half = self.width / 2.0
        if self.tip == "flat":
            drop = np.zeros_like(s)
        else:
            drop = half - np.sqrt(np.maximum(half**2 - s**2, 0.0))
        return np.where(np.abs(s) <= half, drop, np.inf)


@dataclass(frozen=True)
class Picture:
    """A view whose pixels are `image`, px_per_mm to the mm, row 0 at the window's upper edge."""

    image: Array
    px_per_mm: float
    window: tuple[float, float, float, float]
    area: tuple[float, float, float, float]
    where: str = "gauge.jpg"
    blur_px: float = 0.9
    height: float = 5.0
    slope: tuple[float, float] = (0.0, 0.0)
    colours: Array | None = None  # (3, H, W) linear red, green, blue

    def light(self, points: Array) -> Array:
        return self._read(self.image, points)

    def rough_light(self, points: Array) -> Array:
        return self._read(uniform_filter(self.image, 4), points)

    def colour(self, points: Array) -> Array | None:
        if self.colours is None:
            return None
        return np.stack([self._read(plane, points) for plane in self.colours], axis=-1)

    def pixel(self, points: Array) -> Array:
        return np.full(np.asarray(points).shape[:-1], 1.0 / self.px_per_mm)

    def lean(self, points: Array) -> Array:
        return np.broadcast_to(self.slope, np.asarray(points).shape)

    def _read(self, image: Array, points: Array) -> Array:
        column = (points[..., 0] - self.area[0]) * self.px_per_mm - 0.5
        row = (self.area[3] - points[..., 1]) * self.px_per_mm - 0.5
        return map_coordinates(image, [row, column], order=1, mode="constant", cval=np.nan)


@dataclass(frozen=True)
class Scene:
    """picture; truth: (M, 2) the wall, densely, in the sheet frame; tips: (K, 2) apexes."""

    picture: Picture
    truth: Array
    tips: Array
    gauge: Gauge


def scene(
    wall: Wall,
    gauge: Gauge | None = None,
    *,
    seed: int = 0,
    turn_deg: float = 0.0,
    px_per_mm: float = 10.0,
    blur_px: float = 0.9,
    noise: float = 0.006,
    shadow: float = 0.0,
    cast: tuple[float, float, float] | None = None,
    size: tuple[float, float] = (80.0, 90.0),
    centre: tuple[float, float] = (0.5, 0.48),
    paint: Callable[[Array, Array, Array], Array] | None = None,
) -> Scene:
    """Push the gauge against t = wall(s), photograph it, and keep the truth.

    shadow: part of the light taken from the paper right beside the gauge. cast: mm to the right
    and up that the shadow lies off, and of its border's standard deviation; left out, a lamp
    above. paint may change the picture: (image, x, y in mm) -> image.
    """
    gauge = gauge or Gauge()
    rng = np.random.default_rng(seed)
    middles = (np.arange(gauge.pins) - (gauge.pins - 1) / 2) * gauge.pitch
    middles = middles + rng.uniform(-gauge.jitter, gauge.jitter, gauge.pins)
    apex = _pushed(wall, gauge, middles)
    for index, cut in gauge.broken.items():
        apex[index] -= cut
    origin = np.array([10.0 + centre[0] * size[0], 10.0 + centre[1] * size[1]])
    turn = np.deg2rad(turn_deg)
    frame = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    window = (10.0, 10.0, 10.0 + size[0], 10.0 + size[1])
    area = (0.0, 0.0, 20.0 + size[0], 20.0 + size[1])
    image = _painted(gauge, middles, apex, origin, frame, area, px_per_mm, shadow, cast, rng, paint)
    image = gaussian_filter(image, blur_px)
    image = np.clip(image + rng.normal(0.0, noise, image.shape), 0.0, 1.0)
    reach = (gauge.pins / 2 - 0.5) * gauge.pitch
    s = np.linspace(-reach - gauge.width / 2, reach + gauge.width / 2, 12000)
    truth = np.stack([s, wall(s)], axis=1) @ frame + origin
    tips = np.stack([middles, apex], axis=1) @ frame + origin
    own = float(np.hypot(blur_px, 0.29))  # with the pixel's own width
    return Scene(Picture(image, px_per_mm, window, area, blur_px=own), truth, tips, gauge)


def coloured(
    wall: Wall,
    gauge: Gauge,
    colour: tuple[float, float, float],
    *,
    noise: float = 0.006,
    **how: Any,
) -> Scene:
    """As `scene`, with pins of that reflectance over the paper's, red, green and blue."""
    made = [scene(wall, replace(gauge, light=_PAPER * part), noise=0.0, **how) for part in colour]
    planes = np.stack([each.picture.image for each in made])
    rng = np.random.default_rng(how.get("seed", 0))
    grey = np.tensordot(LUMA, planes, axes=1)
    picture = replace(
        made[0].picture,
        image=np.clip(grey + rng.normal(0.0, noise, grey.shape), 0.0, 1.0),
        # Files hold colours at half size: half as sharp.
        colours=np.stack([gaussian_filter(each, 1.0) for each in planes])
        + rng.normal(0.0, noise, planes.shape),
    )
    return replace(made[0], picture=picture)


def _pushed(wall: Wall, gauge: Gauge, middles: Array) -> Array:
    """Apex heights: each pin is stopped where the first point of its tip meets the wall."""
    s = np.linspace(-gauge.width / 2, gauge.width / 2, 601)
    return np.asarray((wall(middles[:, None] + s) + gauge.profile(s)).min(axis=1))


def _painted(
    gauge: Gauge,
    middles: Array,
    apex: Array,
    origin: Array,
    frame: Array,
    area: tuple[float, float, float, float],
    px_per_mm: float,
    shadow: float,
    cast: tuple[float, float, float] | None,
    rng: np.random.Generator,
    paint: Callable[[Array, Array, Array], Array] | None,
) -> Array:
    rows = round((area[3] - area[1]) * px_per_mm)
    columns = round((area[2] - area[0]) * px_per_mm)
    fine = 3
    total = np.zeros((rows, columns))
    covered = np.zeros((rows, columns))
    tone = rng.uniform(0.9, 1.1, gauge.pins)
    part = _reached(gauge, apex, origin, frame, area, px_per_mm)
    own_rows, own_columns = np.arange(rows)[part[0]], np.arange(columns)[part[1]]
    for i in range(fine):
        for j in range(fine):
            x = (own_columns + (i + 0.5) / fine) / px_per_mm + area[0]
            y = area[3] - (own_rows + (j + 0.5) / fine) / px_per_mm
            s = frame[0, 0] * (x - origin[0])[None, :] + frame[0, 1] * (y - origin[1])[:, None]
            t = frame[1, 0] * (x - origin[0])[None, :] + frame[1, 1] * (y - origin[1])[:, None]
            pin = np.clip(np.searchsorted((middles[1:] + middles[:-1]) / 2, s), 0, gauge.pins - 1)
            local = s - middles[pin]
            on_pin = (t < apex[pin] - gauge.profile(local)) & (
                t > apex[pin] - gauge.length + gauge.profile(local)
            )
            between = (np.abs(s) < gauge.pins / 2 * gauge.pitch) & ~on_pin
            deep = between & (t < apex[pin] - 1.0) & (t > apex[pin] - gauge.length + 1.0)
            reach = gauge.pins / 2 * gauge.pitch + gauge.overhang
            body = (t > gauge.body[0]) & (t < gauge.body[1]) & (np.abs(s) < reach)
            lit = _material(gauge, local, t) * tone[pin]
            gap = 0.10 if gauge.material == "white" else 0.02
            lit = np.where(deep, gap, lit)  # the pins' sides hide the paper from the light
            lit = np.where(body, _BODY[gauge.material], lit)
            gauge_here = on_pin | deep | body
            total[part] += np.where(gauge_here, lit, 0.0)
            covered[part] += gauge_here
    total, covered = total / fine**2, covered / fine**2
    x = (np.arange(columns) + 0.5) / px_per_mm + area[0]
    y = area[3] - (np.arange(rows) + 0.5) / px_per_mm
    paper = _PAPER * (1.0 + 0.0012 * (x - x.mean())[None, :] - 0.0010 * (y - y.mean())[:, None])
    if cast is not None:
        moved = (-round(cast[1] * px_per_mm), round(cast[0] * px_per_mm))
        dark = gaussian_filter(np.roll(covered, moved, (0, 1)), cast[2] * px_per_mm)
        paper = paper * (1.0 - shadow * dark)
    elif shadow:
        soft = gaussian_filter(covered, 1.2 * px_per_mm)
        soft = np.roll(soft, (-round(1.2 * px_per_mm), round(0.8 * px_per_mm)), (0, 1))
        paper = paper * (1.0 - shadow * np.clip(1.6 * soft, 0.0, 1.0))
    image = paper * (1.0 - covered) + total
    if paint:
        image = paint(image, np.broadcast_to(x, image.shape), np.repeat(y[:, None], columns, 1))
    edge = (x < 10) | (x > area[2] - 10), (y < 10) | (y > area[3] - 10)
    marks = ((x // 5).astype(int)[None, :] + (y // 5).astype(int)[:, None]) % 2 == 0
    outside = (edge[0][None, :] | edge[1][:, None]) & marks & (covered < 0.5)
    return np.asarray(np.where(outside, 0.04, image))


def _reached(
    gauge: Gauge,
    apex: Array,
    origin: Array,
    frame: Array,
    area: tuple[float, float, float, float],
    px_per_mm: float,
) -> tuple[slice, slice]:
    """The picture's rows and columns that something of the gauge may lie in."""
    reach = gauge.pins / 2 * gauge.pitch + gauge.overhang
    ends = min(apex.min() - gauge.length, gauge.body[0]), max(apex.max(), gauge.body[1])
    corners = np.array([[s, t] for s in (-reach, reach) for t in ends]) @ frame + origin
    column = (corners[:, 0] - area[0]) * px_per_mm
    row = (area[3] - corners[:, 1]) * px_per_mm
    (top, bottom), (left, right) = ((int(v.min()) - 1, int(v.max()) + 2) for v in (row, column))
    return slice(max(top, 0), max(bottom, 0)), slice(max(left, 0), max(right, 0))


_PAPER = 0.78
_BODY = {"black": 0.05, "bright": 0.35, "plastic": 0.12, "coloured": 0.3, "white": 0.74}


def _material(gauge: Gauge, local: Array, t: Array) -> Array:
    """Light of a pin across its width: round wire and blades shine along lines."""
    h = local / (gauge.width / 2)
    if gauge.light is not None:
        return np.full_like(h, gauge.light)
    if gauge.material == "black":
        return 0.05 + 0.05 * np.exp(-(((h - 0.2) / 0.25) ** 2))
    if gauge.material == "bright":
        streak = 0.55 + 0.2 * np.sin(0.35 * t)
        return 0.16 + 0.12 * h + streak * np.exp(-(((h + 0.15) / 0.22) ** 2))
    return np.full_like(h, {"plastic": 0.10, "coloured": 0.28, "white": 0.74}[gauge.material])
