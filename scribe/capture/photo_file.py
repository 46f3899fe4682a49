"""A photo's file to the picture in it, upright, no more of it decoded than needed.

In: a file of any kind that phones write. Out: `Photo`; what is damaged or too large is refused.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, Any

import cv2
import numpy as np
import numpy.typing as npt

from scribe.capture.exif import read_exif
from scribe.capture.photo import Photo
from scribe.errors import ScribeError

if TYPE_CHECKING:
    from PIL.Image import Image

Grey = npt.NDArray[np.uint8 | np.uint16]
Planes = npt.NDArray[np.uint8]

LARGEST_PIXELS = 256_000_000  # 200 megapixel phones are served; beyond lies a trap or a mistake
_DECODED_TWICE = 64_000_000  # pixels: of a larger picture that is no JPEG memory holds one copy

_JPEG = {"JPEG", "MPO"}  # MPO: a JPEG with further pictures behind it, as many phones write
_CV2_FORMATS = _JPEG | {"PNG", "TIFF"}
_PLAIN_MODES = {"L", "RGB", "I;16", "I;16B", "I;16L"}


def read_photo(path: Path) -> Photo:
    """Decode a JPEG, PNG, TIFF or HEIC file; refuse what is not a whole picture."""
    try:
        content = path.read_bytes()
    except OSError as error:
        raise ScribeError(
            "photo-missing",
            what=f"the photo can't be read ({error.strerror})",
            where=str(path),
            do="check the name and the folder",
        ) from error
    if not content:
        raise _damaged(path, "the file is empty")
    image = _open(path, content)
    if min(image.size) < 16:
        raise _damaged(path, "the picture is too small to be a photo")
    with ThreadPoolExecutor(1) as beside:  # done before the grey picture is, on a second core
        colours = beside.submit(_decode_colours, content, image.format, image.mode, image.size)
        grey = _decode(path, content, image)
    exif = read_exif(_tags(image), image.size)
    planes = _upright_colours(colours.result(), image.size, exif.orientation)
    return Photo(path.name, _upright(grey, exif.orientation), exif, planes)


def _open(path: Path, content: bytes) -> Image:
    """Read the header only, so that nothing large is decoded before its size is known."""
    import warnings

    from PIL import Image, UnidentifiedImageError

    if content[4:8] == b"ftyp":
        import pillow_heif

        pillow_heif.register_heif_opener()
    Image.MAX_IMAGE_PIXELS = LARGEST_PIXELS // 2  # Pillow warns from there on, refuses beyond twice
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            image = Image.open(io.BytesIO(content))
    except UnidentifiedImageError as error:
        raise _damaged(path, "the file is not a picture, or it is damaged") from error
    except Image.DecompressionBombError as error:
        raise _too_large(path, "far too many") from error
    except (OSError, ValueError, SyntaxError, EOFError, RuntimeError) as error:
        raise _damaged(path, "the picture is damaged") from error
    if image.width * image.height > LARGEST_PIXELS:
        raise _too_large(path, f"{image.width * image.height / 1e6:.0f} million")
    return image


def _tags(image: Image) -> Mapping[int, Any]:
    import warnings

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            base = image.getexif()
            return {**base, **base.get_ifd(0x8769)}
    except Exception:  # noqa: BLE001 - a broken Exif block may raise anything: it then says nothing
        return {}


def _decode(path: Path, content: bytes, image: Image) -> Grey:
    is_jpeg = image.format in _JPEG
    if is_jpeg and content.find(b"\xff\xd9", content.find(b"\xff\xda")) < 0:
        raise _damaged(path, "the picture is cut off before its end")
    try:
        if not is_jpeg:
            image.load()  # OpenCV returns half a picture without a word; Pillow refuses it
        if image.format in _CV2_FORMATS and image.mode in _PLAIN_MODES:
            flags = cv2.IMREAD_GRAYSCALE | cv2.IMREAD_ANYDEPTH | cv2.IMREAD_IGNORE_ORIENTATION
            decoded = cv2.imdecode(np.frombuffer(content, np.uint8), flags)
            if decoded is not None and decoded.dtype in (np.uint8, np.uint16):
                return np.asarray(decoded)
        return _decode_slowly(image)
    except (OSError, ValueError, SyntaxError, EOFError, RuntimeError, cv2.error) as error:
        raise _damaged(path, "the picture is damaged or cut off") from error


def _decode_colours(
    content: bytes, form: str | None, mode: str, size: tuple[int, int]
) -> Planes | None:
    """(3, H/2, W/2) red, green, blue of a file, not yet upright.

    None of a file without colours, or that can't be read.
    """
    from PIL import Image

    try:
        if mode in ("L", "I", "I;16", "I;16B", "I;16L", "1"):
            return None
        if form in _JPEG and mode == "RGB":
            flags = cv2.IMREAD_REDUCED_COLOR_2 | cv2.IMREAD_IGNORE_ORIENTATION
            mixed = cv2.imdecode(np.frombuffer(content, np.uint8), flags)
            if mixed is None:
                return None
            return np.stack(cv2.split(mixed)[::-1])
        if size[0] * size[1] > _DECODED_TWICE:
            return None
        small = np.asarray(Image.open(io.BytesIO(content)).convert("RGB").reduce(2))
        return np.ascontiguousarray(small.transpose(2, 0, 1), np.uint8)
    except (OSError, ValueError, SyntaxError, EOFError, RuntimeError, cv2.error):
        return None  # what is damaged is refused by its grey picture


def _upright_colours(
    planes: Planes | None, size: tuple[int, int], orientation: int
) -> Planes | None:
    if planes is None or orientation == 1:
        return planes
    if any(side % 2 for side in size):
        return None  # half a pixel too many would lie on the wrong side
    return np.stack([_upright(plane, orientation) for plane in planes])


def _decode_slowly(image: Image) -> Grey:
    """Through Pillow: HEIC, CMYK, palettes and transparency (laid on white)."""
    import PIL.Image

    if image.mode in ("I", "I;16"):
        return np.asarray(image).clip(0, 65535).astype(np.uint16)
    if "A" in image.getbands() or "transparency" in image.info:
        image = image.convert("RGBA")
        image = PIL.Image.alpha_composite(PIL.Image.new("RGBA", image.size, "white"), image)
    return np.asarray(image.convert("L"))


def _upright(grey: Grey, orientation: int) -> Grey:
    """Undo how the camera was held (Exif tag 0x0112, values 1 to 8)."""
    if orientation in (5, 6, 7, 8):
        grey = np.asarray(cv2.transpose(grey))
    flips = {2: 1, 3: -1, 4: 0, 6: 1, 7: -1, 8: 0}
    if orientation in flips:
        grey = np.asarray(cv2.flip(grey, flips[orientation]))
    return grey


def _damaged(path: Path, what: str) -> ScribeError:
    return ScribeError(
        "photo-damaged",
        what=what,
        where=str(path),
        do="send the original from the phone again, as JPEG, HEIC, PNG or TIFF",
    )


def _too_large(path: Path, pixels: str) -> ScribeError:
    return ScribeError(
        "photo-too-large",
        what=f"the picture has {pixels} pixels, more than {LARGEST_PIXELS // 10**6} million",
        where=str(path),
        do="take the photo at the phone's ordinary size",
    )
