"""The lens of several photos as a prediction: truth in its covariance, and what it is good for."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.camera_file import KnownLens
from scribe.capture.exif import Exif
from scribe.capture.pose.calibrate import Calibrated
from scribe.capture.pose.camera import Camera
from scribe.capture.pose.lens import Lens
from scribe.capture.pose.lens_known import known_prior
from scribe.capture.pose.lens_prior import LensPrior, lens_prior
from tests.capture.lens_world import (
    EXIF,
    MARKS,
    NOISE_PX,
    SIZE,
    above_the_sheet,
    another_photo,
    drawn,
    hand_held,
    learnt,
    learnt_of_many,
    prior_of,
    seen_by,
)

TILTS = (4.0, 20.0, 25.0, 30.0, 30.0, 25.0, 35.0)


def test_truth_lies_within_the_learnt_covariance() -> None:
    """40 lenses: the mean of eight squared standard errors is 8, give or take sqrt(16 / 40).

    Four of those above. Below there is no bound to speak of: the allowance for stabilisation is
    wider than these worlds' own, so that the principal point lies closer than predicted.
    """
    rng = np.random.default_rng(21)
    prior = lens_prior(EXIF, SIZE)
    away2, focal = [], []
    for _ in range(40):
        lens = drawn(rng, prior)
        found = learnt(rng, lens, TILTS)
        away2.append(LensPrior(found.lens, found.covariance).distance2(lens))
        focal.append((found.lens.f - lens.f) / np.sqrt(found.covariance[0, 0]))
        assert not found.strangers()
    assert 2.0 < np.mean(away2) < 8.0 + 4.0 * np.sqrt(16 / 40)
    # The focal length alone: its variance over the predicted one, chi-square of 40.
    assert 0.4 < np.mean(np.square(focal)) < 1.0 + 4.0 * np.sqrt(2 / 40)


def test_photos_that_pull_apart_tell_less_than_their_marks_noise() -> None:
    """k1 scatters by 0.003 from photo to photo: the marks' noise explains a fifth of the error.

    The mean of eight squared standard errors over 8 is 1; in 12 worlds, one parameter being
    off, it scatters by sqrt(2 / 12 + 2 / (7 x 12)) = 0.44; four of those. By the noise alone it
    is 5.1 here.
    """
    rng = np.random.default_rng(26)
    lens = Lens(3050.0, 2010.0, 1500.0, k1=0.05, k2=-0.06)
    away2 = []
    for _ in range(12):
        found = learnt_of_many(rng, lens, TILTS, 0.003)
        away2.append(LensPrior(found.lens, found.covariance).distance2(lens) / 8.0)
    assert np.mean(away2) < 1.0 + 4.0 * 0.44


def test_square_on_photos_leave_the_focal_length_open() -> None:
    rng = np.random.default_rng(22)
    lens = Lens(3050.0, 2010.0, 1500.0, k1=0.05, k2=-0.06)
    flat, tilted = (learnt(rng, lens, tilts) for tilts in ((1.0,) * 7, TILTS))
    assert flat.covariance[0, 0] > 25.0 * tilted.covariance[0, 0]


def test_a_known_lens_makes_what_lies_above_the_sheet_better_known() -> None:
    """6 mm above the sheet: the truth stays within U, and U falls well below a lone photo's.

    The new photo has its own breathing and shift of the sensor, as the allowance says. 60
    photos, two coordinates, five points of a photo counted as one: the mean squared standard
    error scatters by sqrt(2 / 120) = 0.13; four of those.
    """
    rng = np.random.default_rng(23)
    usual = lens_prior(EXIF, SIZE)
    ratios, alone, helped = [], [], []
    for _ in range(6):
        lens = drawn(rng, usual)
        prior = prior_of(learnt(rng, lens, TILTS), len(TILTS))
        for _ in range(10):
            true, pixels = another_photo(rng, lens)
            alone.append(above_the_sheet(true, pixels, usual)[1].max())
            error, u = above_the_sheet(true, pixels, prior)
            helped.append(u.max())
            ratios += list(((error / u) ** 2).mean(axis=0))
    assert np.mean(ratios) < 1.0 + 4.0 * np.sqrt(2 / 120)
    assert np.median(helped) < 0.6 * np.median(alone)
    assert np.median(helped) < 0.015  # mm, u


def test_a_lens_is_known_again_in_a_smaller_photo_held_another_way() -> None:
    """Half the size and turned by Exif: marks seen so fit with the prior's own mean."""
    lens = Lens(3050.0, 2010.0, 1490.0, k1=0.05, k2=-0.06, p1=4e-4, p2=-7e-4)
    values, spread = lens.values(), np.diag(np.full(8, 1e-12))
    known = KnownLens("Some phone", SIZE, values, spread, 7, NOISE_PX)
    upright = (SIZE[1] // 2, SIZE[0] // 2)
    prior = known_prior(known, Exif(6, 1525.0, "Some phone", True), upright, "photo")
    stored = hand_held(np.random.default_rng(24), lens, 20.0)
    x, y = ((seen_by(stored, MARKS) + 0.5) / 2.0 - 0.5).T
    turned = np.column_stack([upright[0] - 1 - y, x])  # tag value 6: the top lies on the right
    about_axis = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    again = Camera(
        prior.mean,
        about_axis @ stored.rotation,
        about_axis @ stored.translation,
        np.zeros((14, 14)),
    )
    assert again.pixels(MARKS) == pytest.approx(turned, abs=1e-6)
    sd = np.sqrt(np.diag(prior.covariance))
    assert sd[0] / prior.mean.f == pytest.approx(0.003, rel=1e-3)  # breathing, nothing else
    assert sd[1] == sd[2] == pytest.approx(0.004 * max(upright), rel=1e-3)


def test_corners_where_the_lens_model_ends_are_not_known() -> None:
    """A barrel so strong that no direction falls into the corners: r + k1 r^3 turns before."""
    wide = Lens(1500.0, 2015.5, 1511.5, k1=-0.33)
    tame = Lens(3100.0, 2015.5, 1511.5, k1=-0.05)
    cov = np.diag([4.0, 9.0, 9.0, 1e-6, 1e-6, 1e-8, 1e-8, 1e-6])
    none = np.zeros(0)
    assert Calibrated(wide, cov, (), (), 0.1, none, none).corner_u(SIZE) == np.inf
    assert Calibrated(tame, cov, (), (), 0.1, none, none).corner_u(SIZE) < 10.0
