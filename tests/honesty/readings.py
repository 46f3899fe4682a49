"""Hand readings of seeded walls: is the wall within U between the readings too?

    python -m tests.honesty.readings

Three kinds of walls of 2.4 m, five spacings, readings rounded to half a millimetre with a
rule's error. For each, without and with its surface stated: the share of places whose truth lies
within U and the median U between readings; and the largest error. Then, for readings that stand
far apart, the same with a nest: three more, 50 mm apart, behind one of them drawn at random. Walls
are made of sines, or of stones with joints between them: not of the fields that the model behind U
thinks of.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from scribe.capture.numbers.readings import Instrument, outline_from
from scribe.capture.numbers.readings_table import read_table
from scribe.geom.between import Surface

LENGTH = 2400.0
FIRST = 5000  # the first of the seeds that were kept from whoever set the model
SPACINGS = (50, 100, 200, 300, 400)
NESTED = (300, 400)
NEST = 50.0 * np.arange(1, 4)  # mm behind a reading
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
    x = np.arange(-150.0, 2.0 * LENGTH + 150.0, 1.0)
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
SURFACE: dict[str, Surface] = {"smooth": "flat", "wavy": "wavy", "stone": "rough"}


def trial(
    kind: str, spacing: float, seed: int, folder: Path, *, nest: bool = False
) -> tuple[Array, Array, Array]:
    """|error|, U, and U with the surface stated, mm, at every place of one wall."""
    rng = np.random.default_rng([seed, int(spacing), list(KINDS).index(kind)])
    wall = KINDS[kind](rng)
    edge = rng.normal(0, 0.1e-3 * LENGTH)  # the straight edge's own bow
    s = np.arange(0.0, LENGTH + 1e-6, spacing)
    if nest:
        s = np.union1d(s, s[rng.integers(len(s) - 1)] + NEST)
    bowed = edge * 4 * (s / LENGTH) * (1 - s / LENGTH)
    read = np.round(2.0 * (20.0 + wall(s) - bowed + rng.normal(0, 0.2, len(s)))) / 2.0
    path = folder / "wall.csv"
    rows = "\n".join(f"{at:g},{off:g}" for at, off in zip(s, read + 20.0, strict=True))
    path.write_text("station,offset\n" + rows + "\n", "utf-8")
    open_, stated = (
        outline_from(read_table(path), "offsets", "above", Instrument(surface=surface))
        for surface in (None, SURFACE[kind])
    )
    error = np.abs(open_.points[:, 1] - (40.0 + wall(open_.points[:, 0])))
    return error, open_.U, stated.U


def rows(
    worlds: int, spacings: tuple[int, ...], *, nest: bool
) -> Iterator[tuple[str, int, list[float], float]]:
    """Kind, spacing; share within U and median U, without and with its surface; largest error."""
    with tempfile.TemporaryDirectory() as folder:
        for kind in KINDS:
            for spacing in spacings:
                both = [
                    trial(kind, spacing, FIRST + k, Path(folder), nest=nest) for k in range(worlds)
                ]
                error, *U = (np.concatenate(part) for part in zip(*both, strict=True))
                said = [figure for u in U for figure in ((error <= u).mean(), np.median(u))]
                yield kind, spacing, said, error.max()


def main(worlds: int) -> None:
    """Print both tables."""
    _table("readings every", rows(worlds, SPACINGS, nest=False))
    print()
    _table("and a nest, every", rows(worlds, NESTED, nest=True))


def _table(head: str, found: Iterator[tuple[str, int, list[float], float]]) -> None:
    print(
        f"| wall | {head} | within U | median U | within U, stated | median U, stated |"
        " largest error |"
    )
    print("|---|---|---|---|---|---|---|")
    for kind, spacing, (share, U, share_stated, U_stated), worst in found:
        print(
            f"| {kind} | {spacing} mm | {100 * share:.1f} % | {U:.2f} mm "
            f"| {100 * share_stated:.1f} % | {U_stated:.2f} mm | {worst:.1f} mm |",
            flush=True,
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 30)
