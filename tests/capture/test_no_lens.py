"""A picture of a picture: no lens explains where its marks lie, and U or a refusal says so."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image, ImageOps

from scribe.capture.orient import orient
from scribe.capture.photo import read_photo
from scribe.errors import ScribeError
from tests.scenes.scene import make_scene


def copied(path: Path, shear: float) -> Path:
    """The photo drawn anew at 9/10 of its size, sheared, with the tags it had."""
    stored = Image.open(path)
    tags = stored.getexif()
    picture = np.asarray(ImageOps.exif_transpose(stored.convert("RGB")))
    tags[0x0112] = 1
    height, width = picture.shape[:2]
    turn = np.array([[0.9, shear, 0.05 * width], [0.0, 0.9, 0.05 * height]])
    again = cv2.warpAffine(picture, turn, (width, height), flags=cv2.INTER_AREA)
    out = path.with_name(f"again-{shear}.jpg")
    Image.fromarray(again).save(out, quality=95, exif=tags)
    return out


def test_a_picture_that_no_lens_takes_is_refused(tmp_path: Path) -> None:
    path = make_scene("line", 3, megapixels=3, height=0.0, material="plain").write(tmp_path)
    orient(read_photo(copied(path, 0.0)))  # the same picture, drawn smaller, is a photo
    # Sheared by a tenth: no camera with square pixels takes such a picture near its axis.
    with pytest.raises(ScribeError) as refusal:
        orient(read_photo(copied(path, 0.1)))
    assert refusal.value.kind in ("lens-not-credible", "sheet-bent")
