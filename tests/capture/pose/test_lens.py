"""The lens model against hand arithmetic, published rows, OpenCV and its own differences."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribe.capture.pose.camera import Camera, lifted, rotation_by
from scribe.capture.pose.lens import Lens

PHONE = Lens(3000.0, 2015.0, 1510.0, k1=0.08, k2=-0.11, p1=4e-4, p2=-7e-4, k3=0.02)
directions = st.tuples(st.floats(-0.6, 0.6), st.floats(-0.5, 0.5))

# Zhang, IEEE PAMI 22 (2000) 1330-1334, data of the author's page: calibration and two of the
# published poses; model squares 0.5 in, pitch 0.888889 in (inferred from the data).
ZHANG = {"alpha": 832.5, "gamma": 0.204494, "beta": 832.53, "u0": 303.959, "v0": 206.585}
ZHANG_K = (-0.228601, 0.190353)
ZHANG_POSES = [
    (
        [[0.992759, -0.026319, 0.117201], [0.0139247, 0.994339, 0.105341],
         [-0.11931, -0.102947, 0.987505]],
        [-3.84019, 3.65164, 12.791],
        [(0, 0, 62.482, 436.267), (0.5, 0, 91.985, 438.586), (0.5, -0.5, 92.806, 407.064),
         (0, -0.5, 63.332, 404.972)],
    ),
    (
        [[0.997397, -0.00482564, 0.0719419], [0.0175608, 0.983971, -0.17746],
         [-0.0699324, 0.178262, 0.981495]],
        [-3.71693, 3.76928, 13.1974],
        [(0, 0, 77.018, 436.788), (0.5, 0, 106.301, 438.702), (0.5, -0.5, 104.422, 410.540),
         (0, -0.5, 74.887, 408.745)],
    ),
]  # fmt: skip


def test_brown_conrady_by_hand() -> None:
    """r2 = 0.25 at (0.4, 0.3): radial 0.95475, then the two tangential terms."""
    lens = Lens(1.0, 0.0, 0.0, k1=-0.2286, k2=0.1904, p1=0.0012, p2=-0.0008)
    given_ = np.array([[0.2, -0.1], [0.4, 0.3]])
    expected = [[0.1976572, -0.0987886], [0.381732, 0.286749]]
    assert lens.pixels(given_) == pytest.approx(np.array(expected), abs=5e-7)


@pytest.mark.parametrize(("rotation", "translation", "rows"), ZHANG_POSES)
def test_zhangs_published_rows(rotation: list, translation: list, rows: list) -> None:
    """Projected to 0.002 px: his matrices are printed to six digits.

    His pixels have a skew and two focal lengths; the distorted direction is ours (f = 1).
    """
    lens = Lens(1.0, 0.0, 0.0, k1=ZHANG_K[0], k2=ZHANG_K[1])
    camera = Camera(lens, np.array(rotation), np.array(translation), np.zeros((14, 14)))
    table = np.array(rows)
    x, y = camera.pixels(lifted(table[:, :2], 0.0)).T
    u = ZHANG["alpha"] * x + ZHANG["gamma"] * y + ZHANG["u0"]
    v = ZHANG["beta"] * y + ZHANG["v0"]
    assert np.stack([u, v], axis=-1) == pytest.approx(table[:, 2:], abs=2e-3)


@given(st.lists(directions, min_size=1, max_size=20))
def test_pixels_as_opencv(seen: list[tuple[float, float]]) -> None:
    points = np.column_stack([np.array(seen), np.ones(len(seen))])
    matrix = np.array([[PHONE.f, 0, PHONE.cx], [0, PHONE.f, PHONE.cy], [0, 0, 1]])
    terms = np.array([PHONE.k1, PHONE.k2, PHONE.p1, PHONE.p2, PHONE.k3])
    theirs, _ = cv2.projectPoints(points, np.zeros(3), np.zeros(3), matrix, terms)
    assert PHONE.pixels(np.array(seen)) == pytest.approx(theirs.reshape(-1, 2), abs=1e-8)


@given(directions)
def test_directions_undo_pixels(seen: tuple[float, float]) -> None:
    pixels = PHONE.pixels(np.array([seen]))
    assert PHONE.directions(pixels) == pytest.approx(np.array([seen]), abs=1e-10)


def test_usable_radius_is_where_the_model_turns_back() -> None:
    """r (1 - 0.3 r2) grows while 1 - 0.9 r2 > 0."""
    assert Lens(1.0, 0.0, 0.0, k1=-0.3).usable_radius() == pytest.approx(np.sqrt(1 / 0.9))
    assert Lens(1.0, 0.0, 0.0).usable_radius() == np.inf
    assert Lens(1.0, 0.0, 0.0, k1=0.1).usable_radius() == np.inf


def some_camera() -> Camera:
    down = np.diag([1.0, -1.0, -1.0])
    return Camera(
        PHONE,
        rotation_by(np.array([0.3, -0.2, 0.1])) @ down,
        np.array([-80.0, 120.0, 400.0]),
        np.zeros((14, 14)),
    )


def moved(camera: Camera, which: int, by: float) -> Camera:
    lens, rotation, translation = camera.lens.values(), camera.rotation, camera.translation.copy()
    if which < 8:
        lens[which] += by
    elif which < 11:
        rotation = rotation_by(by * np.eye(3)[which - 8]) @ rotation
    else:
        translation[which - 11] += by
    return Camera(Lens.of(lens), rotation, translation, camera.covariance)


POINTS = np.array([[20.0, 30.0], [190.0, 40.0], [100.0, 150.0], [30.0, 280.0], [180.0, 260.0]])


@pytest.mark.parametrize("which", range(14))
def test_derivatives_equal_differences(which: int) -> None:
    camera = some_camera()
    step = 1e-2 if which < 3 or which > 10 else 1e-6
    _, by_parameters = camera.derivatives(lifted(POINTS, 6.0))
    ahead = moved(camera, which, step).pixels(lifted(POINTS, 6.0))
    behind = moved(camera, which, -step).pixels(lifted(POINTS, 6.0))
    scale = np.abs(by_parameters[:, :, which]).max()
    assert (ahead - behind) / (2 * step) == pytest.approx(
        by_parameters[:, :, which], abs=1e-6 * scale
    )


@pytest.mark.parametrize("height", [0.0, 6.0, 18.0])
def test_plane_and_its_sensitivities(height: float) -> None:
    """A point comes back from its pixel; moving a parameter or the plane moves it as predicted."""
    camera = some_camera()
    pixels = camera.pixels(lifted(POINTS, height))
    assert camera.on_plane(pixels, height) == pytest.approx(POINTS, abs=1e-9)
    by_height = (camera.on_plane(pixels, height + 1e-4) - POINTS) / 1e-4
    assert camera.height_sensitivity(POINTS, height) == pytest.approx(by_height, abs=1e-5)
    sensitivity = camera.plane_sensitivity(POINTS, height)
    for which in (0, 1, 3, 8, 9, 13):
        step = 1e-3 if which < 3 or which > 10 else 1e-7
        shifted = (moved(camera, which, step).on_plane(pixels, height) - POINTS) / step
        scale = np.abs(sensitivity[:, :, which]).max()
        assert shifted == pytest.approx(sensitivity[:, :, which], abs=1e-4 * scale + 1e-9)


def test_height_shift_by_hand() -> None:
    """A camera 600 mm straight above: at r = 150 a point 3 mm up lands 150 * 3 / 597 outwards."""
    camera = Camera(
        Lens(3000.0, 0.0, 0.0), np.diag([1.0, -1.0, -1.0]), np.array([0, 0, 600.0]), np.eye(14)
    )
    seen = camera.pixels(np.array([[150.0, 0.0, 3.0]]))
    assert camera.on_plane(seen, 0.0)[0, 0] - 150.0 == pytest.approx(0.7538, abs=1e-4)
