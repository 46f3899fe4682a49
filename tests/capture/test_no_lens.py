"""A picture of a picture: no lens explains where its marks lie, and U or a refusal says so."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
import pytest
from PIL import Image, ImageOps

from scribe.capture.photo_file import read_photo
from scribe.capture.pose.aspect import likelier_by
from scribe.capture.pose.lens import Lens
from scribe.capture.pose.lens_odd import refuse_untold
from scribe.capture.pose.lens_prior import LensPrior, lens_prior
from scribe.capture.pose.orient import orient
from scribe.errors import ScribeError
from scribe.print_scale import UNCHECKED_U
from tests.capture.pose.test_flatness import Draws
from tests.scenes.photo import EXIF
from tests.scenes.scene import make_scene
from tests.scenes.spoil import SPOILS

Array = npt.NDArray[np.uint8]


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


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Path:
    scene = make_scene("line", 3, megapixels=2, height=0.0, material="plain")
    return scene.write(tmp_path_factory.mktemp("plain"))


def test_a_picture_that_no_lens_takes_is_refused(plain: Path) -> None:
    orient(read_photo(copied(plain, 0.0)))  # the same picture, drawn smaller, is a photo
    # Sheared by a tenth: no camera with square pixels takes such a picture near its axis.
    with pytest.raises(ScribeError) as refusal:
        orient(read_photo(copied(plain, 0.1)))
    assert refusal.value.kind in ("lens-not-credible", "sheet-bent")


def refused_untold(curled: Array, folder: Path) -> None:
    """A curled sheet in a photo that doesn't tell its focal length is refused for that."""
    path = folder / "curled.jpg"
    Image.fromarray(curled).save(path, quality=95)
    with pytest.raises(ScribeError) as refusal:
        orient(read_photo(path))
    assert refusal.value.kind == "sheet-bent"
    assert "focal length" in str(refusal.value)


def test_a_bend_and_a_lens_that_nobody_told_stand_in_for_each_other(tmp_path: Path) -> None:
    """Where the file tells its focal length the same photo is measured or refused by its bend."""
    scene = make_scene("line", 8000, megapixels=3, height=0.0, material="plain")
    draws = np.random.default_rng([8000, 5])
    refused_untold(SPOILS["curl"](np.asarray(scene.pixels), scene, draws), tmp_path)


@pytest.mark.parametrize(("sag", "turn"), [(3.0, 0.0), (2.0, 1.4)])
def test_no_untold_lens_stands_in_for_a_curl(tmp_path: Path, sag: float, turn: float) -> None:
    """Too little for a bend that is sure of itself, too much for marks that a lens explains: what
    they miss together is more than lenses leave. z = sag s^2, s = 1 at half the diagonal.
    """
    scene = make_scene("line", 8001, megapixels=4, height=0.0, material="plain", tilt_deg=6.0)
    draws = Draws(sag, turn)
    refused_untold(SPOILS["curl"](np.asarray(scene.pixels), scene, draws), tmp_path)


def told_another(path: Path, factor: float) -> Path:
    """The photo with a focal length in its file that is `factor` times the true one."""
    stored = Image.open(path)
    tags = stored.getexif()
    tags.get_ifd(EXIF)[0xA405] *= factor
    out = path.with_name(f"told-{factor}.jpg")
    stored.save(out, quality=95, exif=tags)
    return out


def test_a_crop_makes_a_lens_longer_and_nothing_makes_it_wider(tmp_path: Path) -> None:
    """The file of a digital zoom may tell the lens's own focal length, which is too short."""
    scene = make_scene("line", 3, megapixels=2, height=0.0, material="plain", tilt_deg=20.0)
    path = scene.write(tmp_path)
    true = orient(read_photo(path)).camera.lens.f
    zoomed = orient(read_photo(told_another(path, 0.6)))
    assert zoomed.camera.lens.f == pytest.approx(true, rel=0.03)
    with pytest.raises(ScribeError) as refusal:
        orient(read_photo(told_another(path, 1.5)))
    assert refusal.value.kind == "lens-not-credible"
    assert "wider" in str(refusal.value)


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


def test_no_lens_sees_so_wide(plain: Path) -> None:
    """10 mm as 35 mm film has it is 0.29 of the long side (34.6 mm of a 4 : 3 picture)."""
    seen = orient(read_photo(plain))
    photo, camera, points = seen.photo, seen.camera, seen.points[seen.used]
    prior = lens_prior(replace(photo.exif, focal_px=None), photo.size)
    refuse_untold(photo, prior, camera, points, bent=False)
    wide = replace(camera, lens=replace(camera.lens, f=0.2 * max(photo.size)))
    with pytest.raises(ScribeError) as refusal:
        refuse_untold(photo, prior, wide, points, bent=False)
    assert refusal.value.kind == "lens-not-credible"


def test_an_aspect_that_the_lens_asks_for() -> None:
    """By hand: a lens 100 px off its centre, sd 40 px, that an aspect of 0.002 moves by 20 px:
    100 - 10 000 a, at least in (100 - 10 000 a)^2 / 40^2 + a^2 / 0.004^2.
    """
    sd = np.array([120.0, 40.0, 40.0, 0.1, 0.1, 2e-3, 2e-3, 0.05])
    mean = Lens(3000.0, 2000.0, 1500.0)
    prior = LensPrior(mean, np.diag(sd**2))
    plain, stretched = replace(mean, cx=2100.0), replace(mean, cx=2080.0)
    by_hand = 100.0 * 10_000.0 / 40.0**2 / (10_000.0**2 / 40.0**2 + 1.0 / 0.004**2)
    assert likelier_by(prior, 0.004, plain, stretched) == pytest.approx(by_hand, rel=1e-4)
    assert likelier_by(prior, 0.004, mean, stretched, already=0.003) < 0.0  # too much already


def test_a_page_printed_narrower_is_likelier_than_an_odd_lens(tmp_path: Path) -> None:
    """Nearly squarely seen and 0.9 % off in its aspect, of which nobody knew: refused for its lens
    by who takes the print for exact, and measured by who doesn't.
    """
    scene = make_scene(
        "line", 9101, megapixels=3, height=0.0, material="plain", tilt_deg=6.0,
        print_scale=(1.0045, 0.9955),
    )  # fmt: skip
    photo = read_photo(scene.write(tmp_path))
    with pytest.raises(ScribeError) as refusal:
        orient(photo)
    assert refusal.value.kind == "lens-not-credible"
    seen = orient(photo, aspect_u=UNCHECKED_U * 2**0.5)
    assert seen.scale[0] / seen.scale[1] == pytest.approx(1.009, abs=0.004)


def test_an_aspect_on_which_the_focal_length_hangs(tmp_path: Path) -> None:
    """Seen from 3 degrees the focal length hangs on the aspect so much that one step misses."""
    scene = make_scene(
        "line", 3, megapixels=3, height=0.0, material="plain", tilt_deg=3.0,
        print_scale=(1.0025, 0.9975),
    )  # fmt: skip
    photo = read_photo(scene.write(tmp_path))
    seen = orient(photo, aspect_u=UNCHECKED_U * 2**0.5)
    assert seen.camera.lens.f == pytest.approx(scene.camera.f_px, rel=0.1)
