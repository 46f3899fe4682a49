"""A photo of a run, looked at in the frame of the run: strips on a board, an outline beside them.

The outline runs along the strips, above or below them, on the board or at its edge. Looking
for it, the strips are taken away: where one lies, the rough picture shows what lies beside it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.capture.exif import Exif
from scribe.capture.photo import Photo
from scribe.capture.photo_view import PhotoView
from scribe.capture.pose.orient import Oriented
from scribe.capture.run.network import Network
from scribe.capture.view import Box

Array = npt.NDArray[np.float64]

BESIDE = 110.0  # mm from a strip's marks, within which the outline is looked for
BEYOND = 20.0  # mm past the ends of the marks that a photo shows
_RIM = 2.5  # mm round a strip that shows its edge and the tape's


@dataclass(frozen=True)
class Strip:
    """Where a sheet lies: its corner (2,), its unit vector along x, size (2,) mm as printed."""

    corner: Array
    along: Array
    size: Array

    def own(self, points: Array) -> Array:
        """(..., 2) mm of points in the strip's own directions, from its corner."""
        away = points - self.corner
        across = np.array([-self.along[1], self.along[0]])
        return np.stack([away @ self.along, away @ across], axis=-1)

    def holds(self, points: Array) -> npt.NDArray[np.bool_]:
        """(N,) which points (N, 2) lie on it."""
        own = self.own(points)
        return np.asarray(np.all((own > 0.0) & (own < self.size), axis=1))

    def box(self) -> tuple[Array, Array]:
        """Its lowest and highest x and y."""
        corners = self.back(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [1.0, 1.0]]) * self.size)
        return corners.min(axis=0), corners.max(axis=0)

    def back(self, own: Array) -> Array:
        """The points again."""
        across = np.array([-self.along[1], self.along[0]])
        return np.asarray(self.corner + own[..., :1] * self.along + own[..., 1:] * across)


@dataclass(frozen=True)
class Placed:
    """A photo of a run with its camera, without its picture: small enough to be handed on."""

    oriented: Oriented
    strips: tuple[Strip, ...]

    @property
    def area(self) -> Box:
        """Round the marks that the photo shows, as far as an outline is looked for."""
        points = self.oriented.points
        (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
        beyond, beside = BEYOND, BESIDE
        if y1 - y0 > x1 - x0:  # a run that goes upwards on the first sheet
            beyond, beside = beside, beyond
        return float(x0 - beyond), float(y0 - beside), float(x1 + beyond), float(y1 + beside)

    def view(self, photo: Photo, height: float) -> RunView:
        """With its picture, looked at on the plane z = height over the board."""
        return RunView(replace(self.oriented, photo=photo), height, self.strips)

    def on_strip(self, photo: Photo) -> PhotoView:
        """The view in the frame of the strip with the most marks, on its paper."""
        oriented = self.oriented
        owned = [strip.holds(oriented.points) for strip in self.strips]
        most = int(np.argmax([own.sum() for own in owned]))
        strip, here = self.strips[most], owned[most]
        turn = np.eye(3)
        turn[:2, 0], turn[:2, 1] = strip.along, [-strip.along[1], strip.along[0]]
        rotation = oriented.camera.rotation
        shift = rotation @ np.array([*strip.corner, 0.0]) + oriented.camera.translation
        camera = replace(oriented.camera, rotation=rotation @ turn, translation=shift)
        points = strip.own(oriented.points[here])
        used = here[here]
        return PhotoView(replace(oriented, photo=photo, camera=camera, points=points, used=used), 0)


@dataclass(frozen=True)
class RunView(PhotoView):
    """Implements scribe.capture.view.View for a photo of a run."""

    strips: tuple[Strip, ...]

    @property
    def window(self) -> Box:
        """The area along the strips that this photo shows."""
        return self.area

    @property
    def area(self) -> Box:
        """See `Placed.area`."""
        return Placed(self.oriented, self.strips).area

    def shows(self, points: Array) -> npt.NDArray[np.bool_]:
        """(N,) which points (N, 2) mm of the plane lie in its area."""
        x0, y0, x1, y1 = self.area
        return np.asarray(np.all((points >= [x0, y0]) & (points <= [x1, y1]), axis=1))

    def rough_light(self, points: Array) -> Array:
        """As light, without the strips, at half of the size.

        A photo of a run shows twice as much as one of a sheet: at a quarter of its size a
        pencil line would be gone.
        """
        free = np.array(points, dtype=np.float64).reshape(-1, 2)
        for strip in (*self.strips, *self.strips):  # a second time for strips side by side
            low, high = strip.box()
            near = np.flatnonzero(np.all((free > low - _RIM) & (free < high + _RIM), axis=1))
            own = strip.own(free[near])
            inside = np.all((own > -_RIM) & (own < strip.size + _RIM), axis=1)
            below = own[:, 1] < strip.size[1] / 2.0
            own[:, 1] = np.where(below, -_RIM, strip.size[1] + _RIM)
            free[near[inside]] = strip.back(own[inside])
        return self._read(self.oriented.photo.half_light, free.reshape(points.shape))


def placed_photo(network: Network, index: int) -> Placed:
    """A photo of the network with its camera; strips: of all sheets that it shows."""
    seen = network.seen
    photo = seen.photos[index]
    here = seen.photo[seen.group] == index
    sheets = np.unique(seen.sheet[seen.group][here])
    width, height = photo.size
    empty = np.broadcast_to(np.zeros((), np.uint8), (height, width))
    camera = network.camera(index)
    points = seen.in_run(network.rig)[0][here][:, :2]
    oriented = Oriented(
        photo=Photo(photo.name, empty, Exif(photo.orientation, None, "", same_frame=True)),
        target=seen.targets[sheets[0]],
        camera=camera,
        points=points,
        pixels=seen.pixels[here],
        used=np.ones(len(points), bool),
        residuals=network.residuals[here],
        scale=network.scale,
        noise_px=network.noise_px,
        blur_px=photo.blur_px,
        smooth_mm=network.smooth_px * float(np.median(camera.mm_per_px(points, 0.0))),
    )
    return Placed(oriented, tuple(_strip(network, int(sheet)) for sheet in sheets))


def _strip(network: Network, sheet: int) -> Strip:
    target = network.seen.targets[sheet]
    size = np.array(target.size) * network.rig.scale
    ends = network.place(target.number, np.array([[0.0, 0.0], [target.size[0], 0.0]]))[:, :2]
    along = ends[1] - ends[0]
    return Strip(ends[0], along / np.hypot(*along), size)
