"""python -m tests.scenes.write_examples: the good and bad photos of docs/taking-photos.md.

Each is made by the scene maker, looked at as the page looks at a photo, and written as a small
picture with what scribe says of it: docs/pictures/photos.json, which the document repeats.
"""

from __future__ import annotations

import io
import json
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from scribe.recipes.page.photo import judged
from scribe.source import Kind, PhotoSource
from tests.scenes import spoil
from tests.scenes.outlines import Array
from tests.scenes.photo import encode
from tests.scenes.scene import FILM_DIAGONAL_MM, SENSOR_DIAGONAL_MM, Scene, make_scene

FOLDER = Path(__file__).parents[2] / "docs/pictures"
SAID = FOLDER / "photos.json"
_MEGAPIXELS = 4.0
_SHOWN_PX = 420


def gauge(**options: Any) -> Scene:
    """A gauge pushed over a skirting, as the demo has it."""
    usual: dict[str, Any] = {
        "megapixels": _MEGAPIXELS, "shape": "moulding", "material": "black", "tip": "round",
        "pitch": 1.2, "height": 5.0, "table": "wood", "fill": 0.94, "tilt_deg": 12.0,
    }  # fmt: skip
    return make_scene("gauge", 14, **(usual | options))


def examples() -> Iterator[tuple[str, Scene, Array]]:
    """Name, scene, and the upright picture of it, good or spoiled."""
    good = gauge()
    yield "good", good, good.pixels
    line = make_scene(
        "line", 25, megapixels=_MEGAPIXELS, shape="smooth", material="wood", height=0.0,
        table="grey", fill=0.94, tilt_deg=15.0, number=2,
    )  # fmt: skip
    yield "good-line", line, line.pixels
    far = gauge(fill=0.32)
    yield "far", far, far.pixels
    height, width = good.pixels.shape[:2]
    cropped = good.pixels[: int(0.55 * height), : int(0.62 * width)]
    yield "cropped", good, np.ascontiguousarray(cropped)
    for name, spoiled in (("moved", spoil.motion), ("glare", spoil.glare), ("hand", spoil.hand),
                          ("curl", spoil.curl)):  # fmt: skip
        picture = good.pixels
        for seed in range(2 if name == "moved" else 1):
            picture = spoiled(picture, good, np.random.default_rng(seed))
        yield name, good, picture


def photo_file(scene: Scene, picture: Array) -> bytes:
    """As a phone would store it."""
    focal_mm = scene.focal_35mm / FILM_DIAGONAL_MM * SENSOR_DIAGONAL_MM
    return encode(picture, scene.sensor, focal_35mm=scene.focal_35mm, focal_mm=focal_mm)


def verdict(photo: bytes, of: Kind) -> dict[str, object]:
    """What the page says of it: whether it will do, and the first thing that it says."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "photo.jpg"
        path.write_bytes(photo)
        source = PhotoSource((path,), of, height=5.0)
        found = judged(path, source, lambda _: None)
    first = found["notes"][0]
    return {"good": found["good"], "said": first["said"], "do": first["do"]}


def main() -> None:
    """Write pictures and what is said of them."""
    FOLDER.mkdir(exist_ok=True)
    said = {}
    for name, scene, picture in examples():
        photo = photo_file(scene, picture)
        said[name] = verdict(photo, "line" if name == "good-line" else "gauge")
        small = Image.open(io.BytesIO(photo)).convert("RGB")
        small.thumbnail((_SHOWN_PX, _SHOWN_PX))
        small.save(FOLDER / f"photo-{name}.webp", "WEBP", quality=72, method=6)
        sys.stdout.write(f"{name}: {said[name]}\n")
    SAID.write_text(json.dumps(said, indent=1, ensure_ascii=False) + "\n", "utf-8")


if __name__ == "__main__":
    main()
