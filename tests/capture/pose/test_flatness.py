"""Bent sheets: seen, measured, taken out of the camera, and refused beyond a limit."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageOps

from scribe.capture.photo_file import read_photo
from scribe.capture.pose.orient import orient
from scribe.errors import ScribeError
from scribe.print_scale import PrintScale
from scribe.recipes.trace import trace
from scribe.source import PhotoSource
from tests.honesty.scenes import distance
from tests.scenes.photo import EXIF, ORIENTATION
from tests.scenes.scene import Scene, make_scene
from tests.scenes.spoil import Spoil, corner, curl, glare


@pytest.fixture(scope="module")
def scene() -> Scene:
    return make_scene("edge", 51, megapixels=4, tilt_deg=20.0, height=4.0, material="wood")


@pytest.fixture(scope="module")
def flat(scene: Scene, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return scene.write(tmp_path_factory.mktemp("flat"))


EXACT = PrintScale(1.0, 1.0, 1e-5, 1e-5, "true")


class Draws:
    """Draws that were settled beforehand."""

    def __init__(self, *values: float) -> None:
        self.values = list(values)

    def uniform(self, *_: float) -> float:
        return self.values.pop(0)

    def integers(self, *_: int) -> int:
        return 1


def spoiled(
    path: Path, scene: Scene, spoil: Spoil, folder: Path, *draws: float, told: bool = True
) -> Path:
    """The photo, upright. told: with the focal length that its file told."""
    stored = Image.open(path)
    tags = stored.getexif()
    tags.get_ifd(EXIF)
    tags[ORIENTATION] = 1
    picture = ImageOps.exif_transpose(stored.convert("RGB"))
    out = folder / "spoiled.jpg"
    made = spoil(np.asarray(picture), scene, Draws(*draws))
    Image.fromarray(made).save(out, quality=95, exif=tags if told else Image.Exif())
    return out


def test_a_flat_sheet_has_no_bend(flat: Path) -> None:
    assert orient(read_photo(flat)).bend_mm == 0.0


@pytest.mark.parametrize(
    ("sag", "turn", "told"), [(2.0, 0.3, True), (2.5, 1.6, False), (2.6, 2.7, True)]
)
def test_an_even_curl_is_seen_as_large_as_it_is(
    flat: Path, scene: Scene, tmp_path: Path, sag: float, turn: float, told: bool
) -> None:
    """z = sag s^2, s = 1 at half the sheet's diagonal. Over the ring of marks, the mean plane
    taken out, its range follows from the marks' places (worked out here from the formula). The
    ring of marks tells bend and lens apart only so far, and the prior pulls towards flat: two
    fifths may be missed. Half of the bend goes into U, which covers that.
    """
    seen = orient(read_photo(spoiled(flat, scene, curl, tmp_path, sag, turn, told=told)))
    points = seen.points[seen.used]
    wide, tall = scene.world.paper
    s = (points - np.array([wide, tall]) / 2.0) @ [np.cos(turn), np.sin(turn)]
    z = sag * (s / (np.hypot(wide, tall) / 2.0)) ** 2
    plane = np.column_stack([np.ones(len(z)), points])
    left = z - plane @ np.linalg.lstsq(plane, z, rcond=None)[0]
    assert seen.bend_mm == pytest.approx(np.ptp(left), rel=0.4)
    assert seen.noise_px < 0.1  # what is left is noise: the bend was taken out


def test_u_grows_with_the_bend(flat: Path, scene: Scene, tmp_path: Path) -> None:
    source = PhotoSource((flat,), "edge", height=4.0)
    level = trace(source)
    curled = trace(
        PhotoSource((spoiled(flat, scene, curl, tmp_path, 2.0, 0.3),), "edge", height=4.0)
    )
    assert level.outline.budget["bend"].max() == 0.0
    assert curled.outline.budget["bend"].max() > 0.05
    assert "sheet bent by" in curled.facts


def test_too_much_is_refused(flat: Path, scene: Scene, tmp_path: Path) -> None:
    with pytest.raises(ScribeError) as caught:
        orient(read_photo(spoiled(flat, scene, curl, tmp_path, 4.5, 0.3)))
    assert caught.value.kind == "sheet-bent"


@pytest.mark.parametrize("lift", [10.0, 25.0])
def test_a_lifted_corner_widens_u(flat: Path, scene: Scene, tmp_path: Path, lift: float) -> None:
    """Its marks are left out where they lie too far off; what they bent of the rest is in U."""
    lifted = spoiled(flat, scene, corner, tmp_path, lift)
    source = PhotoSource((lifted,), "edge", height=4.0, print_scale=EXACT)
    outline = trace(source).outline
    assert (distance(outline.points, scene.truth) < outline.U).mean() > 0.9
    assert np.median(outline.U) > 0.3


def test_pins_hidden_by_glare_are_refused(tmp_path: Path) -> None:
    """A lamp mirrored over the upper marks and the tips below them."""
    gauge = make_scene("gauge", 51, megapixels=3, tilt_deg=15.0, height=4.0, material="bright")
    path = gauge.write(tmp_path)
    hidden = spoiled(path, gauge, glare, tmp_path, 0.5, 58.0)
    with pytest.raises(ScribeError) as caught:
        trace(PhotoSource((hidden,), "gauge", height=4.0))
    assert caught.value.kind in ("gauge-pins-hidden", "gauge-not-found", "gauge-shadow")
