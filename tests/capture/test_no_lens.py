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


def test_photo_of_a_photo_is_refused(tmp_path: Path) -> None:
    path = make_scene("line", 3, megapixels=3, height=0.0, material="plain").write(tmp_path)
    stored = Image.open(path)
    tags = stored.getexif()
    picture = np.asarray(ImageOps.exif_transpose(stored.convert("RGB")))
    tags[0x0112] = 1
    height, width = picture.shape[:2]
    # Sheared by a tenth: no camera with square pixels takes such a picture near its axis.
    turn = np.array([[0.9, 0.1, 0.0], [0.0, 0.9, 0.05 * height]])
    sheared = cv2.warpAffine(picture, turn, (width, height), flags=cv2.INTER_AREA)
    Image.fromarray(sheared).save(tmp_path / "again.jpg", quality=95, exif=tags)
    with pytest.raises(ScribeError) as refusal:
        orient(read_photo(tmp_path / "again.jpg"))
    assert refusal.value.kind in ("lens-not-credible", "sheet-bent")
