"""Photos in: formats, depth, orientation, damage, and linear light."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageOps

from scribe.capture.photo import Photo, colour_at, linear_table
from scribe.capture.photo_file import read_photo
from scribe.errors import ScribeError


def picture(seed: int = 0, size: tuple[int, int] = (64, 48)) -> Image.Image:
    """Smooth enough for JPEG to keep, different in every corner."""
    width, height = size
    y, x = np.mgrid[0:height, 0:width]
    grey = 40 + 150 * x / width + 50 * y / height + 10 * np.sin(x / 5 + seed)
    return Image.fromarray(grey.astype(np.uint8))


def saved(tmp_path: Path, image: Image.Image, name: str, **options: object) -> Path:
    path = tmp_path / name
    image.save(path, **options)
    return path


def refused(path: Path) -> ScribeError:
    with pytest.raises(ScribeError) as caught:
        read_photo(path)
    return caught.value


@pytest.mark.parametrize(
    ("name", "mode"),
    [
        *[("a.jpg", mode) for mode in ("L", "RGB", "CMYK")],
        *[("a.png", mode) for mode in ("L", "RGB", "RGBA")],
        *[("a.tif", mode) for mode in ("L", "RGB", "RGBA", "CMYK")],
        *[("a.heic", mode) for mode in ("L", "RGB", "RGBA")],
    ],
)
def test_formats_and_modes(tmp_path: Path, name: str, mode: str) -> None:
    """Every readable combination gives the grey picture back, within JPEG's and HEIC's loss."""
    import pillow_heif

    pillow_heif.register_heif_opener()
    image = picture()
    photo = read_photo(saved(tmp_path, image.convert(mode), name))
    assert photo.grey.dtype == np.uint8
    difference = photo.grey.astype(float) - np.asarray(image, float)
    assert np.sqrt((difference**2).mean()) < 3.0


def coloured(size: tuple[int, int] = (64, 48)) -> Image.Image:
    """Red grows to the right, green downwards; blue is the same all over."""
    width, height = size
    y, x = np.mgrid[0:height, 0:width]
    planes = [40 + 150 * x / width, 40 + 150 * y / height, np.full((height, width), 90)]
    return Image.fromarray(np.stack(planes, axis=-1).astype(np.uint8))


@pytest.mark.parametrize("name", ["a.jpg", "a.png", "a.tif", "a.heic"])
def test_colours_lie_where_the_grey_picture_has_them(tmp_path: Path, name: str) -> None:
    """Half as large, each value in the middle of the four it stands for."""
    import pillow_heif

    pillow_heif.register_heif_opener()
    photo = read_photo(saved(tmp_path, coloured(), name))
    assert photo.colours is not None
    assert photo.colours.shape == (3, 24, 32)
    at = np.array([[20.0, 10.0], [41.0, 33.0]])
    red, green, blue = colour_at(photo.colours, at).T
    table = linear_table(1)
    # JPEG and HEIC lose up to some levels of 255.
    for found, wanted in ((red, 40 + 150 * at[:, 0] / 64), (green, 40 + 150 * at[:, 1] / 48)):
        slack = table[np.round(wanted).astype(int) + 4] - table[np.round(wanted).astype(int) - 4]
        assert (np.abs(found - np.interp(wanted, np.arange(256), table)) < slack).all()
    assert np.abs(blue - table[90]).max() < table[94] - table[86]


@pytest.mark.parametrize("orientation", range(1, 9))
def test_colours_are_upright_as_the_grey_picture_is(tmp_path: Path, orientation: int) -> None:
    exif = Image.Exif()
    exif[0x0112] = orientation
    photo = read_photo(saved(tmp_path, coloured(), "a.png", exif=exif))
    grey = photo.grey.reshape(photo.size[1] // 2, 2, photo.size[0] // 2, 2).mean(axis=(1, 3))
    assert photo.colours is not None
    own = np.tensordot([0.299, 0.587, 0.114], photo.colours, axes=1)  # ITU-R BT.601, as grey is
    assert np.abs(own - grey).max() < 2.0


def test_a_grey_picture_has_no_colours(tmp_path: Path) -> None:
    for name in ("a.jpg", "a.png"):
        assert read_photo(saved(tmp_path, picture(), name)).colours is None


def test_turned_colours_of_an_odd_size_are_left_alone(tmp_path: Path) -> None:
    """Half a pixel too many would lie on the wrong side."""
    exif = Image.Exif()
    exif[0x0112] = 6
    odd = coloured((63, 48))
    assert read_photo(saved(tmp_path, odd, "a.jpg", exif=exif)).colours is None
    assert read_photo(saved(tmp_path, odd, "b.jpg")).colours is not None


@pytest.mark.parametrize("name", ["a.png", "a.tif"])
def test_sixteen_bits_stay_sixteen(tmp_path: Path, name: str) -> None:
    grey = (np.asarray(picture(), np.uint16) * 257 + 3).astype(np.uint16)
    photo = read_photo(saved(tmp_path, Image.fromarray(grey), name))
    assert photo.grey.dtype == np.uint16
    assert (photo.grey == grey).all()


def test_transparent_is_white(tmp_path: Path) -> None:
    clear = Image.new("RGBA", (32, 32), (0, 0, 0, 0))
    assert (read_photo(saved(tmp_path, clear, "a.png")).grey == 255).all()


@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_orientation_as_pillow_turns_it(tmp_path: Path, orientation: int) -> None:
    exif = Image.Exif()
    exif[0x0112] = orientation
    path = saved(tmp_path, picture(), "a.jpg", exif=exif, quality=95)
    with Image.open(path) as image:
        upright = np.asarray(ImageOps.exif_transpose(image), float)
    found = read_photo(path).grey.astype(float)
    assert found.shape == upright.shape
    assert np.abs(found - upright).max() <= 2.0


def test_linear_light_at_the_standards_points() -> None:
    """IEC 61966-2-1: 0, 1, the joint of the curve, and 0.5 encoded = 0.21404 linear (by hand)."""
    table = linear_table(2)
    assert (table[0], table[-1]) == (0.0, 1.0)
    assert table[round(0.5 * 65535)] == pytest.approx(0.21404, abs=2e-5)
    assert np.diff(table).min() > 0.0
    joint = round(0.04045 * 65535)
    assert table[joint] == pytest.approx(0.04045 / 12.92, abs=2e-6)


def test_light_between_pixels_and_outside() -> None:
    from scribe.capture.exif import Exif

    grey = np.array([[0, 255], [255, 255]], np.uint8).repeat(8, axis=0).repeat(8, axis=1)
    photo = Photo("a", grey, Exif(1, None, "", True))
    asked = np.array([[7.0, 7.0], [7.5, 7.0], [7.25, 3.0], [-0.1, 3.0], [15.0, 15.0], [15.1, 3.0]])
    assert photo.light(asked)[:3] == pytest.approx([0.0, 0.5, 0.25])
    assert np.isnan(photo.light(asked)[[3, 5]]).all()
    assert photo.light(asked)[4] == 1.0


def test_damaged_files_are_refused_in_a_sentence(tmp_path: Path) -> None:
    whole = io.BytesIO()
    picture(size=(400, 300)).save(whole, "JPEG")
    damaged = {
        "empty.jpg": b"",
        "text.jpg": b"this is no picture, but long enough to be one",
        "cut.jpg": whole.getvalue()[: len(whole.getvalue()) // 2],
    }
    for name, content in damaged.items():
        path = tmp_path / name
        path.write_bytes(content)
        refusal = refused(path)
        assert refusal.kind == "photo-damaged"
        assert name in str(refusal)
    png = saved(tmp_path, picture(size=(400, 300)), "whole.png").read_bytes()
    (tmp_path / "cut.png").write_bytes(png[: len(png) // 2])
    assert refused(tmp_path / "cut.png").kind == "photo-damaged"


def test_missing_file() -> None:
    assert refused(Path("nowhere.jpg")).kind == "photo-missing"


def test_too_many_pixels(tmp_path: Path) -> None:
    path = saved(tmp_path, Image.new("1", (20000, 14000)), "bomb.png")
    assert refused(path).kind == "photo-too-large"


def test_the_largest_phones_are_served_and_no_more(tmp_path: Path) -> None:
    """200 megapixels are more than Pillow reads of its own accord (179 million pixels)."""
    phone = Image.new("L", (16320, 12240), 200)
    assert read_photo(saved(tmp_path, phone, "a.jpg")).size == (16320, 12240)
    trap = Image.new("1", (16400, 16400))
    assert refused(saved(tmp_path, trap, "b.png")).kind == "photo-too-large"


def test_odd_files_from_elsewhere(photos: Path) -> None:
    """Damaged and odd files of public test collections: read whole, or refused in a sentence."""
    folder = photos / "input_robustness"
    must_refuse = {
        "heic/corrupted.heic": "photo-damaged",
        "heic/corrupted.hif": "photo-damaged",
        "heic/empty.heic": "photo-damaged",
        "pillow/broken.png": "photo-damaged",
        "pillow/broken_data_stream.png": "photo-damaged",
        "pillow/truncated_jpeg.jpg": "photo-damaged",
        "pillow/decompression_bomb.gif": "photo-too-large",
        "pillow/decompression_bomb.ico": "photo-too-large",
    }
    too_small = {"multiple_exif.jpg"}  # a picture of one pixel
    for path in sorted(folder.rglob("*")):
        if path.is_dir() or path.suffix in ("", ".txt"):
            continue
        expected = must_refuse.get(str(path.relative_to(folder)))
        if expected:
            assert refused(path).kind == expected, path.name
            continue
        if path.name in too_small:
            assert refused(path).kind == "photo-damaged", path.name
        else:
            assert min(read_photo(path).size) >= 16, path.name


def test_eight_ways_to_hold_a_camera(photos: Path) -> None:
    """The same landscape in all orientations comes out the same way up."""
    folder = photos / "input_robustness" / "exif_orientation"
    first = read_photo(folder / "Landscape_1.jpg").grey.astype(float)
    for number in range(2, 9):
        other = read_photo(folder / f"Landscape_{number}.jpg").grey.astype(float)
        assert np.corrcoef(first.ravel(), other.ravel())[0, 1] > 0.99, number
