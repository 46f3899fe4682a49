"""The outline drawn over its photo, for the fitter to judge by eye.

A grey copy of the photo, at most 1600 px long, with the outline in red (dashed where it
bridges what nobody measured), its U as a band that is exaggerated by a stated factor,
stations in mm, and the marks used and dropped.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import cv2
import numpy as np
import numpy.typing as npt

from scribe.capture.photo import Grey, reduced
from scribe.capture.photo_view import PhotoView
from scribe.outline import Outline

if TYPE_CHECKING:
    from PIL.ImageFont import FreeTypeFont, ImageFont

Array = npt.NDArray[np.float64]
Image = npt.NDArray[np.uint8]
Colour = tuple[int, int, int]
Pixel = npt.NDArray[np.intp]
Place = Callable[[Array], Array]  # mm on the outline's plane -> px of the copy

_LONG_SIDE_PX = 1600
_GREYS = 6  # levels of grey that are shown as one: noise nobody sees makes a file large
_SHIFT = 4  # fractional bits of OpenCV's drawing coordinates
_RED, _AMBER, _GREEN, _BLUE = (40, 30, 220), (0, 165, 255), (90, 170, 0), (200, 90, 0)
_INK = (160, 60, 0)
_BAND_PX = 9.0  # how wide the median band should look, to either side
_SMALLEST_PX = 6.0
_FACTORS = (1, 2, 5, 10, 20, 50, 100, 200, 500)


def draw_overlay(view: PhotoView, outline: Outline, caption: str) -> bytes:
    """A PNG of the part of the photo with the target. caption: one line, set below with a key."""
    low, high = _frame(view, outline)
    part = view.oriented.photo.grey[low[1] : high[1], low[0] : high[0]]
    factor = min(_LONG_SIDE_PX / max(part.shape), 1.0)
    grey = _smaller(part, factor) // _GREYS * _GREYS + _GREYS // 2
    picture = np.asarray(cv2.cvtColor(grey, cv2.COLOR_GRAY2BGR), dtype=np.uint8)
    unit = max(picture.shape[:2]) / _LONG_SIDE_PX

    def place_at(height: float) -> Place:
        camera = view.oriented.camera
        return lambda points: (camera.plane_pixels(points, height) - low + 0.5) * factor - 0.5

    place = place_at(view.height)
    _draw_marks(picture, view, place_at(0.0)(view.oriented.points), unit)
    exaggeration = _draw_band(picture, outline, place, factor, view)
    line = place(outline.points)
    for first, last in _runs(outline.measured):
        _lines(picture, line[first : last + 1], _RED, 3 * unit)
    for first, last in _runs(~outline.measured):
        _dashes(picture, line[max(first - 1, 0) : last + 2], _RED, 3 * unit)
    labels = _draw_stations(picture, outline, place, unit)
    key = f"band: U x {exaggeration}   green marks used, amber marks dropped"
    return _with_text(picture, labels, (caption, key), unit)


def _smaller(part: Grey, factor: float) -> Image:
    """A copy to look at: halves are quick, and area averages to an odd size are not."""
    while factor <= 0.5:
        part, factor = reduced(part, 0.5), 2.0 * factor
    size = tuple(round(side * factor) for side in part.shape[::-1])
    return reduced(np.asarray(cv2.resize(part, size, interpolation=cv2.INTER_LINEAR)), 1.0)


def _frame(view: PhotoView, outline: Outline) -> tuple[Pixel, Pixel]:
    """First and last pixel (x, y) of the part of the photo worth showing."""
    camera = view.oriented.camera
    seen = camera.plane_pixels(outline.points, view.height)
    shown = np.vstack([view.oriented.pixels[view.oriented.used], seen])
    margin = 0.07 * np.ptp(shown, axis=0).max()
    low = np.maximum(shown.min(axis=0) - margin, 0).astype(np.intp)
    return low, np.minimum(shown.max(axis=0) + margin, view.oriented.photo.size).astype(np.intp)


def _draw_marks(picture: Image, view: PhotoView, places: Array, unit: float) -> None:
    for place, used in zip(places, view.oriented.used, strict=True):
        centre = tuple(int(v) for v in np.rint(place * 2**_SHIFT))
        if used:
            radius = int(9 * unit * 2**_SHIFT)
            cv2.circle(picture, centre, radius, _GREEN, _thick(3 * unit), cv2.LINE_AA, _SHIFT)
        else:
            arm = 12 * unit
            for turn in ((arm, arm), (arm, -arm)):
                _lines(picture, np.array([place - turn, place + turn]), _AMBER, 4 * unit)


def _draw_band(
    picture: Image, outline: Outline, place: Place, factor: float, view: PhotoView
) -> int:
    """Fill the band of U, exaggerated so that it can be seen; the factor used."""
    mm_per_px = float(np.median(view.pixel(outline.points))) / factor
    wanted = _BAND_PX * mm_per_px / max(float(np.median(outline.U)), 1e-6)
    exaggeration = max((f for f in _FACTORS if f <= wanted), default=1)
    across = np.gradient(outline.points, axis=0)
    across = np.stack([-across[:, 1], across[:, 0]], axis=-1)
    across /= np.maximum(np.hypot(*across.T), 1e-12)[:, None]
    reach = across * np.minimum(outline.U * exaggeration, 6 * _BAND_PX * mm_per_px)[:, None]
    sides = [
        np.rint(place(outline.points + s * reach) * 2**_SHIFT).astype(np.int32) for s in (1, -1)
    ]
    layer = picture.copy()
    (one, other), before, after = sides, slice(None, -1), slice(1, None)
    for quad in np.stack([one[before], one[after], other[after], other[before]], axis=1):
        cv2.fillConvexPoly(layer, quad, _AMBER, cv2.LINE_8, _SHIFT)
    cv2.addWeighted(layer, 0.45, picture, 0.55, 0.0, dst=picture)
    return exaggeration


def _draw_stations(
    picture: Image, outline: Outline, place: Place, unit: float
) -> list[tuple[Array, str]]:
    """Ticks every 10 mm along the datum, and where to write every fiftieth."""
    station = (outline.points - outline.datum.origin) @ outline.datum.direction
    low, high = float(station.min()), float(station.max())
    step = 10.0 if high - low <= 400.0 else 50.0
    labels = []
    away = -outline.datum.towards
    for mark in np.arange(np.ceil(low / step) * step, high + 1e-9, step):
        at = int(np.abs(station - mark).argmin())
        labelled = round(mark / step) % (2 if high - low <= 120.0 else 5) == 0
        foot = outline.points[at]
        ends = place(np.array([foot, foot + away * (5.0 if labelled else 2.5)]))
        _lines(picture, ends, _BLUE, 3 * unit)
        if labelled:
            labels.append((place((foot + away * 8.0)[None])[0], f"{mark:.0f}"))
    return labels


def fitted_font(words: str, width: float, size: float) -> FreeTypeFont | ImageFont:
    """The largest type, px, no larger than size, in which the words are no wider than width.

    Lengths are measured at each size: letters drawn on whole pixels don't shrink in proportion.
    """
    from PIL.ImageFont import load_default

    while True:
        font = load_default(size)
        if size <= _SMALLEST_PX or font.getlength(words) <= width:
            return font
        size *= 0.97


def _with_text(
    picture: Image, labels: list[tuple[Array, str]], lines: tuple[str, ...], unit: float
) -> bytes:
    """Write labels and the lines below the picture with a real typeface, and encode."""
    from PIL import ImageFont

    height, width = picture.shape[:2]
    step = 46 * unit
    bar = int((len(lines) + 0.4) * step)
    white = (255, 255, 255)
    whole = cv2.copyMakeBorder(picture, 0, bar, 0, 0, cv2.BORDER_CONSTANT, value=white)
    picture = np.asarray(whole, dtype=np.uint8)
    font = ImageFont.load_default(36 * unit)
    for place, text in labels:
        _write(picture, text, place, font, "mm", _INK, int(5 * unit))
    for row, words in enumerate(lines):
        font = fitted_font(words, width - 40 * unit, 32 * unit)
        at = np.array([20 * unit, height + (row + 0.7) * step])
        _write(picture, words, at, font, "lm", (0, 0, 0), 0)
    # OpenCV's own settings are its quickest: told a level, it tries every filter on every row.
    _, encoded = cv2.imencode(".png", picture)
    return encoded.tobytes()


def _write(
    picture: Image,
    words: str,
    at: Array,
    font: FreeTypeFont | ImageFont,
    anchor: str,
    ink: Colour,
    rim: int,
) -> None:
    """Words with a rim so many px wide; only their part of the picture goes through Pillow."""
    import PIL.Image
    from PIL import ImageDraw

    pen = ImageDraw.Draw(PIL.Image.new("RGB", (1, 1)))
    box = pen.textbbox((at[0], at[1]), words, font, anchor, stroke_width=rim)
    x0, y0 = (max(int(low), 0) for low in box[:2])
    x1, y1 = (int(high) + 1 for high in box[2:])
    part = picture[y0:y1, x0:x1]
    if not part.size:
        return
    canvas = PIL.Image.fromarray(np.ascontiguousarray(part))  # which takes blue for red
    pen = ImageDraw.Draw(canvas)
    place = (float(at[0]) - x0, float(at[1]) - y0)
    pen.text(place, words, ink, font, anchor, stroke_width=rim, stroke_fill="white")
    part[:] = np.asarray(canvas)


def _lines(picture: Image, points: Array, colour: Colour, width: float) -> None:
    whole = np.rint(points * 2**_SHIFT).astype(np.int32)
    cv2.polylines(picture, [whole], False, colour, _thick(width), cv2.LINE_AA, _SHIFT)


def _dashes(picture: Image, points: Array, colour: Colour, width: float) -> None:
    for first in range(0, len(points) - 1, 2):
        _lines(picture, points[first : first + 2], colour, width)


def _thick(width: float) -> int:
    return max(round(width), 1)


def _runs(mask: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last index of every run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]]).astype(np.int8)))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]
