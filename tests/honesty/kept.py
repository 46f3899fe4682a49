"""Scenes kept in a folder, so that a set is rendered once and judged as often as one likes.

A kept scene is its photo, its truth and what was drawn of it. Rendering takes seconds a photo,
judging a third of one.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from tests.scenes.scene import Scene

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Kept:
    """photo: its path. truth: (N, 2) mm, x growing. facts: numbers and words drawn."""

    name: str
    photo: Path
    truth: Array
    height: float
    facts: dict[str, object]


@contextmanager
def kept(folder: Path | None, name: str, make: Callable[[], Scene]) -> Iterator[Kept]:
    """The scene of that name, from the folder or made now; without one it is thrown away."""
    with tempfile.TemporaryDirectory() as passing:
        place = (folder or Path(passing)) / name
        if not (place / "facts.json").exists():
            _make(place, make())
        said = json.loads((place / "facts.json").read_text("utf-8"))
        yield Kept(
            name,
            place / said["photo"],
            np.load(place / "truth.npy"),
            said["height"],
            said["facts"],
        )


def _make(place: Path, scene: Scene) -> None:
    photo = scene.write(place)
    np.save(place / "truth.npy", scene.truth)
    facts = {key: value for key, value in scene.options.items() if isinstance(value, str)}
    said = {
        "photo": photo.name,
        "height": scene.height,
        "facts": facts
        | {
            "tilt_deg": _tilt(scene),
            "blur_px": scene.sensor.blur_px,
            "shade": scene.world.light.depth,
            "full_well": scene.sensor.full_well,
        },
    }
    passing = place / "facts.part"
    passing.write_text(json.dumps(said), "utf-8")
    passing.rename(place / "facts.json")


def _tilt(scene: Scene) -> float:
    return float(np.degrees(np.arccos(np.clip(-scene.camera.rotation[2, 2], -1.0, 1.0))))
