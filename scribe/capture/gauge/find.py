"""Find a profile gauge in a window: where it lies, how its pins are turned, its rough upper side.

In: a view. Out: a `Comb` in the gauge's frame (s across the pins, growing with x; t along
the pins, the touched side at greater t). Everything here is rough, to 0.2 mm; what is
measured is measured in tips.

Only the upper side of the comb is looked at: the lower ends of the pins repeat its shape
seen from the building. Which of the two sides touched the wall can't be told from a photo.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from scribe.capture.view import View
from scribe.errors import ScribeError

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

PITCH_MM = (0.7, 1.8)  # pitches looked for; gauges on sale have 0.8 to 1.6 (common practice)
_CELL = 0.5  # mm, of the first look
_COLUMN = 0.25  # mm, between the rough scan lines
_ROW = 0.15
DARK = 0.74  # part of the paper's light below which something lies on the paper
_FAINT = 0.93
_SMALLEST = (8.0, 4.0)  # mm, width and height of what could be a comb
_TURN_LIMIT_DEG = 14.0
_OVER_MM = 2.0  # of the window's upper border that may be dark
_ABOVE, _BELOW = 2.0, 9.0  # mm round the dark region's upper side: shadows widen it upwards


@dataclass(frozen=True)
class Frame:
    """The gauge's frame: origin on the sheet, turned against it by `turn` radians."""

    origin: Array
    turn: float

    def sheet(self, s: Array, t: Array) -> Array:
        """(..., 2) points of the sheet."""
        c, n = np.cos(self.turn), np.sin(self.turn)
        return np.stack([self.origin[0] + c * s - n * t, self.origin[1] + n * s + c * t], axis=-1)

    def turned(self, s: Array, t: Array) -> Array:
        """(..., 2) a direction of the gauge's frame in the sheet's."""
        return self.sheet(s, t) - self.origin

    def own(self, points: Array) -> Array:
        """(..., 2) s, t of points of the sheet."""
        c, n = np.cos(self.turn), np.sin(self.turn)
        away = points - self.origin
        return np.stack(
            [c * away[..., 0] + n * away[..., 1], c * away[..., 1] - n * away[..., 0]], -1
        )


@dataclass(frozen=True)
class Comb:
    """frame; s: (M,) even columns; top: (M,) rough t of the upper side, nan where none;
    paper: light of the bare paper round it.
    """

    frame: Frame
    s: Array
    top: Array
    paper: float


def find_comb(view: View, near: Array | None = None) -> Comb:
    """The comb in the window. near: (M, 2) mm, a rough polyline along its touched side.

    Refuses a window without a comb ("gauge-not-found"), or one that can't be told from the
    paper ("gauge-no-contrast").
    """
    x, y, flat, paper = _first_look(view)
    spot = _component(flat < DARK)
    if spot is None:
        if _component(flat < _FAINT) is not None or _ribbed(flat):
            raise no_contrast(view)
        raise not_found(view, "nothing that looks like a profile gauge lies in the clear window")
    over = np.nonzero(spot[0])[0]
    if near is None and len(over) * _CELL > _OVER_MM:
        raise outside(view, "upper", x[over].mean(), y[0])
    turn = _turn(view, x, y, spot)
    rows, columns = np.nonzero(spot)
    frame = Frame(np.array([x[columns].mean(), y[rows].mean()]), turn)
    reach = frame.own(np.stack([x[columns], y[rows]], axis=1))
    s = np.arange(reach[:, 0].min() - 0.5, reach[:, 0].max() + 0.5, _COLUMN)
    guide = _guide(near, frame, s) if near is not None else _upper_side(spot, x, y, frame, s, reach)
    return Comb(frame, s, _drop(view, frame, s, guide, paper), paper)


def not_found(view: View, what: str) -> ScribeError:
    """The refusal of a window without a comb."""
    return ScribeError(
        "gauge-not-found",
        what=what,
        where=view.where,
        do="lay the gauge flat in the white window, pins pointing along the arrow, with nothing"
        " else on the paper, and take the photo again",
    )


def no_contrast(view: View) -> ScribeError:
    """The refusal of a gauge as light as the paper."""
    return ScribeError(
        "gauge-no-contrast",
        what="the pins are almost as light as the paper, their ends can't be told from it",
        where=view.where,
        do="lay a dark card under the pins' lower part and rub pencil on their ends,"
        " or copy the shape as a line on a board and trace that",
    )


def outside(view: View, side: str, x: float, y: float) -> ScribeError:
    """The refusal of tips beyond the clear window, at a point of its border."""
    return ScribeError(
        "outline-outside-marks",
        what=f"the pin tips reach the {side} border of the clear window"
        f" (at x {x:.0f}, y {y:.0f} mm)",
        where=view.where,
        do="move the gauge into the middle of the window, or name the ends of the part to trace;"
        " a long shape takes two photos",
    )


def _first_look(view: View) -> tuple[Array, Array, Array, float]:
    """Cell middles x (W,) and y (H,) falling, light over the paper's (H, W), the paper's light."""
    x0, y0, x1, y1 = view.window
    x = np.arange(x0 + _CELL, x1 - 0.5 * _CELL, _CELL)
    y = np.arange(y1 - _CELL, y0 + 0.5 * _CELL, -_CELL)
    light = view.rough_light(np.stack(np.meshgrid(x, y), axis=-1))
    light = np.where(np.isfinite(light), light, np.nanmax(light, initial=0.0))
    u, v = np.linspace(-1, 1, len(x))[None, :], np.linspace(-1, 1, len(y))[:, None]
    terms = np.stack(
        [np.ones_like(light), u + 0 * v, v + 0 * u, u * v, u * u + 0 * v, v * v + 0 * u]
    )
    some = (slice(None), slice(None, None, 3), slice(None, None, 3))
    basis, value = terms[some].reshape(6, -1).T, light[some[1:]].ravel()
    keep = value > 0.8 * np.quantile(value, 0.9)
    for _ in range(4):
        fit = np.linalg.lstsq(basis[keep], value[keep], rcond=None)[0]
        keep = np.abs(value - basis @ fit) < 0.06 * np.maximum(basis @ fit, 0.05)
        if keep.sum() < 30:
            break
    level = np.maximum(np.tensordot(fit, terms, axes=1), 0.02)
    return x, y, light / level, float(np.median(level))


def _component(mask: Mask) -> Mask | None:
    """The largest connected region that is big enough for a comb, gaps between pins closed."""
    kernel = np.ones((5, 5), np.uint8)
    closed = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_CLOSE, kernel)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(closed, connectivity=4)
    if count < 2:
        return None
    best = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    wide, high = stats[best, cv2.CC_STAT_WIDTH], stats[best, cv2.CC_STAT_HEIGHT]
    if wide * _CELL < _SMALLEST[0] or high * _CELL < _SMALLEST[1]:
        return None
    return np.asarray(labels == best)


def _ribbed(flat: Array) -> bool:
    """Whether a region of the window is rougher from column to column than the rest."""
    rough = cv2.blur(np.abs(np.diff(flat, axis=1)), (15, 15))
    return bool(np.quantile(rough, 0.95) > 4.0 * np.quantile(rough, 0.2) + 0.004)


def _turn(view: View, x: Array, y: Array, spot: Mask) -> float:
    """Radians by which the pins are turned, from the lines between them and the comb's sides.

    Rows of light across the pins at growing depth are the same row, shifted by
    depth * tan(turn); the turn that makes them add up best is the pins'.
    """
    columns = np.nonzero(spot.any(axis=0))[0]
    upper = y[np.argmax(spot[:, columns], axis=0)]
    depth = np.arange(0.0, 10.0, 0.3)
    low, high = max(x[0], x[columns[0]] - 3.0), min(x[-1], x[columns[-1]] + 3.0)
    across = np.arange(low, high, _COLUMN)
    points = np.stack(np.meshgrid(across, np.quantile(upper, 0.25) - 1.0 - depth), axis=-1)
    light = np.nan_to_num(view.light(points))
    light = light - _running_mean(light, 7)
    pitches = np.fft.rfftfreq(len(across), _COLUMN)
    band = (pitches > 1 / PITCH_MM[1]) & (pitches < 1 / PITCH_MM[0])
    rows = np.fft.rfft(light, axis=1)[:, band]
    turns = np.deg2rad(np.arange(-_TURN_LIMIT_DEG, _TURN_LIMIT_DEG + 0.1, 0.5))
    shift = np.exp(2j * np.pi * pitches[band] * (np.tan(turns)[:, None] * depth)[:, :, None])
    power = (np.abs((shift * rows).sum(axis=1)) ** 2).sum(axis=1)
    best = int(np.clip(np.argmax(power), 1, len(turns) - 2))
    before, at, after = power[best - 1 : best + 2]
    aside = 0.5 * (before - after) / min(before - 2.0 * at + after, -1e-30)
    return float(turns[best] + np.clip(aside, -1.0, 1.0) * (turns[1] - turns[0]))


def _running_mean(rows: Array, width: int) -> Array:
    """(..., S) mean over `width` neighbours, the ends repeated."""
    half = width // 2
    padded = np.pad(rows, [(0, 0)] * (rows.ndim - 1) + [(half + 1, half)], mode="edge")
    total = np.cumsum(padded, axis=-1)
    return np.asarray((total[..., width:] - total[..., :-width]) / width)


def _upper_side(spot: Mask, x: Array, y: Array, frame: Frame, s: Array, reach: Array) -> Array:
    """(M,) t where a line along the pins, coming from above, first meets the dark region."""
    t = np.arange(reach[:, 1].max() + 0.5, reach[:, 1].min() - 0.5, -0.5 * _CELL)
    points = frame.sheet(*np.meshgrid(s, t))
    column = np.round((points[..., 0] - x[0]) / _CELL).astype(int)
    row = np.round((y[0] - points[..., 1]) / _CELL).astype(int)
    inside = (column >= 0) & (column < len(x)) & (row >= 0) & (row < len(y))
    hit = inside & spot[np.clip(row, 0, len(y) - 1), np.clip(column, 0, len(x) - 1)]
    return np.where(hit.any(axis=0), t[np.argmax(hit, axis=0)], np.nan)


def _guide(near: Array, frame: Frame, s: Array) -> Array:
    own = frame.own(np.asarray(near, dtype=np.float64))
    own = own[np.argsort(own[:, 0])]
    return np.interp(s, own[:, 0], own[:, 1], left=np.nan, right=np.nan) + 1.5


def _drop(view: View, frame: Frame, s: Array, guide: Array, paper: float) -> Array:
    """(M,) t of the first sharp fall of light below the guide; a soft shadow is not one."""
    below = np.arange(_ABOVE, -_BELOW, -_ROW)
    points = frame.sheet(np.broadcast_to(s, (len(below), len(s))), guide + below[:, None])
    x0, y0, x1, y1 = view.window
    x, y = points[..., 0], points[..., 1]
    light = view.light(np.nan_to_num(points, nan=x0))
    outside = ~((x > x0) & (x < x1) & (y > y0) & (y < y1))
    light[outside] = np.nan
    above = light[:-5] + light[1:-4] + light[2:-3]
    fall = (above - (light[3:-2] + light[4:-1] + light[5:])) / 3.0
    fall = np.nan_to_num(fall, nan=-1.0)
    enough = fall > np.maximum(0.45 * fall.max(axis=0), 0.10 * paper)
    first = np.argmax(enough, axis=0)
    window = np.clip(first + np.arange(5)[:, None], 0, len(fall) - 1)
    best = np.take_along_axis(window, np.argmax(np.take_along_axis(fall, window, 0), 0)[None], 0)[0]
    return np.where(enough.any(axis=0), guide + below[best + 2] - 0.5 * _ROW, np.nan)
