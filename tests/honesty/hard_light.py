"""Boards and gauges in the light of a small lamp or the sun, their shadows beside what is traced.

`python -m tests.honesty.hard_light` prints the table of docs/measuring.md. The
shadows' borders are as sharp as the photo and fall beyond the upper side; how dark a shadow is
is drawn round how dark the thing is, so that they are hard to tell apart. A result is silently
wrong when more than one point in ten is visibly off: outside of its U by more than 0.1 mm.
"""

from __future__ import annotations

import argparse
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np

from scribe.source import PhotoSource
from tests.honesty.kept import kept
from tests.honesty.scenes import Judged, compared, printed_scale, true_scale
from tests.scenes.render import Light
from tests.scenes.scene import Scene, make_scene

MATERIALS = {"edge": ("white", "grey"), "gauge": ("bright", "plastic", "bright")}
# Part of the light that a full shadow takes, round what would make it as dark as the thing.
DEPTHS = {"white": (0.3, 0.45), "grey": (0.6, 0.8), "bright": (0.3, 0.6), "plastic": (0.6, 0.85)}
FIRST = {"edge": 9500, "gauge": 9600}
SHARE, VISIBLE_MM = 0.1, 0.1


def make(kind: str, seed: int) -> Scene:
    """The scene of a seed in hard light from the side of the sheet's lower edge."""
    material = MATERIALS[kind][seed % len(MATERIALS[kind])]
    light = hard(kind, seed, DEPTHS[material])
    scale = printed_scale(seed)
    return make_scene(
        kind, seed, megapixels=12.0, print_scale=scale, material=material, light=light
    )


def hard(kind: str, seed: int, depths: tuple[float, float]) -> Light:
    """Light from a lamp behind the thing; depths: between which a full shadow's is drawn."""
    rng = np.random.default_rng(seed)
    side, up = np.radians(rng.uniform(200, 340)), np.radians(rng.uniform(35, 65))
    towards = np.cos(up) * np.cos(side), np.cos(up) * np.sin(side), np.sin(up)
    usual = make_scene(kind, seed, megapixels=12.0).world.light
    soft = float(rng.uniform(0.01, 0.08))
    depth = float(rng.uniform(*depths))
    return replace(usual, towards=tuple(float(part) for part in towards), soft=soft, depth=depth)


def judge(kind: str, seed: int, folder: Path | None) -> Judged:
    """Make a scene (or take it from the folder), trace its photo, compare."""
    with kept(folder, f"{kind}-{seed}-hard", lambda: make(kind, seed)) as scene:
        scale = true_scale(seed)
        source = PhotoSource((scene.photo,), kind, height=scene.height, print_scale=scale)
        return compared(scene, source)


HEADING = (
    "scenes | refused | silently wrong | 95 % mm | within U | visibly off | refusals |",
    "|---|---|---|---|---|---|---|---|",
)


def row(name: str, own: list[Judged]) -> str:
    """A line of the table, of the results of one kind."""
    done = [each for each in own if not each.refusal]
    causes = ", ".join(sorted({each.refusal for each in own if each.refusal}))
    said = f"| {name} | {len(own)} | {len(own) - len(done)} |"
    if not done:
        return f"{said} 0 | - | - | - | {causes} |"
    wrong = [np.mean(each.error > each.U + VISIBLE_MM) > SHARE for each in done]
    error, U = (np.concatenate([getattr(e, part) for e in done]) for part in ("error", "U"))
    return (
        f"{said} {sum(wrong)} |"
        f" {np.quantile(error, 0.95):.3f} | {100 * (error <= U).mean():.1f} % |"
        f" {100 * (error > U + VISIBLE_MM).mean():.1f} % | {causes} |"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--edges", type=int, default=48)
    parser.add_argument("--gauges", type=int, default=36)
    parser.add_argument("--keep", type=Path, help="folder in which rendered scenes stay")
    asked = parser.parse_args()
    cases = [("edge", FIRST["edge"] + k, asked.keep) for k in range(asked.edges)]
    cases += [("gauge", FIRST["gauge"] + k, asked.keep) for k in range(asked.gauges)]
    with ProcessPoolExecutor(2) as pool:
        results = list(pool.map(judge, *zip(*cases, strict=True)))
    print("| in hard light |", *HEADING[:1])
    print(HEADING[1])
    for kind in FIRST:
        print(row(kind, [each for each in results if each.name.startswith(kind)]), flush=True)


if __name__ == "__main__":
    main()
