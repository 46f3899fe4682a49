"""The print scale from a bank card that lies in the window of a printed sheet.

ISO/IEC 7810 ID-1: 85.60 x 53.98 mm, 0.76 mm thick, with round corners; so its four edge lines
are measured and never its corners. In: a view of the plane of its upper face, in which lengths
are those the sheet says. Out: printed over stated length along x and y, such that the four
lines become the sides of that rectangle (Gauss-Newton in both factors, place and turn).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from scribe.capture.edges.profile import StepFit, fit_step
from scribe.capture.edges.two_steps import fit_beside_shadow
from scribe.capture.photo_view import PhotoView
from scribe.errors import ScribeError
from scribe.print_scale import PrintScale
from scribe.standards import CARD_MM, CARD_THICKNESS_MM, CARD_THICKNESS_U_MM, CARD_U_MM

Array = npt.NDArray[np.float64]

_GRID_MM = 0.5
_UNLIKE = 0.12  # of the paper's light: what differs by more is not paper
_SIZE = 0.06  # a card's outline may seem so much larger or smaller at first
_ROUND_MM = 7.0  # from the ends of a side: the corners' radius and a little more
_LINES, _HALF_MM = 50, 2.5
_STRAIGHT_MM = 0.15  # steps further from a side's line are of its print
_FEWEST = 0.4  # of the scan lines of a side that must show its edge
_LEFT = 0.2  # of the step from card to paper: beyond it the card's face has ended
_INSIDE_MM, _OUTSIDE_MM = 0.7, 0.35
_SHADOW_MM = 2.0  # outside: the shadow of a card and some paper beyond it
_BETTER = 0.8  # of what one step leaves over: what two must not leave to be believed
_BEND_MM = 0.1  # rms of a side that is no side


@dataclass(frozen=True)
class CardSeen:
    """The print scale by the card, and its rough corners (4, 2) in mm as the sheet states them."""

    scale: PrintScale
    corners: Array


@dataclass(frozen=True)
class CardFit:
    """Factors (x, y), their standard uncertainties, and the rms of the edge points in mm."""

    factors: tuple[float, float]
    u: tuple[float, float]
    rms: float


def see_card(view: PhotoView, tone: float) -> CardSeen:
    """The card in the window; the view at the height of its face, tone: mm, of an edge."""
    corners = _find(view)
    seen = [_side(view, corners, k) for k in range(4)]
    walls = [_wall(view, points, _outwards(corners, k)) for k, points in enumerate(seen)]
    # How much of the wall goes with the face is anybody's guess: from nothing to all of it.
    sides = [points - 0.5 * wall for points, wall in zip(seen, walls, strict=True)]
    moved = [
        np.concatenate([_moved(view, points), wall[None] / 12**0.5])
        for points, wall in zip(sides, walls, strict=True)
    ]
    found = fit_card(sides, corners, tone, moved)
    if found.rms > _BEND_MM:
        raise _not_found(view, f"its edges are off by {found.rms:.2f} mm from a card's")
    words = f"{found.factors[0]:.4f} x {found.factors[1]:.4f} by a bank card in {view.where}"
    return CardSeen(PrintScale(*found.factors, *found.u, words), corners)


def fit_card(
    sides: list[Array], corners: Array, tone: float, moved: Sequence[Array] = ()
) -> CardFit:
    """Both factors from the points (N, 2) mm of the four sides, the long ones first and third.

    tone: mm by which every edge may seem moved. moved: of each side (K, N, 2) mm how its points
    move for one standard uncertainty of each cause.
    """
    lengths = np.array(CARD_MM)
    base, covariance, rms = _solve(sides, corners, lengths)
    causes = [np.array([CARD_U_MM, 0.0]), np.array([0.0, CARD_U_MM]), np.full(2, 2.0 * tone)]
    effects = [_solve(sides, corners, lengths + cause)[0] - base for cause in causes]
    for cause in zip(*moved, strict=True):
        there = [points + shift for points, shift in zip(sides, cause, strict=True)]
        effects.append(_solve(there, corners, lengths)[0] - base)
    variance = np.diag(covariance) + np.sum(np.square(effects), axis=0)
    u = np.sqrt(variance)
    return CardFit((float(base[0]), float(base[1])), (float(u[0]), float(u[1])), rms)


def _solve(sides: list[Array], corners: Array, lengths: Array) -> tuple[Array, Array, float]:
    """(2,) factors, their covariance from the scatter, and the rms in mm."""
    points = np.vstack(sides)
    side = np.repeat(np.arange(4), [len(each) for each in sides])
    along = corners[1] - corners[0]
    p = np.array([1.0, 1.0, *corners.mean(axis=0), np.arctan2(along[1], along[0])])
    # Sides 0 and 2 run along the card, below and above its middle; 1 and 3 across it.
    out = np.array([[0.0, -1.0], [1.0, 0.0], [0.0, 1.0], [-1.0, 0.0]])[side]
    half = np.array([lengths[1], lengths[0], lengths[1], lengths[0]])[side] / 2.0
    for _ in range(20):
        cosine, sine = np.cos(p[4]), np.sin(p[4])
        normal = out @ np.array([[cosine, sine], [-sine, cosine]])
        away = points * p[:2] - p[2:4]
        left = (normal * away).sum(axis=1) - half
        turned = np.column_stack([-normal[:, 1], normal[:, 0]])
        by = np.column_stack([normal * points, -normal, (turned * away).sum(axis=1)])
        step = np.linalg.lstsq(by, -left, rcond=None)[0]
        p += step
        if np.abs(step).max() < 1e-10:
            break
    rms = float(np.sqrt((left**2).sum() / (len(left) - 5)))
    # Points of one side err together: a tenth of them counts.
    covariance = np.linalg.inv(by.T @ by)[:2, :2] * rms**2 * 10.0
    return p[:2], covariance, rms


def _moved(view: PhotoView, points: Array) -> Array:
    """(K, N, 2) mm: by the pose and the lens of the camera, and by the thickness of the card."""
    camera = view.oriented.camera
    root = np.hstack([camera.pose_given_lens(), camera.lens_with_pose()])
    by_camera = (camera.plane_sensitivity(points, view.height) @ root).transpose(2, 0, 1)
    by_height = CARD_THICKNESS_U_MM * camera.height_sensitivity(points, view.height)
    return np.concatenate([by_camera, by_height[None]])


def _find(view: PhotoView) -> Array:
    """(4, 2) mm: the rough corners, counter-clockwise, a long side first."""
    x0, y0, x1, y1 = view.window
    x, y = np.arange(x0 + 1.0, x1 - 1.0, _GRID_MM), np.arange(y0 + 1.0, y1 - 1.0, _GRID_MM)
    light = np.nan_to_num(view.rough_light(np.stack(np.meshgrid(x, y), axis=-1)))
    paper = cv2.GaussianBlur(_filled(light), (0, 0), 20.0 / _GRID_MM)
    unlike = (np.abs(light - paper) > _UNLIKE * paper).astype(np.uint8)
    whole = cv2.morphologyEx(unlike, cv2.MORPH_CLOSE, np.ones((9, 9), np.uint8))
    # Specks and lines near the card are not of it: what is thinner than 5 mm goes.
    mask = cv2.morphologyEx(whole, cv2.MORPH_OPEN, np.ones((11, 11), np.uint8))
    contours, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    for contour in sorted(contours, key=cv2.contourArea, reverse=True)[:5]:
        _, size, _ = box = cv2.minAreaRect(contour)
        sides = np.sort(np.array(size))[::-1] * _GRID_MM
        if (np.abs(sides / np.array(CARD_MM) - 1.0) < _SIZE).all():
            corners = cv2.boxPoints(box) * _GRID_MM + [x[0], y[0]]
            return _ordered(np.asarray(corners, np.float64))
    raise _not_found(view, "nothing of a card's size lies in the window")


def _filled(light: Array) -> npt.NDArray[np.float32]:
    """The paper's light without what lies on it: a wide closing of the bright parts."""
    size = int(70.0 / _GRID_MM) | 1
    small = cv2.resize(light.astype(np.float32), None, fx=0.25, fy=0.25)
    kernel = np.ones((size // 4, size // 4), np.uint8)
    closed = cv2.morphologyEx(small, cv2.MORPH_CLOSE, kernel, borderType=cv2.BORDER_REPLICATE)
    return np.asarray(cv2.resize(closed, light.shape[::-1]), np.float32)


def _ordered(corners: Array) -> Array:
    a, b = corners[1] - corners[0], corners[2] - corners[1]
    if a[0] * b[1] - a[1] * b[0] < 0.0:
        corners = corners[::-1]
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    return np.roll(corners, -int(sides[1] > sides[0]), axis=0)


def _side(view: PhotoView, corners: Array, k: int) -> Array:
    """(N, 2) mm of one side's edge, without its round ends."""
    start, stop = corners[k], corners[(k + 1) % 4]
    length = float(np.hypot(*(stop - start)))
    along, out = (stop - start) / length, _outwards(corners, k)
    foot = start + np.linspace(_ROUND_MM, length - _ROUND_MM, _LINES)[:, None] * along
    pixel = view.pixel(foot)
    first = _departure(view, foot, out)
    foot = foot + first[:, None] * out
    t = np.arange(-_INSIDE_MM, _OUTSIDE_MM, 0.4 * float(pixel.min()))
    fit = fit_step(t, view.light(foot[:, None] + t[:, None] * out), pixel=pixel)
    fit = _before_shadow(view, foot, out, fit)
    position, ok = first + fit.position, fit.ok & np.isfinite(first)
    foot = foot - first[:, None] * out
    good = ok
    for _ in range(3):
        if good.sum() < _FEWEST * _LINES:
            raise _not_found(view, "one of its edges can't be told from the paper")
        place = np.arange(_LINES)
        line = np.polyfit(place[good], position[good], 1)
        off = np.abs(position - np.polyval(line, place))
        good = ok & (off < max(_STRAIGHT_MM, 2.0 * float(np.median(off[good]))))
    return np.asarray(foot[good] + position[good, None] * out)


def _before_shadow(view: PhotoView, foot: Array, out: Array, one: StepFit) -> StepFit:
    """The same steps, or from card to shadow where two steps explain a scan line better."""
    pixel = view.pixel(foot)
    t = np.arange(-_INSIDE_MM, _SHADOW_MM, 0.4 * float(pixel.min()))
    rows = view.light(foot[:, None] + t[:, None] * out)
    blur = view.blur_px * float(np.median(pixel))
    alone = fit_step(t, rows, pixel=pixel, near=one.position)
    two, _ = fit_beside_shadow(t, rows, pixel=pixel, blur=blur, near=alone)
    # A shadow pulls the one step outwards; an inner step further out is of something else.
    better = two.ok & (two.noise < _BETTER * alone.noise) & (two.position < one.position)
    return replace(
        one,
        position=np.where(better, two.position, one.position),
        ok=np.where(better, two.ok, one.ok),
    )


def _departure(view: PhotoView, foot: Array, out: Array) -> Array:
    """(N,) mm outwards from the rough side at which the card's own light is first left.

    Beside the card may lie its shadow, or its own upright side: the paper comes later.
    """
    t = np.arange(-_HALF_MM, _HALF_MM, 0.05)
    rows = np.nan_to_num(view.light(foot[:, None] + t[:, None] * out))
    own = np.median(rows[:, t < -1.2], axis=1, keepdims=True)
    paper = np.median(rows[:, t > 1.8], axis=1, keepdims=True)
    left = np.abs(rows - own) > _LEFT * np.abs(paper - own)
    left[:, t < -1.2] = False
    steady = left[:, :-2] & left[:, 1:-1] & left[:, 2:]
    return np.asarray(t[steady.argmax(axis=1)])


def _wall(view: PhotoView, points: Array, out: Array) -> Array:
    """(N, 2) mm outwards: how much of the card's upright side is seen beyond these points.

    A side turned towards the camera shows between the face and the sheet below; on the plane
    of the face its foot is seen further out by thickness times the slope of the ray.
    """
    x, y, z = view.oriented.camera.position()
    slope = ((np.array([x, y]) - points) @ out) / (z - view.height)
    return np.asarray(np.maximum(CARD_THICKNESS_MM * slope, 0.0)[:, None] * out)


def _outwards(corners: Array, k: int) -> Array:
    """(2,) unit normal of side k, out of the card."""
    along = corners[(k + 1) % 4] - corners[k]
    along = along / np.hypot(*along)
    return np.array([along[1], -along[0]])


def _not_found(view: PhotoView, why: str) -> ScribeError:
    return ScribeError(
        "card-not-found",
        what=f"no bank card can be measured: {why}",
        where=view.where,
        do="lay a card of another colour than the paper into the window, flat and whole, and take "
        "the photo from above; or measure the check bars and give {bars}",
    )
