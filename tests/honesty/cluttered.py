"""Scenes in which more lies on the sheet or is drawn on the board than what is traced.

`python -m tests.honesty.cluttered` prints the table of docs/measuring.md: of each kind of clutter,
and of edges, lines and gauges apart, how many were measured, refused, and silently wrong (as for
hard light: more than one point in ten outside of its U by more than 0.1 mm).
"""

from __future__ import annotations

import argparse
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np

from scribe.source import PhotoSource
from tests.honesty.hard_light import SHARE, VISIBLE_MM
from tests.honesty.kept import kept
from tests.honesty.scenes import Judged, compared, printed_scale, true_scale
from tests.scenes.clutter import CLUTTER, OF_KIND
from tests.scenes.scene import Scene, make_scene

Case = tuple[str, str, int]  # kind, clutter, seed


def make(kind: str, clutter: str, seed: int) -> Scene:
    """The scene of a seed with that clutter in it."""
    scene = make_scene(kind, seed, megapixels=12.0, print_scale=printed_scale(seed))
    return CLUTTER[clutter](scene, np.random.default_rng([seed, list(CLUTTER).index(clutter)]))


def judge(case: Case, folder: Path | None) -> Judged:
    """Make a scene (or take it from the folder), trace its photo, compare."""
    kind, clutter, seed = case
    with kept(folder, f"{kind}-{seed}-{clutter}", lambda: make(*case)) as scene:
        scale = true_scale(seed)
        source = PhotoSource((scene.photo,), kind, height=scene.height, print_scale=scale)
        return compared(scene, source)


def silent(each: Judged) -> bool:
    """Whether a result is visibly wrong."""
    return not each.refusal and bool(np.mean(each.error > each.U + VISIBLE_MM) > SHARE)


def row(name: str, own: list[Judged]) -> str:
    """A line of the table."""
    causes = Counter(each.refusal for each in own if each.refusal)
    wrong = sum(silent(each) for each in own)
    good = len(own) - wrong - sum(causes.values())
    said = ", ".join(f"{kind} {count}" for kind, count in causes.most_common())
    return f"| {name} | {len(own)} | {good} | {sum(causes.values())} | {wrong} | {said} |"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("ways", nargs="*", default=list(CLUTTER))
    parser.add_argument("--first", type=int, default=42000)
    parser.add_argument("--seeds", type=int, default=2, help="of each kind and clutter")
    parser.add_argument("--keep", type=Path, help="folder in which rendered scenes stay")
    parser.add_argument("--details", action="store_true")
    asked = parser.parse_args()
    cases: list[Case] = [
        (kind, way, asked.first + k)
        for k in range(asked.seeds)
        for kind, ways in OF_KIND.items()
        for way in ways
        if way in asked.ways
    ]
    results: dict[Case, Judged] = {}
    with ProcessPoolExecutor(2) as pool:
        judged = pool.map(judge, cases, [asked.keep] * len(cases))
        for case, each in zip(cases, judged, strict=True):
            results[case] = each
            if asked.details or silent(each):
                worst = 0.0 if each.refusal else float(each.error.max())
                print(each.name, each.refusal or f"worst {worst:.2f}", flush=True)
    print("| beside or on it | scenes | measured | refused | silently wrong | refusals |")
    print("|---|---|---|---|---|---|")
    for way in asked.ways:
        if own := [each for case, each in results.items() if case[1] == way]:
            print(row(way, own))
    for kind in OF_KIND:
        if own := [each for case, each in results.items() if case[0] == kind]:
            print(row(f"all, {kind}", own))


if __name__ == "__main__":
    main()
