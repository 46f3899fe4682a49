"""Camera: lens and pose solved from one photo of a target, with their covariance.

Sheet frame to camera frame: X_camera = rotation X_sheet + translation (mm). The unknowns
are the eight of the lens and six of the pose. One photo of a flat sheet does not fix a
lens: the focal length drifts against the distance when the sheet lies square to the axis.
The lens's prior holds what the photo can't tell, and the covariance says how well.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribe.capture.pose.lens import Lens
from scribe.capture.pose.lens_prior import LensPrior
from scribe.geom.solve import System, least_squares

Array = npt.NDArray[np.float64]

_POSE = 6
_LENS = 8


@dataclass(frozen=True)
class Camera:
    """lens, rotation (3, 3), translation (3,) mm and the covariance (14, 14) of all of it.

    Order of the covariance: the lens as LENS_PARAMETERS, a small rotation in the camera
    frame applied from the left (rad), the translation (mm).
    """

    lens: Lens
    rotation: Array
    translation: Array
    covariance: Array

    def in_camera(self, points: Array) -> Array:
        """(..., 3) mm in the camera frame of points (..., 3) in the sheet frame."""
        return points @ self.rotation.T + self.translation

    def pixels(self, points: Array) -> Array:
        """(..., 2) px of points (..., 3) mm in the sheet frame."""
        seen = self.in_camera(points)
        return self.lens.pixels(seen[..., :2] / seen[..., 2:])

    def plane_pixels(self, points: Array, height: float) -> Array:
        """(..., 2) px of points (..., 2) mm on the plane z = height: `on_plane` undone."""
        # Many points are looked at, and their third coordinate is always the same.
        px, py = points[..., 0], points[..., 1]
        at = self.translation + height * self.rotation[:, 2]
        x, y, z = (a * px + b * py + c for (a, b, _), c in zip(self.rotation, at, strict=True))
        return self.lens.pixels(np.moveaxis(np.stack([x / z, y / z]), 0, -1))

    def derivatives(self, points: Array) -> tuple[Array, Array]:
        """d px / d point (N, 2, 3) and d px / d parameters (N, 2, 14) for points (N, 3)."""
        seen = self.in_camera(points)
        by_seen = self._by_seen(seen)
        by_lens = self.lens.by_parameters(seen[:, :2] / seen[:, 2:])
        turned = seen - self.translation
        by_rotation = np.zeros((len(seen), 3, 3))  # d (w x turned) / d w = -[turned]x
        by_rotation[:, 0, 1], by_rotation[:, 0, 2] = turned[:, 2], -turned[:, 1]
        by_rotation[:, 1, 0], by_rotation[:, 1, 2] = -turned[:, 2], turned[:, 0]
        by_rotation[:, 2, 0], by_rotation[:, 2, 1] = turned[:, 1], -turned[:, 0]
        by_parameters = np.concatenate([by_lens, by_seen @ by_rotation, by_seen], axis=-1)
        return by_seen @ self.rotation, by_parameters

    def by_point(self, points: Array) -> Array:
        """d px / d point (N, 2, 3) for points (N, 3)."""
        return self._by_seen(self.in_camera(points)) @ self.rotation

    def _by_seen(self, seen: Array) -> Array:
        """(N, 2, 3) the same for points (N, 3) in the camera frame, and by them."""
        x, y, z = seen.T
        by_seen = np.zeros((len(x), 2, 3))
        by_seen[:, 0, 0] = by_seen[:, 1, 1] = 1.0 / z
        by_seen[:, 0, 2], by_seen[:, 1, 2] = -x / z**2, -y / z**2
        return self.lens.by_direction(seen[:, :2] / seen[:, 2:]) @ by_seen

    def on_plane(self, pixels: Array, height: float) -> Array:
        """(N, 2) mm where the rays through pixels (N, 2) meet the plane z = height."""
        directions = self.lens.directions(pixels)
        rays = np.column_stack([directions, np.ones(len(directions))]) @ self.rotation
        centre = self.position()
        return np.asarray(centre[:2] + rays[:, :2] * ((height - centre[2]) / rays[:, 2])[:, None])

    def position(self) -> Array:
        """(3,) mm, the camera's centre in the sheet frame."""
        return np.asarray(-self.rotation.T @ self.translation)

    def plane_sensitivity(self, points: Array, height: float) -> Array:
        """(N, 2, 14): how the point found on z = height moves with each parameter, mm.

        points: (N, 2) mm on the plane. Implicit derivative of pixels(point, parameters) = const.
        """
        by_point, by_parameters = self.derivatives(lifted(points, height))
        return np.asarray(-np.linalg.solve(by_point[:, :, :2], by_parameters))

    def height_sensitivity(self, points: Array, height: float) -> Array:
        """(N, 2): how the point found moves when the plane is one mm higher, mm per mm."""
        by_point = self.by_point(lifted(points, height))
        return np.asarray(-np.linalg.solve(by_point[:, :, :2], by_point[:, :, 2:])[:, :, 0])

    def pose_given_lens(self) -> Array:
        """(14, 14) a square root of the covariance that is left once the lens is known."""
        lens, pose = slice(0, _LENS), slice(_LENS, _LENS + _POSE)
        cross = self.covariance[pose, lens]
        spread = np.linalg.pinv(self.covariance[lens, lens], hermitian=True)
        root = np.zeros_like(self.covariance)
        root[pose, pose] = _root(self.covariance[pose, pose] - cross @ spread @ cross.T)
        return root

    def lens_with_pose(self) -> Array:
        """(14, 14) a square root of the covariance that the lens brings, the pose going with it.

        With `pose_given_lens` its squares add up to the whole covariance.
        """
        lens, pose = slice(0, _LENS), slice(_LENS, _LENS + _POSE)
        root = np.zeros_like(self.covariance)
        root[lens, lens] = _root(self.covariance[lens, lens])
        spread = np.linalg.pinv(self.covariance[lens, lens], hermitian=True)
        root[pose, lens] = self.covariance[pose, lens] @ spread @ root[lens, lens]
        return root

    def mm_per_px(self, points: Array, height: float) -> Array:
        """(N,) mm on the plane that a pixel spans in its longer direction."""
        by_point = self.by_point(lifted(points, height))
        return np.asarray(1.0 / np.linalg.svd(by_point[:, :, :2], compute_uv=False)[:, -1])

    def tilt_deg(self) -> float:
        """Angle between the optical axis and the sheet's normal, degrees."""
        return float(np.degrees(np.arccos(np.clip(-self.rotation[2, 2], -1.0, 1.0))))


def _root(covariance: Array) -> Array:
    """R with R R' = covariance; what rounding made negative counts as nothing."""
    values, vectors = np.linalg.eigh(covariance)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))


def lifted(points: Array, height: float) -> Array:
    """(N, 3) the points (N, 2) of the plane z = height."""
    return np.concatenate([points, np.full((*points.shape[:-1], 1), height)], axis=-1)


@dataclass(frozen=True)
class Resection:
    """A solved camera and how well it explains its marks.

    residuals: (N, 2) px, seen minus predicted. weights: (N,) 0..1, below 1 where doubted.
    noise_px: standard deviation of one coordinate, from the residuals.
    """

    camera: Camera
    residuals: Array
    weights: Array
    noise_px: float
    converged: bool


def resect(points: Array, pixels: Array, u: Array, prior: LensPrior, start: Camera) -> Resection:
    """Solve lens and pose. points: (N, 2) mm on z = 0, or (N, 3); pixels: (N, 2); u: (N,) px.

    The residuals set the scale of u (a common factor, not below one fifth): marks that
    scatter more than their fit says tell of paper, print and lens model.
    """
    flat = lifted(points, 0.0) if points.shape[1] == 2 else points
    mean, weight = prior.mean.values(), prior.weight()
    factor = 1.0
    solved = start
    for _ in range(3):
        sd = u * factor

        def linearise(camera: Camera, sd: Array = sd) -> System:
            _, by_parameters = camera.derivatives(flat)
            lens = camera.lens  # a pixel is its derivative by f times f, off the principal point
            seen = lens.f * by_parameters[:, :, 0] + [lens.cx, lens.cy]
            residuals = (seen - pixels) / sd[:, None]
            spread = np.zeros((_LENS, _LENS + _POSE))
            spread[:, :_LENS] = weight
            return System(
                np.nan_to_num(residuals, nan=1e6),
                by_parameters / sd[:, None, None],
                weight @ (camera.lens.values() - mean),
                spread,
            )

        found = least_squares(linearise, moved, solved)
        solved = found.state
        size2 = (found.residuals**2).sum(axis=1)
        freedom = max(2 * len(points) - _POSE - 4, 1)
        change = float(np.sqrt((found.weights * size2).sum() / freedom))
        factor = max(factor * change, 0.2)
        if abs(change - 1.0) < 0.02:
            break
    residuals = -found.residuals * sd[:, None]
    noise = float(np.sqrt((found.weights[:, None] * residuals**2).sum() / freedom))
    camera = replace(solved, covariance=found.covariance)
    return Resection(camera, residuals, found.weights, noise, found.converged)


def moved(camera: Camera, step: Array) -> Camera:
    """The camera after a step (14,) of lens and pose."""
    return Camera(
        Lens.of(camera.lens.values() + step[:_LENS]),
        rotation_by(step[_LENS : _LENS + 3]) @ camera.rotation,
        camera.translation + step[_LENS + 3 :],
        camera.covariance,
    )


def rotation_by(vector: Array) -> Array:
    """(3, 3) rotation by |vector| rad about vector (Rodrigues)."""
    angle = float(np.linalg.norm(vector))
    if angle < 1e-12:
        return np.eye(3)
    x, y, z = vector / angle
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    return np.asarray(np.eye(3) + np.sin(angle) * cross + (1.0 - np.cos(angle)) * cross @ cross)
