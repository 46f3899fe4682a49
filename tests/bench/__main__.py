"""Time and memory of one 12 MP photo to outline, SVG, PDF and table, side by side in one run.

`python -m tests.bench` renders a scene, then runs in turn: the floor (grey decode, marks at
quarter size refined on the full photo, pose), a straight recipe from the libraries'
documentation, and the package. In a warm process each is timed step by step; from a cold
start each is a process of its own, timed as a whole with its peak memory. Printed, never
asserted; the machine's speed drifts, so compare within one run.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from tests.bench.floor import floor
from tests.bench.plain_recipe import recipe
from tests.honesty.scenes import distance
from tests.scenes.scene import Scene, make_scene

JOB = """name = "bench"

[outline.wall]
photo = "{photo}"
of = "{kind}"
height = {height}

[[piece]]
name = "strip"
blank = {{ length = {length}, width = 60 }}

[[piece.edge]]
outline = "wall"
edge = "top"
beyond = 20
"""


def main() -> None:
    """Print both tables for a pencil line and for the edge of a board."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=7)
    parser.add_argument("--seed", type=int, default=4)
    asked = parser.parse_args()
    for kind in ("line", "edge"):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            scene = make_scene(
                kind, asked.seed, shape="smooth", height=0.0 if kind == "line" else 3.0
            )
            photo = scene.write(folder)
            job = folder / "job.toml"
            job.write_text(_job(scene, photo))
            print(f"\n{kind}, {scene.pixels.shape[1]} x {scene.pixels.shape[0]} px\n")
            _warm(scene, photo, job, folder, asked.runs)
            _cold(kind, photo, job, folder, asked.runs)


def _job(scene: Scene, photo: Path) -> str:
    x0, x1 = float(scene.truth[:, 0].min()), float(scene.truth[:, 0].max())
    return JOB.format(
        photo=photo.name,
        kind=scene.kind,
        height=scene.height,
        length=round(x1 - x0, 1),
    )


def _warm(scene: Scene, photo: Path, job: Path, folder: Path, runs: int) -> None:
    from scribe.recipes.make import make_job
    from scribe.recipes.trace import trace
    from scribe.source import PhotoSource

    out = folder / "plain"
    out.mkdir()
    source = PhotoSource((photo,), scene.kind, height=scene.height)
    steps: dict[str, Callable[[], object]] = {
        "floor": lambda: floor(photo),
        "plain recipe": lambda: recipe(photo, scene.kind, out),
        "trace": lambda: trace(source),
        "make (whole job)": lambda: make_job(job, folder / "made", force=True),
    }
    times: dict[str, list[float]] = {name: [] for name in steps}
    for turn in range(runs + 1):
        for name, step in steps.items():
            start = time.perf_counter()
            step()
            if turn:
                times[name].append(time.perf_counter() - start)
    base = statistics.median(times["floor"])
    print("| in a warm process | median ms | of the floor |")
    print("|---|---|---|")
    for name, taken in times.items():
        middle = statistics.median(taken)
        print(f"| {name} | {1000 * middle:.0f} | {middle / base:.1f} |")
    ours = distance(trace(source).outline.points, scene.truth)
    plain = distance(_within(recipe(photo, scene.kind, out), scene.truth), scene.truth)
    for name, error in (("plain recipe", plain), ("scribe", ours)):
        print(f"{name}: 95 % of points within {np.quantile(error, 0.95):.3f} mm of the truth")


def _within(points: np.ndarray, truth: np.ndarray) -> np.ndarray:
    return points[(points[:, 0] > truth[0, 0]) & (points[:, 0] < truth[-1, 0])]


def _cold(kind: str, photo: Path, job: Path, folder: Path, runs: int) -> None:
    python = sys.executable
    commands = {
        "floor": [python, "-m", "tests.bench.floor", str(photo)],
        "plain recipe": [
            python, "-m", "tests.bench.plain_recipe", str(photo), kind, str(folder / "plain"),
        ],
        "scribe make": [
            python, "-m", "scribe", "make", str(job), "-o", str(folder / "cold"), "--force",
        ],
    }  # fmt: skip
    taken: dict[str, list[tuple[float, float]]] = {name: [] for name in commands}
    for turn in range(runs + 1):
        for name, command in commands.items():
            measured = _process(command)
            if turn:
                taken[name].append(measured)
    print("| from a cold start | median s | peak MB |")
    print("|---|---|---|")
    for name, all_runs in taken.items():
        seconds, peak = zip(*all_runs, strict=True)
        print(f"| {name} | {statistics.median(seconds):.2f} | {statistics.median(peak):.0f} |")


def _process(command: list[str]) -> tuple[float, float]:
    """Wall seconds and peak memory (MB) of one process, from the system's own accounting."""
    probe = (
        "import resource, subprocess, sys; r = subprocess.run(sys.argv[1:], capture_output=True);"
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss, r.returncode);"
        "sys.stderr.buffer.write(r.stderr)"
    )
    start = time.perf_counter()
    installed = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    done = subprocess.run(
        [sys.executable, "-c", probe, *command],
        capture_output=True,
        text=True,
        check=True,
        env=installed,  # pip compiles what it installs; the first turn does it here
    )
    seconds = time.perf_counter() - start
    peak, status = done.stdout.split()
    if status != "0":
        raise SystemExit(f"{' '.join(command)} failed:\n{done.stderr}")
    return seconds, int(peak) * (1 if sys.platform == "darwin" else 1024) / 1e6


if __name__ == "__main__":
    main()
