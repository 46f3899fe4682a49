"""Where the marks of a target are seen in the full photo, predicted by a rough camera."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.capture.photo import Photo
from scribe.capture.pose.camera import Camera, lifted
from scribe.capture.sheet.crossing import Crossings, refine_crossings
from scribe.capture.sheet.marks import Sighting

Array = npt.NDArray[np.float64]


def measure_marks(
    photo: Photo, seen: Sighting, rough: Camera, stretch: Array
) -> tuple[Array, Crossings]:
    """Every measuring point of the target: (N, 2) mm and its fit in the full photo."""
    target = seen.target
    corner = not len(target.crossings)
    if corner:
        nominal = target.marker_corners()
        size = np.hypot(*(target.markers[:, 1] - target.markers[:, 0]).T)
        sides = np.stack(
            [np.roll(target.markers, 1, axis=1), np.roll(target.markers, -1, axis=1)], 2
        )
        axes_mm = (sides - target.markers[:, :, None, :]).reshape(-1, 2, 2)
        axes_mm /= np.repeat(size, 4)[:, None, None]
        free_mm = np.repeat(size, 4) / 8.0
        chosen = np.zeros(len(target.ids), bool)
        chosen[seen.index] = True
        chosen = np.repeat(chosen, 4)
    else:
        nominal = target.crossings
        axes_mm = np.tile(np.eye(2), (len(nominal), 1, 1))
        marker = float(np.hypot(*(target.markers[0, 1] - target.markers[0, 0])))
        free_mm = np.full(len(nominal), (target.square_mm - marker) / 2.0 * np.sqrt(2.0))
        chosen = np.ones(len(nominal), bool)
    points = nominal * stretch
    flat = lifted(points, 0.0)
    in_front = rough.in_camera(flat)[:, 2] > 0.0
    radius2 = (rough.in_camera(flat)[:, :2] ** 2).sum(axis=1) / rough.in_camera(flat)[:, 2] ** 2
    chosen &= in_front & (radius2 < rough.lens.usable_radius() ** 2)
    points, flat = points[chosen], flat[chosen]
    predicted = rough.pixels(flat)
    step = 0.5
    ahead = [rough.plane_pixels(points + step * axes_mm[chosen][:, k], 0.0) for k in (0, 1)]
    axes = np.stack([(ahead[k] - predicted) / step for k in (0, 1)], axis=1)
    smallest = np.linalg.svd(axes, compute_uv=False)[:, -1]
    radius = free_mm[chosen] * smallest - 1.0
    return points, refine_crossings(photo, predicted, axes, radius, corner=corner)
