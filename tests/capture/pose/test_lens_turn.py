"""A lens that is turned and resized draws what the turned and resized picture shows."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image, ImageOps

from scribe.capture.pose.lens import Lens
from scribe.capture.pose.lens_turn import resized, stored_size, upright_from_stored

STORED = (40, 30)
LENS = Lens(50.0, 17.3, 12.9, -0.2, 0.07, 0.004, -0.006, 0.01)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_turn_is_that_of_an_independent_library(orientation: int) -> None:
    """A pixel of a picture, turned upright by Pillow, lies where the turned lens puts it."""
    matrix, shift = upright_from_stored(orientation, STORED)
    upright = Lens.of(matrix @ LENS.values() + shift)
    picture = np.arange(STORED[0] * STORED[1], dtype=np.int32).reshape(STORED[1], STORED[0])
    image = Image.fromarray(picture.astype(np.uint16))
    exif = image.getexif()
    exif[0x0112] = orientation
    turned = np.asarray(ImageOps.exif_transpose(image))
    assert stored_size((turned.shape[1], turned.shape[0]), orientation) == STORED
    turn = matrix[1:3, 1:3]
    for x, y in ((0, 0), (39, 0), (7, 21), (39, 29)):
        at = turn @ np.array([x, y]) + shift[1:3]
        assert turned[round(at[1]), round(at[0])] == picture[y, x]
    directions = np.array([[0.1, 0.2], [-0.3, 0.15], [0.25, -0.2]])
    there = LENS.pixels(directions) @ turn.T + shift[1:3]
    assert upright.pixels(directions @ turn.T) == pytest.approx(there, abs=1e-9)


def test_a_resized_picture_keeps_its_edges() -> None:
    matrix, shift = resized(0.5)
    half = Lens.of(matrix @ LENS.values() + shift)
    directions = np.array([[0.1, 0.2], [-0.3, 0.15]])
    there = (LENS.pixels(directions) + 0.5) * 0.5 - 0.5
    assert half.pixels(directions) == pytest.approx(there, abs=1e-9)
