"""The camera of a scene: pinhole, Brown lens (k1, k2, p1, p2, k3), pose over the sheet.

Camera frame: x right, y down, z forward. A pixel is u = f xd + cx, v = f yd + cy, with
pixel centres at whole numbers, as OpenCV; written from the formulas, tested against it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

Array = np.ndarray
FILM_DIAGONAL_MM = 43.2666  # 36 x 24 mm, what "35 mm equivalent" refers to


@dataclass(frozen=True)
class Camera:
    """size: (width, height) px of the upright photo. rotation: camera from sheet (3, 3).

    position: (3,) mm, the camera's place in the sheet frame. lens: (k1, k2, p1, p2, k3).
    """

    size: tuple[int, int]
    f_px: float
    centre: tuple[float, float]
    lens: tuple[float, float, float, float, float]
    rotation: Array
    position: Array

    def project(self, points: Array) -> Array:
        """(N, 3) mm in the sheet frame -> (N, 2) px."""
        seen = (np.atleast_2d(points) - self.position) @ self.rotation.T
        x, y = distort(seen[:, 0] / seen[:, 2], seen[:, 1] / seen[:, 2], self.lens)
        return np.column_stack([self.f_px * x + self.centre[0], self.f_px * y + self.centre[1]])

    def hit(self, u: Array, v: Array, z: float = 0.0) -> tuple[Array, Array]:
        """Where the rays of pixels u, v (any one shape) meet the plane at height z: x, y mm."""
        xd, yd = (u - self.centre[0]) / self.f_px, (v - self.centre[1]) / self.f_px
        x, y = undistort(xd, yd, self.lens)
        ray = np.stack([x, y, np.ones_like(x)], axis=-1) @ self.rotation
        reach = (z - self.position[2]) / ray[..., 2]
        if not (reach > 0).all():
            raise ValueError("the camera sees past the table: less tilt, or a longer lens")
        return self.position[0] + reach * ray[..., 0], self.position[1] + reach * ray[..., 1]


def distort(x: Array, y: Array, lens: tuple[float, ...]) -> tuple[Array, Array]:
    """Ideal to distorted coordinates at focal length 1."""
    k1, k2, p1, p2, k3 = lens
    r2 = x * x + y * y
    radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3))
    return (
        x * radial + 2 * p1 * x * y + p2 * (r2 + 2 * x * x),
        y * radial + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y,
    )


def undistort(xd: Array, yd: Array, lens: tuple[float, ...]) -> tuple[Array, Array]:
    """The inverse of distort by Newton steps with a numerical Jacobian; refuses to guess."""
    x, y, step = xd.copy(), yd.copy(), 1e-6
    for _ in range(30):
        ex, ey = distort(x, y, lens)
        ax, ay = distort(x + step, y, lens)
        bx, by = distort(x, y + step, lens)
        a, c, b, d = (ax - ex) / step, (ay - ey) / step, (bx - ex) / step, (by - ey) / step
        rx, ry, det = xd - ex, yd - ey, a * d - b * c
        x, y = x + (d * rx - b * ry) / det, y + (a * ry - c * rx) / det
        if max(np.abs(rx).max(), np.abs(ry).max()) < 1e-12:
            return x, y
    raise ValueError(f"no ray for some pixels with the lens {lens}")


def place_camera(
    size: tuple[int, int],
    f_px: float,
    centre: tuple[float, float],
    lens: tuple[float, float, float, float, float],
    *,
    look_at: tuple[float, float],
    tilt_deg: float,
    azimuth_deg: float,
    roll_deg: float,
    distance: float,
) -> Camera:
    """A camera at a distance (mm) from the point of the sheet in the middle of its view.

    tilt: angle between the view and the sheet's normal; azimuth: the side the camera
    leans to (-90: the side of the lower edge, where a person stands). Without tilt and
    roll the sheet's y points up in the photo.
    """
    tilt, azimuth, roll = np.radians([tilt_deg, azimuth_deg, roll_deg])
    away = np.array([np.sin(tilt) * np.cos(azimuth), np.sin(tilt) * np.sin(azimuth), np.cos(tilt)])
    forward = -away
    right = np.cross(forward, [0.0, 1.0, 0.0])
    right /= np.linalg.norm(right)
    down = np.cross(forward, right)
    turned = np.cos(roll) * right + np.sin(roll) * down
    rotation = np.array([turned, np.cross(forward, turned), forward])
    position = np.array([*look_at, 0.0]) + distance * away
    return Camera(size, f_px, centre, lens, rotation, position)


def fill_frame(camera_at: object, corners: Array, fill: float) -> Camera:
    """The camera at the distance where the corners (N, 2) span `fill` of the tighter side.

    camera_at: a function distance -> Camera.
    """
    points = np.column_stack([corners, np.zeros(len(corners))])
    near, far = 60.0, 20000.0
    for _ in range(60):
        distance = np.sqrt(near * far)
        camera = camera_at(distance)
        middle = (np.array(camera.size) - 1) / 2
        part = (np.abs(camera.project(points) - middle) / (np.array(camera.size) / 2)).max()
        near, far = (distance, far) if part > fill else (near, distance)
    return camera
