"""Spoiled scenes: each result must be within its U, or refused for a cause.

`python -m tests.honesty.spoiled --seeds 12` prints the table of docs/measuring.md: by what was
spoiled how many came out within their U, how many were refused and with which kinds, and how
many passed silently wrong. The print scale is told as exactly as it is known here, so that its
share of U hides nothing.
"""

from __future__ import annotations

import argparse
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image, ImageOps

from scribe.errors import ScribeError
from scribe.print_scale import UNCHECKED
from scribe.recipes.trace import trace
from scribe.source import PhotoSource
from tests.honesty.kept import Kept, kept
from tests.honesty.scenes import distance, make, printed_scale, true_scale
from tests.scenes.scene import KINDS, Scene, make_scene
from tests.scenes.spoil import SPOILS

PIXEL_WIDTH, PIXEL_HEIGHT, EXIF, ORIENTATION = 0xA002, 0xA003, 0x8769, 0x0112
# A result is silently wrong when so many of its points lie outside of U by a visible amount.
SHARE, VISIBLE_MM = 0.1, 0.1
ENDS_MM = 3.0
FILES = ("recompressed", "resized", "cropped", "cropped, tags kept", "tiny")
PRINTS = {"printed at 94 %": (0.94, 0.94), "printed at 97 %": (0.97, 0.97),
          "printed at 99 %": (0.99, 0.99), "printed at 100 x 98 %": (1.0, 0.98)}  # fmt: skip
TYPED = ("another kind", "height typed ten times", "height typed as 0")
TWO = ("height + 5, two photos", "another thing in the second photo")
WAYS = (*SPOILS, *FILES, *PRINTS, *TYPED, *TWO)


@dataclass(frozen=True)
class Result:
    """outcome: "within U", "silent", or the kind of the refusal. error: mm, 95 %."""

    way: str
    name: str
    outcome: str
    error: float = 0.0
    U: float = 0.0


def judge(way: str, seed: int, folder: Path | None) -> Result:
    """Spoil one scene in one way, trace it, compare."""
    kind = KINDS[seed % len(KINDS)]
    name = f"{kind}-{seed}-12"
    rng = np.random.default_rng([seed, WAYS.index(way)])
    scene = make(kind, seed, 12.0)
    scale = true_scale(seed)
    if way in PRINTS:
        scene = make_scene(kind, seed, megapixels=12.0, print_scale=PRINTS[way])
        name, scale = f"{kind}-{seed}-{way}", UNCHECKED
    with kept(folder, name, lambda: scene) as there, tempfile.TemporaryDirectory() as passing:
        photo = there.photo
        if way in SPOILS or way in FILES:
            photo = Path(passing) / "photo.jpg"
            _write(photo, there.photo, way, scene, rng)
        asked, height = kind, there.height
        if way == "another kind":
            asked = KINDS[(KINDS.index(kind) + 1 + seed // len(KINDS) % 2) % len(KINDS)]
        if way == TYPED[1]:
            height *= 10.0
        if way == TYPED[2]:
            height = 0.0
        photos = [photo]
        if way in TWO:
            photos.append(_second(way, kind, seed, there, folder or Path(passing)))
            height += 5.0 * (way == TWO[0])
        try:
            outline = trace(
                PhotoSource(tuple(photos), asked, height=height, print_scale=scale)
            ).outline
        except ScribeError as refusal:
            return Result(way, name, refusal.kind)
        points, truth = outline.points, there.truth
        # A page of another size moves the ends along the outline, which U doesn't speak of.
        low, high = truth[:, 0].min() + ENDS_MM, truth[:, 0].max() - ENDS_MM
        near = (points[:, 0] > low) & (points[:, 0] < high)
        judged = near & outline.measured
        error, U = distance(points[judged], truth), outline.U[judged]
        wrong = (error > U) & (error > U + VISIBLE_MM) if len(error) else np.ones(1, bool)
        outcome = "silent" if wrong.mean() > SHARE else "within U"
        q = float(np.quantile(error, 0.95)) if len(error) else np.inf
        return Result(way, name, outcome, q, float(np.median(U)) if len(U) else 0.0)


def _second(way: str, kind: str, seed: int, there: Kept, folder: Path) -> Path:
    """A photo of the same thing (or of another) from the other side of the bench."""
    azimuth = 80.0 + 20.0 * (seed % 3)
    other = seed if way == TWO[0] else seed + 1000

    def scene() -> Scene:
        return make_scene(
            kind, other, megapixels=12.0, print_scale=printed_scale(seed), height=there.height,
            azimuth_deg=azimuth, tilt_deg=22.0,
        )  # fmt: skip

    with kept(folder, f"{kind}-{other}-other-side-of-{seed}", scene) as second:
        return second.photo


def _write(path: Path, source: Path, way: str, scene: object, rng: np.random.Generator) -> None:
    """The spoiled photo, upright, with the tags a careless program leaves."""
    image = ImageOps.exif_transpose(Image.open(source).convert("RGB"))
    tags = Image.open(source).getexif()
    inner = tags.get_ifd(EXIF)
    tags[ORIENTATION] = 1
    inner[PIXEL_WIDTH], inner[PIXEL_HEIGHT] = image.size
    quality = 93
    if way in SPOILS:
        image = Image.fromarray(SPOILS[way](np.asarray(image), scene, rng))
    elif way == "recompressed":
        quality = int(rng.integers(12, 40))
    elif way in ("resized", "tiny"):
        part = rng.uniform(0.35, 0.6) if way == "resized" else rng.uniform(0.1, 0.2)
        image = image.resize([round(side * part) for side in image.size], Image.Resampling.LANCZOS)
    else:
        wide, tall = image.size
        cut = rng.uniform(0.0, 0.12, 4) * [wide, tall, wide, tall]
        image = image.crop((int(cut[0]), int(cut[1]), int(wide - cut[2]), int(tall - cut[3])))
        if way == "cropped":  # a program that knows the standard writes the new size
            inner[PIXEL_WIDTH], inner[PIXEL_HEIGHT] = image.size
    image.save(path, "JPEG", quality=quality, exif=tags)


def rows(results: Sequence[Result]) -> Iterator[str]:
    """The table, a line for each way of spoiling."""
    yield "| spoiled by | scenes | within U | refused | silently wrong | refusals |"
    yield "|---|---|---|---|---|---|"
    for way in [*WAYS, "all"]:
        own = [each for each in results if way in (each.way, "all")]
        if not own:
            continue
        causes = Counter(e.outcome for e in own if e.outcome not in ("within U", "silent"))
        said = ", ".join(f"{kind} {count}" for kind, count in causes.most_common())
        good = sum(each.outcome == "within U" for each in own)
        silent = sum(each.outcome == "silent" for each in own)
        yield f"| {way} | {len(own)} | {good} | {sum(causes.values())} | {silent} | {said} |"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("ways", nargs="*", default=list(WAYS))
    parser.add_argument("--seeds", type=int, default=12)
    parser.add_argument("--first", type=int, default=8000)
    parser.add_argument("--keep", type=Path, help="folder in which rendered scenes stay")
    parser.add_argument("--details", action="store_true")
    asked = parser.parse_args()
    seeds = range(asked.first, asked.first + asked.seeds)
    cases = [(way, seed, asked.keep) for seed in seeds for way in asked.ways or WAYS]
    with ProcessPoolExecutor(2) as pool:
        results = []
        for each in pool.map(judge, *zip(*cases, strict=True)):
            results.append(each)
            if asked.details or each.outcome == "silent":
                said = f"{each.outcome} {each.error:.3f} U {each.U:.3f}"
                print(f"{each.way}, {each.name}: {said}", flush=True)
    for row in rows(results):
        print(row, flush=True)


if __name__ == "__main__":
    main()
