"""A thing told from its shadow by its colour.

In: the view on the plane of a thing that lies on the white sheet. Out: the same view in a light in
which shadows don't show.

Shadow takes of red, green and blue the same part, or nearly so: what it falls on keeps its colour.
So of paper, in light or in shadow, red over the red of lit paper, green over its green and blue
over its blue are one number, and any sum of the three whose weights add up to nothing is nothing.
Of a thing with a colour of its own it is something else. Where a pixel shows a part of each, the
sum lies in the same proportion between them, however dark the shadow beside the thing is: an edge
lies where the sum is half of the thing's.

What it can't tell: things that are grey, white, black or nearly so; and where lamps of two colours
cast coloured shadows, things hardly more coloured than those.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.bare_paper import against_paper, largest_part
from scribe.capture.edges.grid import inset_grid
from scribe.capture.through import Through
from scribe.capture.view import View

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

PAPER = 0.5  # light of paper in such a view; the thing has none
_LEFT = 0.3  # part of its light that a coloured thing keeps where shadow must not be as dark
_SOFTER_PX = 1.3  # pixels by which colours, kept at half size, are softer than light
_GRID = 2.0  # mm between grid points
_LIGHTER = 0.8  # part of the window
_DARKEST = 0.003  # linear light
_COLOURED = 0.1  # root sum square of red, green and blue against their mean, less 1
_THINNEST = 8  # grid points: what is narrower is a shadow, or no board and no gauge
# What is wider both ways is no shadow: a lamp 30 degrees high casts one of 43 mm of a board 25 mm
# high (common practice, no source).
_NO_SHADOW = 22  # grid points
_AROUND = 2  # grid points kept away from what is coloured to see paper
_SAME_HUE = 0.9  # cosine between two colours of one thing
_FEWEST = 40  # grid points of the thing, and of the paper
_STRONG = 0.15  # what the thing's own light has in its colour, of the paper's light
_NOISY = 0.15  # of that, by which paper may vary
# Of a shadow: cosine to the way from red to blue; part of the paper's light that each colour has at
# most; and strength, as above: tungsten (2800 K) beside daylight (6500 K), whose blue over red
# differs fivefold (Planck's law at 450 and 600 nm), leave one 0.27 strong where they light alike.
_GLOWING, _SHADED, _OF_LAMPS = 0.9, 0.8, 0.3
# Times that a lamp's blue over red is another's: the blue sky's (12000 K) beside tungsten's 8.3.
_LAMPS_APART = 9.0


@dataclass(frozen=True)
class Tinted(Through):
    """The view in the light of a thing's colour. weights: (3,) of red, green and blue: 0 for paper,
    1 for the thing.
    """

    weights: Array

    @property
    def blur_px(self) -> float:
        """Standard deviation of the blur, in pixels of colours."""
        return 0.5 * float(np.hypot(self.view.blur_px, _SOFTER_PX))

    def light(self, points: Array) -> Array:
        """(...) at points (..., 2): `PAPER` for paper in light and shadow, 0 for the thing."""
        colour = self.view.colour(points)
        assert colour is not None
        return PAPER * (1.0 - np.asarray(colour @ self.weights))

    def rough_light(self, points: Array) -> Array:
        """As light: colours are read in the photo at half of its size."""
        return self.light(points)

    def pixel(self, points: Array) -> Array:
        """(...) mm that a pixel of colours spans."""
        return 2.0 * self.view.pixel(points)


@dataclass(frozen=True)
class Deepened(Through):
    """The view with the thing darker than any shadow, showing all that its light shows.

    tint: the view in the light of the thing's colour.
    """

    tint: Tinted

    @property
    def blur_px(self) -> float:
        """Standard deviation of the blur of what has the colour."""
        return 2.0 * self.tint.blur_px

    def light(self, points: Array) -> Array:
        """(...) the light at points (..., 2), less by their colour."""
        return self.view.light(points) * self._left(points)

    def rough_light(self, points: Array) -> Array:
        """As light, read in the photo at a quarter of its size."""
        return self.view.rough_light(points) * self._left(points)

    def _left(self, points: Array) -> Array:
        paper = np.clip(self.tint.light(points) / PAPER, 0.0, 1.0)
        return np.asarray(_LEFT + (1.0 - _LEFT) * paper)


def tinted(view: View, share: float) -> Tinted | None:
    """The view in the light of the colour that at least that share of what lies on the paper has;
    None where there is hardly any.
    """
    points = inset_grid(view.window, _GRID)
    colour = view.colour(points)
    if colour is None:
        return None
    colour = np.maximum(np.nan_to_num(colour), _DARKEST)
    planes = [_against_paper(np.log(plane)) for plane in np.moveaxis(colour, -1, 0)]
    parts = np.exp(np.stack(planes, axis=-1))
    # A thing as light as paper in one colour bends what is taken for paper there, not in all three.
    own, other = _coloured(parts), np.abs(np.stack(planes)).min(axis=0) > _COLOURED
    paper = ~_grown(own | other)
    lies = _wide(own | other, _THINNEST)
    if own.sum() < max(_FEWEST, share * lies.sum()) or paper.sum() < _FEWEST:
        return None
    bare = np.median(colour[paper], axis=0)
    mean = np.median(colour[own], axis=0) / bare
    weights = (mean - mean.mean()) / np.hypot.reduce(mean - mean.mean())
    of_thing = float(mean @ weights)
    of_paper = colour[paper] / bare @ weights
    if of_thing < _STRONG or np.quantile(np.abs(of_paper), 0.9) > _NOISY * of_thing:
        return None
    if not _wide(own, _NO_SHADOW).any() and _may_be_shadow(mean, weights, of_thing):
        return None
    return Tinted(view, weights / of_thing / bare)


def _against_paper(plane: Array) -> Array:
    """(H, W) logarithm of one colour's light over the paper's, which is seen along the window's
    border, or is what the lighter part of the window has.
    """
    border = np.concatenate([plane[0], plane[-1], plane[:, 0], plane[:, -1]])
    return against_paper(plane, max(float(np.median(border)), float(np.quantile(plane, _LIGHTER))))


def _may_be_shadow(parts: Array, weights: Array, strength: float) -> bool:
    """Whether a shadow that one of two lamps leaves to the other may have such a colour.

    Lamps differ along the colours of glowing bodies, from red to blue with green between them, and
    what one of them leaves is darker than paper in all three. Of each colour it is to what is
    missing as the one lamp's is to the other's.
    """
    along = abs(float(weights @ [1.0, 0.0, -1.0])) / 2**0.5
    if along < _GLOWING or parts.max() > _SHADED or strength > _OF_LAMPS:
        return False
    lamp = parts / (1.0 - parts)
    return bool(lamp.max() < _LAMPS_APART * lamp.min())


def _coloured(parts: Array) -> Mask:
    """(H, W) what is wide on the grid and has the colour, of red, green and blue (H, W, 3), that
    the largest coloured thing has.
    """
    chroma = parts / parts.mean(axis=-1, keepdims=True) - 1.0
    strength = np.hypot.reduce(chroma, axis=-1)
    wide = _wide(strength > _COLOURED, _THINNEST)
    if not wide.any():
        return wide
    usual = np.median(chroma[largest_part(wide)], axis=0)
    like = chroma @ usual > _SAME_HUE * strength * np.hypot.reduce(usual)
    return np.asarray(wide & like)


def _wide(mask: Mask, least: int) -> Mask:
    """What of a mask is at least so many grid points wide both ways."""
    import cv2

    square = np.ones((least, least), np.uint8)
    return cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, square) > 0


def _grown(mask: Mask) -> Mask:
    """A mask and what lies close to it."""
    import cv2

    square = np.ones((2 * _AROUND + 1, 2 * _AROUND + 1), np.uint8)
    return cv2.dilate(mask.astype(np.uint8), square) > 0
