"""What another photo would bring: foretold from the marks, then taken and solved."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import numpy.typing as npt
import pytest

from scribe.capture.exif import Exif
from scribe.capture.photo_view import PhotoView
from scribe.capture.pose.camera import Camera, lifted, resect, rotation_by
from scribe.capture.pose.foresee import Foresight
from scribe.capture.pose.lens import Lens
from scribe.capture.pose.lens_prior import lens_prior
from scribe.capture.pose.orient import Oriented
from scribe.target import window_sheet
from tests.capture.known import plane_u

Array = npt.NDArray[np.float64]

SIZE = (3024, 4032)
SHEET = window_sheet("A4", 1)
EXIF = Exif(1, 3100.0, "", True)
PRIOR = lens_prior(EXIF, SIZE)
NOISE_PX, HEIGHT = 0.1, 12.0
X = np.linspace(35.0, 175.0, 57)
WALL = np.column_stack([X, 150.0 + 3.0 * np.sin(X / 30.0)])
ACROSS = np.tile([0.0, 1.0], (len(X), 1))


def solved_view(camera: Camera, rng: np.random.Generator) -> PhotoView:
    """A photo from there, its marks found to 0.1 px, and its camera solved."""
    pixels = camera.pixels(lifted(SHEET.crossings, 0.0))
    pixels = pixels + rng.normal(0.0, NOISE_PX, pixels.shape)
    n = len(pixels)
    start = replace(camera, lens=PRIOR.mean)
    solved = resect(SHEET.crossings, pixels, np.full(n, NOISE_PX), PRIOR, start)
    photo = cast(Any, SimpleNamespace(exif=EXIF, size=SIZE, name="drawn"))
    oriented = Oriented(
        photo, SHEET, solved.camera, SHEET.crossings, pixels, np.ones(n, bool), solved.residuals,
        (1.0, 1.0), solved.noise_px, 1.0, 0.0,
    )  # fmt: skip
    return PhotoView(oriented, HEIGHT)


def taken(tilt_deg: float, away: float = 450.0) -> PhotoView:
    """A photo of the sheet upright in the picture, the phone moved towards its lower edge."""
    rotation = rotation_by(np.radians(tilt_deg) * np.array([1.0, 0.0, 0.0])) @ np.diag(
        [1.0, -1.0, -1.0]
    )
    centre = np.array([105.0, 148.5, 0.0])
    lens = Lens(3150.0, 1520.0, 2000.0, 0.02)
    camera = Camera(
        lens, rotation, np.array([0.0, 0.0, away]) - rotation @ centre, np.zeros((14, 14))
    )
    return solved_view(camera, np.random.default_rng(3))


def camera_of(view: PhotoView) -> Camera:
    return view.oriented.camera


def u_of(view: PhotoView) -> Array:
    return plane_u(camera_of(view), WALL, ACROSS, HEIGHT)


def in_picture(view: PhotoView) -> bool:
    pixels = camera_of(view).pixels(lifted(SHEET.crossings, 0.0))
    return bool((pixels > 0).all() and (pixels < SIZE).all())


@pytest.mark.parametrize("name", ["squarely", "nearer", "other side"])
def test_a_photo_taken_from_there_is_as_good_as_foretold(name: str) -> None:
    """Taken eight times: u varies with the lens that is solved by 10 to 20 % from one to the next
    (printed at trial), the mean so by 7 %; the one foretold with is one such: 25 %.
    """
    sight = Foresight.of(taken(25.0), None)
    foretold = {
        "squarely": lambda: sight.squarely_over(np.array([160.0, 150.0])),
        "nearer": sight.nearer,
        "other side": lambda: sight.from_other_side(np.array([1.0, 0.1])),
    }[name]()
    assert in_picture(foretold)
    camera = camera_of(foretold)
    there = [u_of(solved_view(camera, np.random.default_rng(seed))) for seed in range(8)]
    assert u_of(foretold) == pytest.approx(np.mean(there, axis=0), rel=0.25)


def test_squarely_means_right_above() -> None:
    middle = (SHEET.crossings.min(axis=0) + SHEET.crossings.max(axis=0)) / 2.0
    over = Foresight.of(taken(25.0), None).squarely_over(middle)
    assert camera_of(over).position()[:2] == pytest.approx(middle, abs=1e-6)
    assert camera_of(over).tilt_deg() == pytest.approx(0.0, abs=1e-4)
    # A point right below the phone hardly moves with the height: 1 mm shifts the ends by
    # 70 mm / 450 mm.
    lift = camera_of(over).height_sensitivity(WALL, HEIGHT)
    assert np.abs(lift).max() == pytest.approx(70.0 / (450.0 - HEIGHT), rel=0.05)


def test_the_other_side_is_the_other_side() -> None:
    """The phone stood on one side; two sides see a height with slopes of opposite sign."""
    now = taken(20.0)
    other = Foresight.of(now, None).from_other_side(np.array([1.0, 0.0]))
    slopes = [
        camera_of(view).height_sensitivity(WALL, HEIGHT)[:, 1].mean() for view in (now, other)
    ]
    assert slopes[0] * slopes[1] < 0.0
    # From right above, at least 15 degrees aside.
    other = Foresight.of(taken(0.0), None).from_other_side(np.array([1.0, 0.0]))
    assert camera_of(other).tilt_deg() == pytest.approx(15.0, abs=0.5)


def test_nearer_fills_the_picture() -> None:
    far = taken(15.0, away=900.0)
    near = Foresight.of(far, None).nearer()
    assert in_picture(near)
    assert camera_of(near).position()[2] < 0.65 * camera_of(far).position()[2]
    assert np.median(u_of(near)) < 0.8 * np.median(u_of(far))


def test_a_learnt_lens_helps_what_lies_above_the_sheet() -> None:
    now = taken(5.0)
    learnt = Foresight.of(now, None).lens_learnt()
    assert np.median(u_of(learnt)) < 0.8 * np.median(u_of(now))
