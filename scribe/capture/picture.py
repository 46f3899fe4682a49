"""A photo as people see it: upright, as a JPEG no larger than a screen needs."""

from __future__ import annotations

import io
import warnings
from pathlib import Path

from scribe.capture.photo_file import LARGEST_PIXELS
from scribe.errors import ScribeError

_QUALITY = 82


def upright_jpegs(path: Path, longest: tuple[int, ...]) -> tuple[tuple[int, int], list[bytes]]:
    """The upright photo's size in px, and a JPEG for each length of the longer side, px."""
    from PIL import Image, ImageOps

    if path.suffix.lower() in (".heic", ".heif"):
        from pillow_heif import register_heif_opener

        register_heif_opener()
    Image.MAX_IMAGE_PIXELS = LARGEST_PIXELS // 2  # Pillow warns from there on, refuses beyond twice
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            opened = Image.open(path)
        with opened as stored:
            width, height = stored.size
            if width * height > LARGEST_PIXELS:
                raise _unfit(path, f"the picture has {width * height / 1e6:.0f} million pixels")
            turned = stored.getexif().get(0x0112, 1) >= 5
            stored.draft("RGB", (max(longest), max(longest)))
            upright = ImageOps.exif_transpose(stored).convert("RGB")
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise _unfit(path, "this is not a photo that can be read") from error
    pictures = []
    for side in longest:
        upright.thumbnail((side, side))
        stream = io.BytesIO()
        upright.save(stream, "JPEG", quality=_QUALITY)
        pictures.append(stream.getvalue())
    return ((height, width) if turned else (width, height)), pictures


def _unfit(path: Path, what: str) -> ScribeError:
    return ScribeError(
        "photo-damaged",
        what=what,
        where=path.name,
        do="send the original from the phone again, as JPEG, HEIC, PNG or TIFF",
    )
