"""The camera solved from marks: against OpenCV, and its covariance as a prediction."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from scribe.capture.exif import Exif
from scribe.capture.pose.camera import Camera, lifted, resect, rotation_by
from scribe.capture.pose.lens import Lens
from scribe.capture.pose.lens_prior import LensPrior, lens_prior
from scribe.target import window_sheet
from tests.capture.known import plane_u

SIZE = (4032, 3024)
SHEET = window_sheet("A4", 1)
EXIF = Exif(1, 3100.0, "", True)
WINDOW = np.array([[40.0, 60.0], [170.0, 60.0], [105.0, 150.0], [40.0, 240.0], [170.0, 240.0]])


def camera(rng: np.random.Generator, lens: Lens) -> Camera:
    """A hand-held view of the whole sheet, tilted by 5 to 25 degrees, in any direction."""
    tilt, azimuth = np.radians(rng.uniform(5, 25)), rng.uniform(0, 2 * np.pi)
    axis = np.array([np.cos(azimuth), np.sin(azimuth), 0.0])
    # the sheet's long side lies along the photo's
    down = rotation_by(np.array([0.0, 0.0, np.pi / 2])) @ np.diag([1.0, -1.0, -1.0])
    rotation = rotation_by(tilt * axis) @ down
    centre = np.array([105.0, 148.5, 0.0])
    return Camera(lens, rotation, np.array([0, 0, 330.0]) - rotation @ centre, np.zeros((14, 14)))


def drawn_lens(rng: np.random.Generator, prior: LensPrior) -> Lens:
    return Lens.of(
        prior.mean.values() + np.sqrt(np.diag(prior.covariance)) * rng.normal(size=8).clip(-2, 2)
    )


def test_truth_lies_within_the_covariance() -> None:
    """150 worlds, lens drawn from the prior, marks with 0.1 px of noise, points 6 mm up.

    The squared error over its predicted variance has mean 1; over 150 worlds x 2 coordinates
    (the five points of one world are correlated, so they count once) its mean scatters by
    sqrt(2 / 300) = 0.082: four of those, and a little for the clipped prior.
    """
    rng = np.random.default_rng(11)
    prior = lens_prior(EXIF, SIZE)
    ratios, worst = [], []
    for _ in range(150):
        true = camera(rng, drawn_lens(rng, prior))
        noisy = true.pixels(lifted(SHEET.crossings, 0.0)) + rng.normal(
            0.0, 0.1, SHEET.crossings.shape
        )
        u = np.full(len(noisy), 0.1)
        start = Camera(prior.mean, true.rotation, true.translation, np.zeros((14, 14)))
        solved = resect(SHEET.crossings, noisy, u, prior, start)
        assert solved.converged
        seen = true.pixels(lifted(WINDOW, 6.0))
        error = solved.camera.on_plane(seen, 6.0) - WINDOW
        for axis in range(2):
            normals = np.tile(np.eye(2)[axis], (len(WINDOW), 1))
            predicted = plane_u(solved.camera, WINDOW, normals, 6.0)
            ratios.append(((error[:, axis] / predicted) ** 2).mean())
            worst.append(predicted.max())
    assert np.mean(ratios) == pytest.approx(1.0, abs=0.4)
    # what the docs promise of such a photo: below a tenth of a millimetre, 6 mm above the sheet
    assert np.median(worst) < 0.1


def test_noise_is_read_off_the_residuals() -> None:
    rng = np.random.default_rng(5)
    prior = lens_prior(EXIF, SIZE)
    true = camera(rng, prior.mean)
    pixels = true.pixels(lifted(SHEET.crossings, 0.0))
    pixels += rng.normal(0.0, 0.3, pixels.shape)
    # told 0.05 px, the marks scatter by 0.3: 188 values give it to 5 %
    solved = resect(SHEET.crossings, pixels, np.full(len(pixels), 0.05), prior, true)
    assert solved.noise_px == pytest.approx(0.3, rel=0.2)


def test_wrong_marks_are_doubted_and_do_no_harm() -> None:
    rng = np.random.default_rng(6)
    prior = lens_prior(EXIF, SIZE)
    true = camera(rng, prior.mean)
    pixels = true.pixels(lifted(SHEET.crossings, 0.0)) + rng.normal(0, 0.1, (94, 2))
    pixels[[5, 40, 77]] += [[4.0, -3.0], [-6.0, 2.0], [3.0, 8.0]]
    solved = resect(SHEET.crossings, pixels, np.full(94, 0.1), prior, true)
    assert set(np.argsort(solved.weights)[:3]) == {5, 40, 77}
    back = solved.camera.on_plane(true.pixels(lifted(WINDOW, 0.0)), 0.0)
    assert back == pytest.approx(WINDOW, abs=0.03)


def test_pose_as_opencv_solves_it() -> None:
    """With the lens held by a tight prior the pose is OpenCV's (iterative, same residuals)."""
    rng = np.random.default_rng(7)
    lens = Lens(3050.0, 2010.0, 1500.0, k1=0.05, k2=-0.06)
    true = camera(rng, lens)
    pixels = true.pixels(lifted(SHEET.crossings, 0.0)) + rng.normal(0, 0.2, (94, 2))
    held = LensPrior(lens, np.diag((1e-9 * np.maximum(np.abs(lens.values()), 1.0)) ** 2))
    ours = resect(SHEET.crossings, pixels, np.full(94, 0.2), held, true).camera
    matrix = np.array([[lens.f, 0, lens.cx], [0, lens.f, lens.cy], [0, 0, 1]])
    terms = np.array([lens.k1, lens.k2, 0.0, 0.0, 0.0])
    _, turn, shift = cv2.solvePnP(lifted(SHEET.crossings, 0.0), pixels, matrix, terms)
    turn, shift = cv2.solvePnPRefineLM(
        lifted(SHEET.crossings, 0.0), pixels, matrix, terms, turn, shift,
        (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_MAX_ITER, 200, 1e-14),
    )  # fmt: skip
    # Huber doubts a few marks a little, OpenCV doesn't: a few hundredths of the scatter.
    assert ours.translation == pytest.approx(shift.ravel(), abs=0.02)
    assert ours.rotation == pytest.approx(cv2.Rodrigues(turn)[0], abs=5e-5)


def test_lens_as_opencv_calibrates_it() -> None:
    """Ten views solved by OpenCV together give the lens; one view with priors agrees within U."""
    rng = np.random.default_rng(8)
    lens = Lens(3050.0, 2010.0, 1500.0, k1=0.05, k2=-0.06)
    views = [camera(rng, lens) for _ in range(10)]
    flat = lifted(SHEET.crossings, 0.0).astype(np.float32)
    seen = [view.pixels(flat) + rng.normal(0, 0.05, (94, 2)) for view in views]
    matrix = np.array([[3100.0, 0, 2015.5], [0, 3100.0, 1511.5], [0, 0, 1]])
    flags = (
        cv2.CALIB_USE_INTRINSIC_GUESS | cv2.CALIB_FIX_ASPECT_RATIO | cv2.CALIB_ZERO_TANGENT_DIST
        | cv2.CALIB_FIX_K3
    )  # fmt: skip
    _, matrix, terms, _, _ = cv2.calibrateCamera(
        [flat] * 10, [s.astype(np.float32) for s in seen], SIZE, matrix, np.zeros(5), flags=flags
    )
    prior = lens_prior(EXIF, SIZE)
    start = Camera(prior.mean, views[0].rotation, views[0].translation, np.zeros((14, 14)))
    ours = resect(SHEET.crossings, seen[0], np.full(94, 0.05), prior, start).camera
    sd = np.sqrt(np.diag(ours.covariance))
    theirs = [matrix[0, 0], matrix[0, 2], matrix[1, 2], terms.ravel()[0], terms.ravel()[1]]
    for name, value, mine, u in zip(
        ("f", "cx", "cy", "k1", "k2"), theirs, ours.lens.values(), sd, strict=False
    ):
        assert abs(mine - value) < 3 * u, name


def test_a_missing_focal_length_is_a_wide_prior() -> None:
    known, unknown = lens_prior(EXIF, SIZE), lens_prior(Exif(1, None, "", True), SIZE)
    cropped = lens_prior(Exif(1, None, "", False), SIZE)
    assert known.covariance[0, 0] ** 0.5 / known.mean.f == pytest.approx(0.04)
    assert unknown.covariance[0, 0] ** 0.5 / unknown.mean.f > 0.3
    assert (
        cropped.covariance[1, 1] ** 0.5
        > 5 * unknown.covariance[1, 1] ** 0.5
        > 5 * known.covariance[1, 1] ** 0.5
    )
    assert known.mean.cx == (SIZE[0] - 1) / 2
