"""The photos of `scribe demo`, made by the scene maker: a harbour cottage's chimney breast.

`python -m tests.scenes.demo` writes them into scribe/demo_data again.
"""

from __future__ import annotations

import sys
from pathlib import Path

from tests.scenes.scene import Scene, make_scene, render

FOLDER = Path(__file__).parents[2] / "scribe" / "demo_data"
MEGAPIXELS = 4.0
QUALITY = 86


def scenes() -> dict[str, Scene]:
    """File name -> scene."""
    return {
        # Pins pushed over the skirting at the foot of the breast.
        "skirting.jpg": make_scene(
            "gauge", 14, megapixels=MEGAPIXELS, shape="moulding", material="black", tip="round",
            pitch=1.2, height=5.0, table="wood", fill=0.94, tilt_deg=12.0, number=1,
            quality=QUALITY,
        ),
        # A pencil block of 20 mm run down the breast, drawing on a card taped over the sheet.
        "breast.jpg": make_scene(
            "line", 25, megapixels=MEGAPIXELS, shape="smooth", material="wood", height=0.0,
            table="grey", fill=0.94, tilt_deg=15.0, number=2, quality=QUALITY,
        ),
        # A piece of thin ply trimmed until it closed against the stone, 4 mm thick.
        "stone.jpg": make_scene(
            "edge", 7, megapixels=MEGAPIXELS, shape="smooth", material="wood", height=4.0,
            table="pale", fill=0.94, tilt_deg=10.0, number=3, quality=QUALITY,
        ),
    }  # fmt: skip


def main() -> None:
    """Write the photos and say what is true of them."""
    FOLDER.mkdir(exist_ok=True)
    for name, scene in scenes().items():
        (FOLDER / name).write_bytes(render(scene))
        x0, x1 = scene.truth[[0, -1], 0]
        sys.stdout.write(
            f"{name}: {scene.options}, height {scene.height}, x {x0:.1f} to {x1:.1f} mm\n"
        )


if __name__ == "__main__":
    main()
