"""Focal length and orientation from Exif tags; what is not credible counts as missing."""

from __future__ import annotations

import numpy as np
import pytest

from scribe.capture import exif
from scribe.capture.exif import read_exif

SIZE = (4032, 3024)
DIAGONAL = 5040.0  # 4032, 3024: a 3-4-5 triangle times 1008


def test_equivalent_focal_length_by_hand() -> None:
    """28 mm on the 43.267 mm diagonal of 24 x 36: 28 / 43.267 x 5040 px = 3261.6 px."""
    read = read_exif({exif.FOCAL_LENGTH_35: 28}, SIZE)
    assert read.focal_px == pytest.approx(3261.6, abs=0.1)


def test_focal_length_and_sensor_by_hand() -> None:
    """4.25 mm at 715 px to the millimetre (18161 to the inch): 3038.75 px."""
    tags = {exif.FOCAL_LENGTH: 4.25, exif.PLANE_X_RESOLUTION: 715.0 * 25.4, exif.PLANE_UNIT: 2}
    assert read_exif(tags, SIZE).focal_px == pytest.approx(3038.75, abs=0.01)
    halved = read_exif({**tags, exif.PIXEL_WIDTH: 4032, exif.PIXEL_HEIGHT: 3024}, (2016, 1512))
    assert halved.focal_px == pytest.approx(3038.75 / 2, abs=0.01)


@pytest.mark.parametrize(
    "value", [0, -28, 1, 5000, float("nan"), float("inf"), "none", None, (1, 0)]
)
def test_not_credible_is_missing(value: object) -> None:
    assert read_exif({exif.FOCAL_LENGTH_35: value}, SIZE).focal_px is None


def test_no_tags_at_all() -> None:
    read = read_exif({}, SIZE)
    assert (read.orientation, read.focal_px, read.camera, read.same_frame) == (1, None, "", True)


def test_a_cropped_photo_is_noticed_by_its_shape() -> None:
    tags = {exif.FOCAL_LENGTH_35: 28, exif.PIXEL_WIDTH: 4032, exif.PIXEL_HEIGHT: 3024}
    cropped = read_exif(tags, (3024, 3024))
    assert (cropped.same_frame, cropped.focal_px) == (False, None)
    turned = read_exif(tags, (3024, 4032))
    assert turned.same_frame
    assert turned.focal_px is not None


@pytest.mark.parametrize("value", [0, 9, "6", None])
def test_orientation_out_of_range_is_upright(value: object) -> None:
    assert read_exif({exif.ORIENTATION: value}, SIZE).orientation == 1


def test_zero_denominator() -> None:
    from PIL.TiffImagePlugin import IFDRational

    assert read_exif({exif.FOCAL_LENGTH_35: IFDRational(28, 0)}, SIZE).focal_px is None
    assert np.isfinite(read_exif({exif.FOCAL_LENGTH_35: IFDRational(28, 1)}, SIZE).focal_px or 0)
