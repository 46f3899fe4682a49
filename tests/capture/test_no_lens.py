"""A picture of a picture: no lens explains where its marks lie, and U or a refusal says so."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image, ImageOps

from scribe.capture.camera import LensPrior, lens_prior
from scribe.capture.lens import Lens
from scribe.capture.lens_odd import refuse_untold
from scribe.capture.orient import orient
from scribe.capture.photo import read_photo
from scribe.errors import ScribeError
from tests.scenes.scene import make_scene
from tests.scenes.spoil import SPOILS


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


def test_a_bend_and_a_lens_that_nobody_told_stand_in_for_each_other(tmp_path: Path) -> None:
    """Where the file tells its focal length the same photo is measured or refused by its bend."""
    scene = make_scene("line", 8000, megapixels=3, height=0.0, material="plain")
    curled = SPOILS["curl"](np.asarray(scene.pixels), scene, np.random.default_rng([8000, 5]))
    path = tmp_path / "curled.jpg"
    Image.fromarray(curled).save(path, quality=95)
    with pytest.raises(ScribeError) as refusal:
        orient(read_photo(path))
    assert refusal.value.kind == "sheet-bent"
    assert "focal length" in str(refusal.value)


def test_radial_terms_are_judged_together() -> None:
    """x^2 - 2 x^4 + x^6 is 0 at 1 and never above 4/27: large terms that do little.

    By hand against each one's sd of 0.1, 0.1 and 0.05; and a focal length and a centre off by
    one sd each, which count as ever.
    """
    sd = np.array([120.0, 40.0, 40.0, 0.1, 0.1, 2e-3, 2e-3, 0.05])
    prior = LensPrior(Lens(3000.0, 2000.0, 1500.0), np.diag(sd**2))
    odd = Lens(3000.0, 2000.0, 1500.0, k1=1.0, k2=-2.0, k3=1.0)
    assert prior.distance2(odd) == pytest.approx(10.0**2 + 20.0**2 + 20.0**2)
    r2 = np.linspace(0.25, 1.0, 8) ** 2
    by_hand = (r2 - 2.0 * r2**2 + r2**3) ** 2 / (0.01 * r2**2 + 0.01 * r2**4 + 0.0025 * r2**6)
    assert prior.oddity2(odd, 1.0) == pytest.approx(by_hand.max())
    assert by_hand.max() < 100.0
    aside = Lens(3120.0, 2040.0, 1500.0)
    assert prior.oddity2(aside, 1.0) == pytest.approx(2.0)


def test_no_lens_sees_so_wide(tmp_path: Path) -> None:
    """10 mm as 35 mm film has it is 0.29 of the long side (34.6 mm of a 4 : 3 picture)."""
    photo = read_photo(
        make_scene("line", 3, megapixels=0.5, height=0.0, material="plain").write(tmp_path)
    )
    prior = lens_prior(replace(photo.exif, focal_px=None), photo.size)
    long_side = max(photo.size)
    refuse_untold(photo, prior, replace(prior.mean, f=0.4 * long_side), 0.6, bent=False)
    with pytest.raises(ScribeError) as refusal:
        refuse_untold(photo, prior, replace(prior.mean, f=0.2 * long_side), 0.6, bent=False)
    assert refusal.value.kind == "lens-not-credible"
