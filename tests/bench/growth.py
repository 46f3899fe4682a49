"""How time and memory of a run grow: from 1 to 60 photos, from 0.4 to 15 m.

`python -m tests.bench.growth` photographs one run of 15 m in 60 photos (not timed; 3 megapixels
unless asked otherwise, because making the photos costs more than all that is measured; a
board without grain, on which so small photos show the line everywhere) and traces
its first 1, 2, 4 ... photos, each time in a process of its own. Printed: wall and processor
time of it all, processor time of the joint solve alone, and the most memory that any one of its
processes held. An exponent is the slope of the least-squares line through the logarithms.
Never asserted; the machine's speed drifts, so compare within one run.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

import numpy as np

from tests.scenes.run import make_run

STEP_MM = 250.0  # of the run for each photo
WHOLE = 60
COUNTS = (1, 2, 4, 8, 15, 30)
FROM = 8  # photos from which exponents are fitted: below it the start of the program counts
MB = 1e6 / (1 if sys.platform == "darwin" else 1024)


def main() -> None:
    """Print the table and the exponents."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--megapixels", type=float, default=3.0)
    parser.add_argument("--most", type=int, default=WHOLE, help="trace no more photos than these")
    parser.add_argument("--keep", type=Path, help="folder for the photos; those there are used")
    parser.add_argument("--trace", nargs="+", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.trace:
        print(json.dumps(traced(asked.trace)))
        return
    with tempfile.TemporaryDirectory() as name:
        folder = asked.keep or Path(name)
        photos = photographed(folder, asked.seed, asked.most, asked.megapixels)
        print("| photos | run, m | wall s | processor s | of it the solve | a photo's share, s "
              "| peak MB of a process |")  # fmt: skip
        print("|---|---|---|---|---|---|---|")
        rows = []
        for count in (*(each for each in COUNTS if each < asked.most), asked.most):
            rows.append(measured(photos[:count]))
            wall, processor, solve, peak = rows[-1][1:]
            row = (
                f"{count} | {count * STEP_MM / 1000 + 0.15:.1f}", f"{wall:.1f}", f"{processor:.1f}",
                f"{solve:.2f}", f"{processor / count:.2f}", f"{peak:.0f}",
            )  # fmt: skip
            print(f"| {' | '.join(row)} |", flush=True)
    table = np.array(rows)
    table = table[table[:, 0] >= FROM]
    if len(table) > 1:
        names = ("wall", "processor", "solve", "memory")
        said = ", ".join(f"{name} {exponent(table, k + 1):.2f}" for k, name in enumerate(names))
        print(f"\nexponents from {FROM} photos: {said}")


def photographed(folder: Path, seed: int, count: int, megapixels: float) -> list[Path]:
    """The photos of the run, along it; made over the cores where they aren't there."""
    paths = [folder / f"run-{seed}-{k + 1:02d}.jpg" for k in range(count)]
    work = partial(photograph, folder, seed, megapixels)
    with ProcessPoolExecutor() as pool:
        list(pool.map(work, [k for k, path in enumerate(paths) if not path.exists()]))
    return paths


def photograph(folder: Path, seed: int, megapixels: float, k: int) -> None:
    """Write photo k."""
    run = make_run(STEP_MM * WHOLE, WHOLE, seed, megapixels=megapixels, grain=False)
    run.write_photo(folder, k)


def measured(photos: list[Path]) -> tuple[float, float, float, float, float]:
    """Photos, wall s, processor s, processor s of the solve, peak MB of one process."""
    names = [str(path) for path in photos]
    begun = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "tests.bench.growth", "--trace", *names],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    wall = time.perf_counter() - begun
    if done.returncode:
        raise SystemExit(f"{len(photos)} photos failed:\n{done.stderr}")
    found = json.loads(done.stdout)
    return len(photos), wall, found["processor"], found["solve"], found["peak"]


def traced(names: list[str]) -> dict[str, float]:
    """Trace the photos here and say what it took."""
    from scribe.recipes.trace import trace
    from scribe.source import PhotoSource

    marks: dict[str, float] = {}

    def progress(words: str) -> None:
        marks.setdefault(words.split(":", maxsplit=1)[0], time.process_time())

    trace(PhotoSource(tuple(Path(name) for name in names), "line", height=0.0), progress)
    own = resource.getrusage(resource.RUSAGE_SELF)
    workers = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = [use.ru_utime + use.ru_stime for use in (own, workers)]
    solving, after = (marks.get(key, 0.0) for key in ("solving all photos together", "tracing"))
    return {
        "processor": sum(spent),
        "solve": after - solving,
        "peak": max(own.ru_maxrss, workers.ru_maxrss) / MB,
    }


def exponent(table: np.ndarray, column: int) -> float:
    """Slope of log(column) over log(photos)."""
    return float(np.polyfit(np.log(table[:, 0]), np.log(table[:, column]), 1)[0])


if __name__ == "__main__":
    main()
