"""Boards and gauges with a colour, in usual and hard light.

`python -m tests.honesty.coloured` prints the table of docs/measuring.md. Some of the colours are
about as light as paper, or as the shadow that lies beside them: their light alone doesn't tell
where they end. Silently wrong and visibly off are counted as for hard light.
"""

from __future__ import annotations

import argparse
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from scribe.source import PhotoSource
from tests.honesty.hard_light import HEADING, hard, row
from tests.honesty.kept import kept
from tests.honesty.scenes import Judged, compared, printed_scale, true_scale
from tests.scenes.scene import Scene, make_scene
from tests.scenes.things import COLOURS

DEPTHS = (0.3, 0.85)  # part of the light that a full shadow takes
KINDS, LIGHTS = ("edge", "gauge"), ("usual", "hard")


def make(kind: str, seed: int, colour: str, light: str) -> Scene:
    """The scene of a seed."""
    lit = hard(kind, seed, DEPTHS) if light == "hard" else None
    scale = printed_scale(seed)
    return make_scene(kind, seed, megapixels=12.0, print_scale=scale, material=colour, light=lit)


def judge(case: tuple[str, int, str, str, Path | None]) -> Judged:
    """Make a scene (or take it from the folder), trace its photo, compare."""
    kind, seed, colour, light, folder = case
    name = f"{kind}-{seed}-{colour}-{light}"
    with kept(folder, name, lambda: make(kind, seed, colour, light)) as scene:
        source = PhotoSource(
            (scene.photo,), kind, height=scene.height, print_scale=true_scale(seed)
        )
        return compared(scene, source)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int, default=32000)
    parser.add_argument("--seeds", type=int, default=2, help="of each colour and light")
    parser.add_argument("--keep", type=Path, help="folder in which rendered scenes stay")
    asked = parser.parse_args()
    cases = [
        (kind, asked.first + 10 * n + k, colour, light, asked.keep)
        for kind in KINDS
        for light in LIGHTS
        for n, colour in enumerate(COLOURS)
        for k in range(asked.seeds)
    ]
    with ProcessPoolExecutor(2) as pool:
        results = list(pool.map(judge, cases))
    print("| coloured |", HEADING[0])
    print(HEADING[1])
    for kind in KINDS:
        for light in LIGHTS:
            own = [r for r in results if r.name.startswith(kind) and r.name.endswith(light)]
            print(row(f"{kind}, {light} light", own), flush=True)


if __name__ == "__main__":
    main()
