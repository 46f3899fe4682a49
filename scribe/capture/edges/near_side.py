"""How high a board's side is that the photo shows: does the height that was typed belong to it?

In: the view on the sheet's plane and the camera's place. Out: the height of the object on the
sheet, where it turns a side to the camera.

A vertical side shows two sharp changes of light: its foot on the sheet and the arris between it
and the face. Seen from a camera H above the sheet, the arris of a side h high hides a point of
the sheet that lies s further off than the foot, which lies d from the point below the camera:

    h = H s / (d + s)        (similar triangles)

All round the object every ray from below the camera gives a height for each sharp change behind
the first one, and the height that most of them agree on is the side's.

A shadow before the side counts with it where it is as dark, and a rounded arris looks lower, so
this tells a side from none, and 60 mm from 18, but not 18 from 12. It says nothing where the
camera looks along the sides or over them, and nothing of an object that is as light as its side.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribe.capture.edges.thing import Thing
from scribe.capture.edges.walk import walked
from scribe.capture.view import View

Array = npt.NDArray[np.float64]

_LEANING = 0.03  # mm a millimetre of height is seen shifted by, square to the side, at least
_FACING = 0.3  # cosine of the angle between a side's normal and the way to the camera, at least
_OUTSIDE, _SHADOW = 4.0, 15.0  # mm before the border, and behind it, where a side may begin
_HIGHEST = 60.0  # mm looked for
_SAMPLE = 0.08  # mm between samples: what is looked for leans little
_BIN = 0.25  # mm of height
_NARROWEST = 0.3  # mm of height by which two may differ and be one
# Rays that show a first edge; part of them that must agree, beyond what chance gives.
_FEWEST, _AGREED = 25, 0.6
_LAMP = 1.7  # mm of shadow to a mm of height, under a lamp that stands 30 degrees high


@dataclass(frozen=True)
class Side:
    """height: mm of the side that is seen; apart: mm by which it may be another and look alike.

    leaning: mm on the sheet that a millimetre of height looks like.
    """

    height: float
    apart: float
    leaning: float

    @property
    def lowest(self) -> float:
        """Mm of a side that looks so with a shadow before it that is as dark as the side."""
        return self.height * self.leaning / (self.leaning + _LAMP)

    @property
    def u(self) -> float:
        """Standard uncertainty, mm: from the height without a shadow to that with one lies U."""
        return float(np.hypot(self.apart, (self.height - self.lowest) / 2.0))

    @property
    def words(self) -> str:
        """What a person may call it: it isn't known to tenths."""
        return f"about {self.height:.0f} mm high"

    def denies(self, height: float) -> bool:
        """Whether a board of that height can't look so.

        A rounded arris makes a side look lower by as much as a third; a shadow makes it look
        higher.
        """
        highest = 1.5 * self.height + 2.0 * self.apart
        surely = (1.0 - 2.0 * self.apart / self.height) * self.lowest
        return height > highest or height < surely


def side_seen(view: View, thing: Thing, camera: Array) -> Side | None:
    """The side of the largest object in the window; camera (3,) mm in the sheet's frame.

    view: on the sheet's plane. None where no side is seen well enough.
    """
    away = thing.border.points - camera[:2]
    distance = np.hypot(*away.T)
    rays = away / np.maximum(distance, 1e-9)[:, None]
    facing = -(thing.border.normals * rays).sum(axis=1)
    leaning = facing * distance / camera[2]
    seen = (leaning > _LEANING) & (facing > _FACING)
    if seen.sum() < _FEWEST:
        return None
    feet, distance, leaning = thing.border[seen], distance[seen], leaning[seen]
    deep = _SHADOW + _HIGHEST * distance.max() / max(camera[2] - _HIGHEST, _HIGHEST)
    s = np.arange(-_OUTSIDE, deep, _SAMPLE)
    sharp = walked(view, feet, rays[seen], s).sharp(1)
    first = np.argmax(sharp, axis=1)
    begun = sharp.any(axis=1) & (s[first] < _SHADOW)
    if begun.sum() < _FEWEST:
        return None
    # Where two edges lie closer than this, they are one.
    alike = np.maximum(_NARROWEST, view.pixel(feet.points) / leaning)
    behind = sharp & begun[:, None] & (np.arange(len(s)) > first[:, None])
    ray, place = np.nonzero(behind)
    heights = camera[2] * (s[place] - s[first[ray]]) / (distance[ray] + s[place])
    agreed = _agreed(ray, heights, alike, int(begun.sum()))
    if agreed <= 2.0 * np.median(alike):
        return None
    return Side(agreed, float(np.median(alike)), float(np.median(leaning[begun])))


def _agreed(ray: npt.NDArray[np.int64], heights: Array, alike: Array, rays: int) -> float:
    """The height that most rays agree on, mm; 0 when too few do.

    alike: (N,) mm by which two heights of one ray may differ and be one.
    """
    bins = np.arange(0.0, _HIGHEST + _BIN, _BIN)
    vote, place = np.nonzero(np.abs(heights[:, None] - bins) <= alike[ray][:, None])
    once = np.unique(ray[vote] * len(bins) + place) % len(bins)
    share = np.bincount(once, minlength=len(bins)) / rays
    best = share.max()
    # In a noisy photo every height has votes.
    return float(bins[share == best].mean()) if best - np.median(share) >= _AGREED else 0.0
