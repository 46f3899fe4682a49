"""Heights and slopes of one random surface: their covariances belong together."""

from __future__ import annotations

import numpy as np

from scribe.geom.soundings import Heights, Slopes

PLACES = np.array([0.0, 120.0, 200.0, 450.0, 700.0, 730.0])


def gaussian(apart: np.ndarray) -> np.ndarray:
    """A surface of 2 mm that changes over 150 mm."""
    return np.asarray(4.0 * np.exp(-0.5 * (apart / 150.0) ** 2))[None]


def test_slopes_covary_as_the_heights_they_are_made_of() -> None:
    """A slope is a row of D times the heights, so that its covariance is D C D^T."""
    heights, slopes = Heights(PLACES), Slopes(PLACES[:-1], PLACES[1:])
    steps = np.diff(PLACES)
    d = (np.eye(6)[1:] - np.eye(6)[:-1]) / steps[:, None]
    expected = d @ heights.covariance(heights, gaussian)[0] @ d.T
    np.testing.assert_allclose(slopes.covariance(slopes, gaussian)[0], expected, atol=1e-15)
    np.testing.assert_allclose(slopes.variance(gaussian)[0], np.diag(expected), atol=1e-15)
    np.testing.assert_allclose(
        slopes[:2].covariance(slopes[3:], gaussian)[0], expected[:2, 3:], atol=1e-15
    )


def test_a_straight_line_has_two_free_numbers_in_heights_and_one_in_slopes() -> None:
    heights, slopes = Heights(PLACES), Slopes(PLACES[:-1], PLACES[1:])
    line = 3.0 + 0.01 * PLACES
    left = line - heights.trend(heights) @ np.linalg.lstsq(heights.trend(heights), line)[0]
    np.testing.assert_allclose(left, 0.0, atol=1e-12)
    np.testing.assert_allclose(np.diff(line) / np.diff(PLACES), slopes.trend(slopes)[:, 0] * 0.01)
