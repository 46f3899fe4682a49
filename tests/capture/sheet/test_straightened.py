"""A page scanned by a program is no photo."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from scribe.capture.photo_file import read_photo
from scribe.capture.pose.camera import lifted
from scribe.capture.pose.orient import orient
from scribe.capture.sheet.straightened import refuse_straightened
from scribe.errors import ScribeError
from scribe.recipes.look import look
from scribe.source import PhotoSource
from tests.scenes.scene import Scene, make_scene

WIDE, TALL = 1050, 1485  # A4 at 5 px to a mm


def scanned(scene: Scene, folder: Path, margin: float) -> Path:
    """The page of a photo straightened, with `margin` px of the table around it."""
    page = np.array([[0.0, 297.0], [210.0, 297.0], [210.0, 0.0], [0.0, 0.0]])
    corners = scene.camera.project(lifted(page, 0.0)).astype(np.float32)
    flat = np.array([[0, 0], [WIDE, 0], [WIDE, TALL], [0, TALL]], np.float32) + margin
    by = cv2.getPerspectiveTransform(corners, flat.astype(np.float32))
    size = (WIDE + round(2 * margin), TALL + round(2 * margin))
    path = folder / "scanned.png"
    Image.fromarray(cv2.warpPerspective(np.asarray(scene.pixels), by, size)).save(path)
    return path


@pytest.fixture(scope="module")
def scene() -> Scene:
    return make_scene("line", 3, megapixels=2, height=0.0, material="plain", tilt_deg=12.0)


def test_a_scanned_page_is_refused(scene: Scene, tmp_path: Path) -> None:
    with pytest.raises(ScribeError) as refusal:
        refuse_straightened(orient(read_photo(scanned(scene, tmp_path, 0.0))))
    assert refusal.value.kind == "photo-straightened"


def test_what_is_drawn_on_the_sheet_itself_is_where_the_picture_shows_it(
    scene: Scene, tmp_path: Path
) -> None:
    path = scanned(scene, tmp_path, 0.0)
    look(path, PhotoSource((path,), "line", height=0.0), lambda _: None)
    with pytest.raises(ScribeError) as refusal:
        look(path, PhotoSource((path,), "line", height=4.0), lambda _: None)
    assert refusal.value.kind == "photo-straightened"


def test_a_photo_is_not(scene: Scene, tmp_path: Path) -> None:
    refuse_straightened(orient(read_photo(scene.write(tmp_path))))


def test_a_page_that_does_not_fill_the_picture_is_not(scene: Scene, tmp_path: Path) -> None:
    """Squarely seen from above a sheet may look so: 60 px of 1605 are more than 1.5 %."""
    refuse_straightened(orient(read_photo(scanned(scene, tmp_path, 60.0))))
