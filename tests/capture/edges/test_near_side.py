"""The side of a board, painted as a camera sees it: a box over a sheet, by similar triangles."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from scribe.capture.edges.near_side import Side, side_seen
from scribe.capture.edges.thing import thing_on
from tests.capture.fake_view import FakeView, seen

Array = npt.NDArray[np.float64]

CAMERA = np.array([55.0, -60.0, 280.0])
LEFT, BELOW, RIGHT, ABOVE = 20.0, 22.0, 92.0, 52.0  # of the board's foot, mm
PAPER, FACE = 0.85, 0.3


def board(height: float, side: float, *, grain: float = 0.0, shadow: float = 0.0) -> FakeView:
    """A board of that height seen from CAMERA, its face with grain along x.

    The ray through the sheet's (x, y) passes (x, y) + (CAMERA - (x, y)) t at z = t H: the face
    is hit at t = height / H, the side facing the camera, at y = BELOW, where the ray gets there
    below the face. shadow: mm before the foot that are as dark as the side.
    """

    def paint(x: Array, y: Array) -> Array:
        up = height / CAMERA[2]
        face_x, face_y = x + (CAMERA[0] - x) * up, y + (CAMERA[1] - y) * up
        face = inside(face_x) & (face_y > BELOW) & (face_y < ABOVE)
        reach = (y - BELOW) / (y - CAMERA[1])
        turned = inside(x + (CAMERA[0] - x) * reach) & (reach >= 0) & (reach <= up)
        shaded = inside(x + 0.0 * y) & (y < BELOW) & (y > BELOW - shadow)
        light = np.where(turned | shaded, side, PAPER + 0.0 * (x + y))
        return np.where(face, FACE * (1.0 + grain * np.sin(2.3 * face_y)), light)

    return seen(paint)


def side_of(view: FakeView, camera: Array) -> Side | None:
    thing = thing_on(view)
    assert thing is not None
    return side_seen(view, thing, camera)


def inside(x: Array) -> npt.NDArray[np.bool_]:
    return (x > LEFT) & (x < RIGHT)


@pytest.mark.parametrize("height", [4.0, 9.0, 18.0])
def test_the_side_tells_the_height(height: float) -> None:
    """Two edges nearer than a pixel, 0.125 mm, look alike: over a leaning of at least 0.29."""
    side = side_of(board(height, 0.12), CAMERA)
    assert side is not None
    assert side.height == pytest.approx(height, abs=0.125 / 0.29 + 0.25)
    assert not side.denies(height)
    assert side.denies(0.0)
    assert side.denies(10.0 * height)


def test_a_camera_above_the_board_sees_no_side() -> None:
    above = np.array([55.0, 37.0, 280.0])
    assert side_of(board(9.0, 0.12), above) is None


def test_a_side_as_light_as_its_face_tells_nothing() -> None:
    assert side_of(board(9.0, FACE), CAMERA) is None


def test_grain_is_no_arris() -> None:
    """Bands of grain along the side may seem an arris too high up, never one too low."""
    side = side_of(board(9.0, 0.12, grain=0.2), CAMERA)
    assert side is None or not side.denies(9.0)


def test_noise_is_no_arris() -> None:
    """Sharp changes everywhere agree on every height, and so on none."""

    def flat(x: Array, y: Array) -> Array:
        return np.where((y > BELOW) & (y < ABOVE) & inside(x), FACE, PAPER)

    assert side_of(seen(flat, noise=0.12), CAMERA) is None


@pytest.mark.parametrize("lamp_deg", [70.0, 45.0, 32.0])
def test_a_shadow_before_the_side_denies_nothing_true(lamp_deg: float) -> None:
    """As dark as the side, it makes it look higher: by 1 / tan of the lamp's height."""
    side = side_of(board(6.0, 0.12, shadow=6.0 / np.tan(np.radians(lamp_deg))), CAMERA)
    assert side is not None
    assert side.height > 7.0
    assert abs(side.height - 6.0) < 2.0 * side.u
    assert not side.denies(6.0)
    assert side.denies(0.0)


def test_bounds_of_what_is_denied() -> None:
    """By hand: 1.5 x 10 + 2 x 0.5 = 16; (1 - 0.1) x 10 x 0.3 / (0.3 + 1.7) = 1.35."""
    side = Side(10.0, 0.5, 0.3)
    assert not side.denies(15.9)
    assert side.denies(16.1)
    assert not side.denies(1.4)
    assert side.denies(1.3)
