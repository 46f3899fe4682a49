"""Hand readings of seeded walls: is the wall within U between the readings too?

    python -m tests.honesty.readings

Three kinds of walls of 2.4 m, five spacings, readings rounded to half a millimetre with a
rule's error. For each: the share of places whose truth lies within U, the median U between
readings, and the largest error. Walls are made of sines, or of stones with joints between
them: not of the fields that the model behind U thinks of.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from scribe.capture.readings import Instrument, outline_from
from scribe.capture.readings_table import read_table

LENGTH = 2400.0
FIRST = 5000  # the first of the seeds that were kept from whoever set the model
SPACINGS = (50, 100, 200, 300, 400)
Array = np.ndarray
Wall = Callable[[Array], Array]


def smooth(rng: np.random.Generator) -> Wall:
    """Plaster: it leans and bows over metres."""
    return _waves(rng, [(rng.uniform(900, 4000), rng.uniform(0.5, 4)) for _ in range(4)])


def wavy(rng: np.random.Generator) -> Wall:
    """Old plaster: hollows of some hundred millimetres."""
    return _waves(rng, [(rng.uniform(150, 900), rng.uniform(0.3, 2)) for _ in range(8)])


def stone(rng: np.random.Generator) -> Wall:
    """Stones of 80 to 300 mm, each proud by its own amount and humped, with joints between."""
    ends = np.cumsum(np.concatenate([[-200.0], rng.uniform(80, 300, 40)]))
    proud, hump = rng.normal(0, 3.0, 40), rng.uniform(0, 4, 40)
    x = np.arange(-150.0, LENGTH + 150.0, 1.0)
    k = np.searchsorted(ends, x) - 1
    t = (x - ends[k]) / (ends[k + 1] - ends[k])
    joint = 4.0 * np.exp(-((np.minimum(t, 1 - t) * (ends[k + 1] - ends[k]) / 6.0) ** 2))
    kernel = np.hanning(17) / np.hanning(17).sum()
    y = np.convolve(proud[k] + hump[k] * 4 * t * (1 - t) - joint, kernel, "same")
    bow = _waves(rng, [(rng.uniform(900, 4000), rng.uniform(0.5, 4)) for _ in range(2)])
    return lambda at: np.interp(at, x, y) + bow(at)


def _waves(rng: np.random.Generator, parts: list[tuple[float, float]]) -> Wall:
    phases = rng.uniform(0, 2 * np.pi, len(parts))
    lean = rng.normal(0, 3e-3)
    return lambda at: (
        lean * at
        + sum(a * np.sin(2 * np.pi * at / w + p) for (w, a), p in zip(parts, phases, strict=True))
    )


KINDS = {"smooth": smooth, "wavy": wavy, "stone": stone}


def trial(kind: str, spacing: float, seed: int, folder: Path) -> tuple[Array, Array]:
    """|error| and U, mm, at every place of one wall."""
    rng = np.random.default_rng([seed, int(spacing), list(KINDS).index(kind)])
    wall = KINDS[kind](rng)
    edge = rng.normal(0, 0.1e-3 * LENGTH)  # the straight edge's own bow
    s = np.arange(0.0, LENGTH + 1e-6, spacing)
    bowed = edge * 4 * (s / LENGTH) * (1 - s / LENGTH)
    read = np.round(2.0 * (20.0 + wall(s) - bowed + rng.normal(0, 0.2, len(s)))) / 2.0
    path = folder / "wall.csv"
    rows = "\n".join(f"{at:g},{off:g}" for at, off in zip(s, read + 20.0, strict=True))
    path.write_text("station,offset\n" + rows + "\n", "utf-8")
    outline = outline_from(read_table(path), "offsets", "above", Instrument())
    error = np.abs(outline.points[:, 1] - (40.0 + wall(outline.points[:, 0])))
    return error, outline.U


def rows(worlds: int) -> Iterator[tuple[str, int, float, float, float]]:
    """Kind, spacing, share within U, median U, largest error."""
    with tempfile.TemporaryDirectory() as folder:
        for kind in KINDS:
            for spacing in SPACINGS:
                both = [trial(kind, spacing, FIRST + k, Path(folder)) for k in range(worlds)]
                error, U = (np.concatenate(part) for part in zip(*both, strict=True))
                yield kind, spacing, float((error <= U).mean()), float(np.median(U)), error.max()


def main(worlds: int) -> None:
    """Print the table."""
    print("| wall | readings every | within U | median U | largest error |")
    print("|---|---|---|---|---|")
    for kind, spacing, share, U, worst in rows(worlds):
        print(f"| {kind} | {spacing} mm | {100 * share:.1f} % | {U:.2f} mm | {worst:.1f} mm |")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 30)
