"""Scenes of known shape through the whole of `scribe trace`, held against the truth.

`python -m tests.honesty.scenes --seeds 100` prints the tables of docs/measuring.md: by kind and
by difficulty the error across the outline (rms, 95 %, worst point), how many points lie within
their U, and what was refused; the same for the shape alone (a shift of the whole outline
taken out), and for its bow and its rise from end to end. Every scene has its own wall, lens,
light, tilt, table, noise and print. What is told is drawn as its u says: the height, and of the
print what the check bars say in every other scene, where in the others nobody measured them; with
--exact both are told truly, and what is left is the photo's.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from itertools import product
from pathlib import Path

import numpy as np
import numpy.typing as npt

from scribe.errors import ScribeError
from scribe.geom.polyline import nearest, normals
from scribe.outline import Outline
from scribe.print_scale import READ_U, UNCHECKED_U, PrintScale
from scribe.recipes.height import STATED_HEIGHT_U
from scribe.recipes.trace import trace
from scribe.source import PhotoSource
from tests.honesty.kept import Kept, kept
from tests.scenes.scene import KINDS, Scene, make_scene

Array = npt.NDArray[np.float64]
PRINT_OFF = 0.005  # of a length, at most, either way
ENDS_MM = 1.0  # a pencil line's end is round: what lies beyond the truth's ends is not judged


@dataclass(frozen=True)
class Judged:
    """One scene: (N,) mm error and U of every measured point, the part of the truth that was
    covered, or the kind of refusal. hard: seen from the side, blurred, or in deep shade.

    shape, shape_u95: (N,) mm with the shift of the whole outline taken out. whole: name of a
    quantity of the whole outline -> (error, U) mm.
    """

    name: str
    error: Array
    U: Array
    covered: float
    hard: bool = False
    measured: bool = False
    refusal: str = ""
    shape: Array = field(default_factory=lambda: np.zeros(0))
    shape_u95: Array = field(default_factory=lambda: np.zeros(0))
    whole: Mapping[str, tuple[float, float]] = field(default_factory=dict)


def printed_scale(seed: int) -> tuple[float, float]:
    """Printed over stated length along x and y, as one printer in a hundred would have it."""
    x, y = np.random.default_rng([seed, 99]).uniform(1.0 - PRINT_OFF, 1.0 + PRINT_OFF, 2)
    return float(x), float(y)


def known_scale(seed: int) -> PrintScale:
    """What is known of a print: the truth, missed by a draw from its own u (JCGM 101).

    Odd seeds: nobody measured it, and it is taken for what it says; even ones: bars read.
    """
    u = UNCHECKED_U if seed % 2 else READ_U
    miss = np.random.default_rng([seed, 98]).normal(0.0, u, 2)
    x, y = (float(part) for part in np.array(printed_scale(seed)) * (1.0 + miss))
    return PrintScale(x, y, u, u, "drawn", checked=seed % 2 == 0)


def make(kind: str, seed: int, megapixels: float, *, behind: bool = False) -> Scene:
    """The scene of a seed, printed as `printed_scale` says; behind: from the building's side."""
    side = float(np.random.default_rng([seed, 96]).uniform(20.0, 160.0)) if behind else None
    return make_scene(
        kind, seed, megapixels=megapixels, print_scale=printed_scale(seed), azimuth_deg=side
    )


def told_height(kind: str, seed: int, height: float) -> float:
    """What somebody measured of the height, mm; what lies on the sheet is known to lie there."""
    miss = np.random.default_rng([seed, KINDS.index(kind), 97]).normal(0.0, STATED_HEIGHT_U)
    return max(height + float(miss), 0.0) if height > 0.0 else 0.0


def true_scale(seed: int) -> PrintScale:
    """The print's scale as it is."""
    return PrintScale(*printed_scale(seed), 1e-5, 1e-5, "true")


def judge(
    kind: str,
    seed: int,
    megapixels: float,
    folder: Path | None = None,
    *,
    exact: bool = False,
    behind: bool = False,
) -> Judged:
    """Make a scene (or take it from the folder), trace its photo, compare.

    exact: the print's scale and the height are told truly. behind: see `make`.
    """
    name = f"{kind}-{seed}-{megapixels:g}" + "-behind" * behind
    with kept(folder, name, lambda: make(kind, seed, megapixels, behind=behind)) as scene:
        scale = true_scale(seed) if exact else known_scale(seed)
        height = scene.height if exact else told_height(kind, seed, scene.height)
        source = PhotoSource((scene.photo,), kind, height=height, print_scale=scale)
        return compared(scene, source, measured=seed % 2 == 0)


def compared(scene: Kept, source: PhotoSource, *, measured: bool = False) -> Judged:
    """Trace and hold against the truth."""
    hard = (
        scene.facts["tilt_deg"] > 20.0
        or scene.facts["blur_px"] > 0.95
        or scene.facts["shade"] > 0.5
    )
    try:
        outline = trace(source).outline
    except ScribeError as refusal:
        nothing = np.zeros(0)
        return Judged(scene.name, nothing, nothing, 0.0, hard, measured, refusal.kind)
    points, truth = outline.points, scene.truth
    x0, x1 = truth[:, 0].min(), truth[:, 0].max()
    near = (points[:, 0] > x0 - ENDS_MM) & (points[:, 0] < x1 + ENDS_MM)
    judged = near & outline.measured
    inside = np.clip(points[near][[0, -1], 0], x0, x1)
    across = normals(points)[judged]
    feet = nearest(points[judged], truth)
    away = ((points[judged] - feet.point) * across).sum(axis=1)
    shift = np.linalg.lstsq(across, away, rcond=None)[0]
    return Judged(
        scene.name,
        distance(points[judged], truth),
        outline.U[judged],
        float(abs(inside[1] - inside[0]) / (x1 - x0)),
        hard,
        measured,
        shape=np.abs(away - across @ shift),
        shape_u95=outline.shape_alone().U[judged],
        whole=_whole(outline, truth, np.flatnonzero(judged)),
    )


def _whole(
    outline: Outline, truth: Array, judged: npt.NDArray[np.int64]
) -> dict[str, tuple[float, float]]:
    """Bow (in the middle, from the chord) and rise, measured over the same stations as true."""
    a, b = judged[len(judged) // 20], judged[-1 - len(judged) // 20]
    m = judged[len(judged) // 2]
    points = outline.points
    true = np.interp(points[[a, m, b], 0], truth[:, 0], truth[:, 1])
    share = (points[m, 0] - points[a, 0]) / (points[b, 0] - points[a, 0])
    found = {}
    for name, weights in (("bow", (share - 1.0, 1.0, -share)), ("rise", (-1.0, 0.0, 1.0))):
        gradient = np.zeros_like(points)
        gradient[[a, m, b], 1] = weights
        # What moves a point along a slope moves its height as well.
        slope = np.gradient(truth[:, 1], truth[:, 0])
        steep = np.interp(points[[a, m, b], 0], truth[:, 0], slope)
        gradient[[a, m, b], 0] = -steep * np.array(weights)
        error = float(np.dot(weights, points[[a, m, b], 1] - true))
        found[name] = (abs(error), 2.0 * outline.quantity_u(gradient))
    return found


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


def rows(results: Sequence[Judged], *, details: bool) -> Iterator[str]:
    """The tables, a line each; with details every scene by itself first."""
    if details:
        yield from map(_line, results)
    yield (
        "| scenes | number | refused | rms mm | 95 % mm | worst mm | median U mm | within U |"
        " covered |"
    )
    yield "|---|---|---|---|---|---|---|---|---|"
    groups: list[tuple[str, Callable[[Judged], bool]]] = [("all", lambda _: True)]
    groups += [(kind, lambda each, kind=kind: each.name.startswith(kind)) for kind in KINDS]
    groups += [
        ("bars measured", lambda each: each.measured),
        ("bars not measured", lambda each: not each.measured),
        ("easy", lambda each: not each.hard),
        ("hard: tilt > 20 degrees, blur or deep shade", lambda each: each.hard),
    ]
    for name, belongs in groups:
        if own := [each for each in results if belongs(each)]:
            yield _row(name, own)
    done = [each for each in results if not each.refusal]
    yield ""
    yield "| of the whole | scenes | rms mm | 95 % mm | median U mm | within U |"
    yield "|---|---|---|---|---|---|"
    shape, U = (np.concatenate([getattr(e, part) for e in done]) for part in ("shape", "shape_u95"))
    yield _whole_row("shape, all points", len(done), shape, U)
    for kind in KINDS:
        own = [each for each in done if each.name.startswith(kind)]
        if own:
            shape, U = (
                np.concatenate([getattr(e, p) for e in own]) for p in ("shape", "shape_u95")
            )
            yield _whole_row(f"shape, {kind}", len(own), shape, U)
    for name in ("bow", "rise"):
        error, U = np.array([each.whole[name] for each in done]).T
        yield _whole_row(name, len(done), error, U)
    yield ""
    causes = Counter(each.refusal for each in results if each.refusal)
    yield "Refused: " + (", ".join(f"{kind} {count}" for kind, count in causes.items()) or "none")


def _line(each: Judged) -> str:
    if each.refusal:
        return f"{each.name}: {each.refusal}"
    return (
        f"{each.name}: 95 % {np.quantile(each.error, 0.95):.3f}, worst {each.error.max():.3f},"
        f" U {np.median(each.U):.3f}, within U {100 * (each.error <= each.U).mean():.0f} %,"
        f" covered {100 * each.covered:.0f} %"
    )


def _whole_row(name: str, count: int, error: Array, U: Array) -> str:
    return (
        f"| {name} | {count} | {np.sqrt((error**2).mean()):.3f} | {np.quantile(error, 0.95):.3f} |"
        f" {np.median(U):.3f} | {100 * (error <= U).mean():.1f} % |"
    )


def _row(name: str, own: Sequence[Judged]) -> str:
    done = [each for each in own if not each.refusal]
    if not done:
        return f"| {name} | {len(own)} | {len(own)} | - | - | - | - | - | - |"
    error, U = (np.concatenate([getattr(e, part) for e in done]) for part in ("error", "U"))
    return (
        f"| {name} | {len(own)} | {len(own) - len(done)} |"
        f" {np.sqrt((error**2).mean()):.3f} | {np.quantile(error, 0.95):.3f} |"
        f" {error.max():.3f} | {np.median(U):.3f} | {100 * (error <= U).mean():.1f} % |"
        f" {100 * np.mean([e.covered for e in done]):.0f} % |"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("kinds", nargs="*", default=list(KINDS))
    parser.add_argument("--seeds", type=int, default=100)
    parser.add_argument("--first", type=int, default=8000)
    parser.add_argument("--megapixels", type=float, default=12.0)
    parser.add_argument("--keep", type=Path, help="folder in which rendered scenes stay")
    parser.add_argument("--details", action="store_true")
    parser.add_argument("--exact", action="store_true")
    parser.add_argument("--behind", action="store_true", help="seen from the building's side")
    asked = parser.parse_args()
    seeds = range(asked.first, asked.first + asked.seeds)
    cases = [(*case, asked.megapixels, asked.keep) for case in product(asked.kinds or KINDS, seeds)]
    with ProcessPoolExecutor(2) as pool:
        one = partial(judge, exact=asked.exact, behind=asked.behind)
        results = list(pool.map(one, *zip(*cases, strict=True)))
    for row in rows(results, details=asked.details):
        print(row, flush=True)


if __name__ == "__main__":
    main()
