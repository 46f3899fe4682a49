"""What another photo of the same sheet would bring, worked out before it is taken.

In: the view of the photo there is. Out: the same view from another place, its camera with the
covariance it would have: least squares tells it from the marks' places alone, without a picture
(JCGM 102, 6.3). What this photo's own covariance has beyond that (marks that err together) is
taken to stay. Marks and noise are those of this photo; glare and hands can't be foreseen.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.camera_file import KnownLens
from scribe.capture.photo_view import PhotoView
from scribe.capture.pose.camera import Camera, lifted, rotation_by
from scribe.capture.pose.lens_known import BREATHING, SHIFT, known_prior
from scribe.capture.pose.lens_prior import LensPrior, lens_prior
from scribe.capture.pose.orient import Oriented

Array = npt.NDArray[np.float64]

_LENS = 8
_PHOTOS = 8  # from which a lens is learnt, about
_MARGIN = 0.02  # of the picture's long side, that stays free around the marks
_FURTHER = 1.05  # the phone is moved away by such steps until all marks are in the picture
_STEPS = 20
_ASIDE_DEG = 15.0  # a photo from the side is taken from at least so far beside the thing


@dataclass(frozen=True)
class Foresight:
    """The view there is, and what was known of its lens."""

    view: PhotoView
    prior: LensPrior

    @staticmethod
    def of(view: PhotoView, known: KnownLens | None) -> Foresight:
        """known: the lens, if it was learnt from other photos."""
        photo = view.oriented.photo
        if known is None:
            return Foresight(view, lens_prior(photo.exif, photo.size))
        return Foresight(view, known_prior(known, photo.exif, photo.size, photo.name))

    def squarely_over(self, place: Array) -> PhotoView:
        """From right above a place (2,) mm on the sheet, as near as now."""
        centre = np.append(place, self._distance())
        return self._seen(self._looking(centre))

    def nearer(self) -> PhotoView:
        """From the same side, as near as the marks fill the picture."""
        middle = self._middle()
        towards = self._camera.position() - middle
        near = self._looking(middle + 0.5 * towards)
        return self._seen(near)

    def from_other_side(self, along: Array) -> PhotoView:
        """From the side of an outline that runs along (2,) on which the phone was not."""
        middle = self._middle()
        beside = np.array([-along[1], along[0], 0.0]) / np.hypot(*along)
        away = self._camera.position() - middle
        out = float(away @ beside)
        least = float(np.tan(np.radians(_ASIDE_DEG))) * away[2]
        other = -max(abs(out), least) * (1.0 if out >= 0.0 else -1.0)
        return self._seen(self._looking(middle + away + (other - out) * beside))

    def lens_learnt(self) -> PhotoView:
        """The same photo, its lens learnt from some photos that tell as much of it as this one."""
        information = self._information(self._camera)
        a, b, c = (information[rows, columns] for rows, columns in (
            (slice(0, _LENS), slice(0, _LENS)),
            (slice(0, _LENS), slice(_LENS, None)),
            (slice(_LENS, None), slice(_LENS, None)),
        ))  # fmt: skip
        own = a - b @ np.linalg.solve(c, b.T)
        weight = self.prior.weight()
        learnt = _inverse(weight.T @ weight + _PHOTOS * own)
        doubt = np.zeros(_LENS)
        doubt[0] = BREATHING * self._camera.lens.f
        doubt[1:3] = SHIFT * max(self.view.oriented.photo.size)
        prior = LensPrior(self.prior.mean, learnt + np.diag(doubt**2))
        return self._seen(self._camera, prior)

    @property
    def _camera(self) -> Camera:
        return self.view.oriented.camera

    @property
    def _marks(self) -> Array:
        oriented = self.view.oriented
        return lifted(oriented.points[oriented.used], 0.0)

    def _middle(self) -> Array:
        return np.asarray((self._marks.min(axis=0) + self._marks.max(axis=0)) / 2.0)

    def _distance(self) -> float:
        return float(np.linalg.norm(self._camera.position() - self._middle()))

    def _looking(self, centre: Array) -> Camera:
        """From centre (3,) mm towards the middle of the marks; further away if they don't fit."""
        camera, middle = self._camera, self._middle()
        size = np.array(self.view.oriented.photo.size)
        free = _MARGIN * size.max()
        for _ in range(_STEPS):
            ahead = (middle - centre) / np.linalg.norm(middle - centre)
            turn = rotation_by(_from_to(ahead, camera.rotation[2]))
            rotation = camera.rotation @ turn
            found = replace(camera, rotation=rotation, translation=-rotation @ centre)
            pixels = found.pixels(self._marks)
            if (pixels > free).all() and (pixels < size - free).all():
                break
            centre = middle + _FURTHER * (centre - middle)
        return found

    def _information(self, camera: Camera) -> Array:
        """(14, 14) the normal matrix of the marks, without any prior."""
        _, by = camera.derivatives(self._marks)
        rows = by.reshape(-1, by.shape[2]) / self.view.oriented.noise_px
        return np.asarray(rows.T @ rows)

    def _covariance(self, camera: Camera, prior: LensPrior) -> Array:
        weight = prior.weight()
        normal = self._information(camera)
        normal[:_LENS, :_LENS] += weight.T @ weight
        return _inverse(normal)

    def _seen(self, camera: Camera, prior: LensPrior | None = None) -> PhotoView:
        now = self._covariance(self._camera, self.prior)
        # The pose's part of the covariance says how much more than that this photo has.
        had = np.diag(self._camera.covariance)[_LENS:] / np.diag(now)[_LENS:]
        widening = max(float(np.median(had)), 1.0)
        covariance = widening * self._covariance(camera, prior or self.prior)
        oriented: Oriented = replace(
            self.view.oriented, camera=replace(camera, covariance=covariance)
        )
        return PhotoView(oriented, self.view.height)


def _from_to(a: Array, b: Array) -> Array:
    """(3,) rad: the turn about their common normal that takes unit vector a to b."""
    normal = np.cross(a, b)
    sine = float(np.linalg.norm(normal))
    if sine < 1e-12:
        return np.zeros(3)
    return np.asarray(normal / sine * np.arctan2(sine, float(a @ b)))


def _inverse(matrix: Array) -> Array:
    """Of a normal matrix whose parameters differ by many powers of ten."""
    size = np.sqrt(np.diag(matrix))
    return np.asarray(np.linalg.inv(matrix / np.outer(size, size)) / np.outer(size, size))
