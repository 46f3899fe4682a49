"""The scenes' camera against OpenCV's projection (cv2.projectPoints, another hand's code)."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from tests.scenes.camera import Camera, distort, place_camera
from tests.scenes.render import TILE, _carry, _nodes, _spread
from tests.scenes.scene import make_scene

LENS = (-0.09, 0.04, 6e-4, -4e-4, 0.008)


def camera(**pose: float) -> Camera:
    given = {"tilt_deg": 24.0, "azimuth_deg": -130.0, "roll_deg": 5.0, "distance": 320.0} | pose
    return place_camera((900, 1200), 880.0, (452.3, 597.1), LENS, look_at=(100.0, 150.0), **given)


def test_projection_equals_opencv() -> None:
    eye = camera()
    rng = np.random.default_rng(3)
    points = np.column_stack([rng.uniform(0, [210, 297], (200, 2)), rng.uniform(0, 20, 200)])
    matrix = np.array([[eye.f_px, 0, eye.centre[0]], [0, eye.f_px, eye.centre[1]], [0, 0, 1]])
    turn, _ = cv2.Rodrigues(eye.rotation)
    shift = -eye.rotation @ eye.position
    theirs, _ = cv2.projectPoints(points, turn, shift, matrix, np.array(LENS))
    assert np.abs(eye.project(points) - theirs.reshape(-1, 2)).max() < 1e-6


def test_brown_model_gives_the_worked_numbers() -> None:
    # Arithmetic by hand of the Brown model, k = (-0.2286, 0.1904, 0), p = (0.0012, -0.0008):
    # r2 = 0.05, radial = 1 - 0.01143 + 0.000476 = 0.989046, then the tangential terms.
    x, y = distort(np.array([0.2]), np.array([-0.1]), (-0.2286, 0.1904, 0.0012, -0.0008, 0.0))
    assert x[0] == pytest.approx(0.2 * 0.989046 - 0.000048 - 0.000104, abs=1e-9)
    assert y[0] == pytest.approx(-0.1 * 0.989046 + 0.000084 + 0.000032, abs=1e-9)


@pytest.mark.parametrize("z", [0.0, 6.0])
def test_ray_through_a_projected_point_meets_it_again(z: float) -> None:
    eye = camera()
    points = np.column_stack([np.random.default_rng(5).uniform(0, 200, (50, 2)), np.full(50, z)])
    u, v = eye.project(points).T
    assert np.allclose(np.column_stack(eye.hit(u, v, z)), points[:, :2], atol=1e-6)


def test_upright_camera_sees_y_up_and_x_right() -> None:
    eye = camera(tilt_deg=0.0, roll_deg=0.0)
    low, right, up = eye.project(np.array([[100.0, 150, 0], [110, 150, 0], [100, 160, 0]]))
    assert right[0] > low[0]
    assert up[1] < low[1]


def test_camera_that_sees_past_the_table_is_refused() -> None:
    with pytest.raises(ValueError, match="past the table"):
        camera(tilt_deg=80.0).hit(*np.meshgrid([0.0, 899.0], [0.0, 1199.0]))


def test_rays_of_a_tile_are_those_of_the_camera() -> None:
    eye = make_scene(
        "edge", 4, megapixels=2, tilt_deg=30.0, lens=(0.1, -0.06, 5e-4, 5e-4, 0.01)
    ).camera
    for left, top in ((0, 0), (500, 700), (eye.size[0] - TILE, eye.size[1] - TILE)):
        u = _nodes() * (TILE / 2) + left + (TILE - 1) / 2
        v = _nodes() * (TILE / 2) + top + (TILE - 1) / 2
        x, _ = eye.hit(*np.meshgrid(u, v))
        exact, _ = eye.hit(*np.meshgrid(left + np.arange(TILE), top + np.arange(TILE)))
        assert np.abs(_carry(_spread(TILE), x, _spread(TILE)) - exact).max() < 1e-4


def test_sheet_fills_the_stated_part_of_the_frame() -> None:
    scene = make_scene("line", 3, megapixels=1, fill=0.9)
    corners = np.array([[0, 0, 0], [210, 0, 0], [210, 297, 0], [0, 297, 0]])
    middle = (np.array(scene.camera.size) - 1) / 2
    part = np.abs(scene.camera.project(corners) - middle) / (np.array(scene.camera.size) / 2)
    assert part.max() == pytest.approx(0.9, abs=1e-3)
