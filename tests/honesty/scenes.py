"""Scenes of known shape through the whole of `scribe trace`, held against the truth.

`python -m tests.honesty.scenes --seeds 30` prints the table of docs/measuring.md: by kind the
error across the outline (rms, 95 %, worst point), how many points lie within their U, and
what was refused. Every scene has its own wall, lens, light, tilt, table and noise.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from itertools import product
from pathlib import Path

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.job import PhotoSource
from scribe.recipes.trace import trace
from tests.scenes.scene import KINDS, make_scene

Array = npt.NDArray[np.float64]
ENDS_MM = 1.0  # a pencil line's end is round: what lies beyond the truth's ends is not judged


@dataclass(frozen=True)
class Judged:
    """One scene: (N,) mm error and U of every measured point, the part of the truth that was
    covered, or the kind of refusal.
    """

    name: str
    error: Array
    U: Array
    covered: float
    refusal: str = ""


def judge(kind: str, seed: int, megapixels: float) -> Judged:
    """Make a scene, trace its photo, compare."""
    scene = make_scene(kind, seed, megapixels=megapixels)
    with tempfile.TemporaryDirectory() as folder:
        photo = scene.write(Path(folder))
        try:
            outline = trace(PhotoSource((photo,), kind, height=scene.height)).outline
        except ScribeError as refusal:
            return Judged(scene.name, np.zeros(0), np.zeros(0), 0.0, refusal.kind)
    points, truth = outline.points, scene.truth
    x0, x1 = truth[:, 0].min(), truth[:, 0].max()
    near = (points[:, 0] > x0 - ENDS_MM) & (points[:, 0] < x1 + ENDS_MM)
    judged = near & outline.measured
    inside = np.clip(points[near][[0, -1], 0], x0, x1)
    return Judged(
        scene.name,
        distance(points[judged], truth),
        outline.U[judged],
        float(abs(inside[1] - inside[0]) / (x1 - x0)),
    )


def distance(points: Array, line: Array) -> Array:
    """(N,) mm from each point to a polyline (M, 2)."""
    start, along = line[:-1], np.diff(line, axis=0)
    length2 = (along**2).sum(axis=1)
    best = np.full(len(points), np.inf)
    for chunk in range(0, len(points), 64):
        p = points[chunk : chunk + 64, None, :]
        part = np.clip(((p - start) * along).sum(axis=-1) / length2, 0.0, 1.0)
        apart = p - start - part[..., None] * along
        best[chunk : chunk + 64] = np.hypot(apart[..., 0], apart[..., 1]).min(axis=1)
    return best


def rows(results: list[Judged], details: bool) -> Iterator[str]:
    """The table, a line each; with details every scene by itself first."""
    if details:
        for each in results:
            if each.refusal:
                yield f"{each.name}: {each.refusal}"
            else:
                yield (
                    f"{each.name}: 95 % {np.quantile(each.error, 0.95):.3f}, worst"
                    f" {each.error.max():.3f}, U {np.median(each.U):.3f}, within U"
                    f" {100 * (each.error <= each.U).mean():.0f} %, covered"
                    f" {100 * each.covered:.0f} %"
                )
    yield (
        "| kind | scenes | refused | rms mm | 95 % mm | worst mm | median U mm | within U |"
        " covered |"
    )
    yield "|---|---|---|---|---|---|---|---|---|"
    for kind in KINDS:
        own = [each for each in results if each.name.startswith(kind)]
        done = [each for each in own if not each.refusal]
        if not done:
            continue
        error, U = (np.concatenate([getattr(e, name) for e in done]) for name in ("error", "U"))
        yield (
            f"| {kind} | {len(own)} | {len(own) - len(done)} |"
            f" {np.sqrt((error**2).mean()):.3f} | {np.quantile(error, 0.95):.3f} |"
            f" {error.max():.3f} | {np.median(U):.3f} | {100 * (error <= U).mean():.0f} % |"
            f" {100 * np.mean([e.covered for e in done]):.0f} % |"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("kinds", nargs="*", default=list(KINDS))
    parser.add_argument("--seeds", type=int, default=30)
    parser.add_argument("--first", type=int, default=1000)
    parser.add_argument("--megapixels", type=float, default=12.0)
    parser.add_argument("--details", action="store_true")
    asked = parser.parse_args()
    seeds = range(asked.first, asked.first + asked.seeds)
    cases = list(product(asked.kinds or KINDS, seeds))
    with ProcessPoolExecutor(2) as pool:
        kinds, numbers = zip(*cases, strict=True)
        results = list(pool.map(judge, kinds, numbers, [asked.megapixels] * len(cases)))
    for row in rows(results, asked.details):
        print(row, flush=True)


if __name__ == "__main__":
    main()
