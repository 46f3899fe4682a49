"""What a run's error comes from: python -m tests.honesty.run_errors FOLDER [--seeds 12] ...

FOLDER holds runs as `tests.honesty.runs --tape --keep FOLDER` leaves them. The true line, seen by
the true cameras, is laid through the solved ones: what is then off comes from the marks alone. It
is parted into the ways in which the joint covariance lets it move (eigenvectors, the largest
first), each divided by its standard uncertainty: squares add up to as many as there are, on
average, when U is right. Beside it stands by how much all marks of a strip in one photo lie aside
together, beyond what each is off by itself; `scribe.capture.run.network` allows 0.001 px for that.
"""

from __future__ import annotations

from pathlib import Path

import click
import numpy as np

from scribe.capture.run.marks import RunMarks, read_run
from scribe.capture.run.network import Network
from scribe.capture.run.network_faults import sound_network
from scribe.capture.run.network_known import ScalePrior
from scribe.capture.run.network_tape import with_tapes
from scribe.print_scale import UNCHECKED
from scribe.tape import Cross, TapeReading
from tests.scenes.run import Run, make_run

Array = np.ndarray
PLACES, WAYS = 15, 6  # of the line, that are looked at; of the error, the largest
BESIDE_MM = 30.0  # of the line's ends, left out
WILD = 4.0  # robust standard deviations: a mark further off is no measure of the others


@click.command()
@click.argument("folder", type=click.Path(path_type=Path, exists=True))
@click.option("--length", default=2400.0, show_default=True)
@click.option("--photos", default=7, show_default=True)
@click.option("--seeds", default=12, show_default=True)
@click.option("--first", default=11, show_default=True)
def main(folder: Path, length: float, photos: int, seeds: int, first: int) -> None:
    """Print one line for each run, and all together."""
    click.echo("seed   error over u, the largest ways first           marks aside together, px")
    squares, aside = [], []
    for seed in range(first, first + seeds):
        run = make_run(length, photos, seed, print_scale=(0.997, 1.001))
        paths = run.write(folder / f"{length:g}-{photos}-{seed}s")
        marks = read_run(paths, scale=UNCHECKED.factors)
        ways = _ways(run, _network(run, marks, seed))
        together = _together(run, marks)
        squares.append(ways**2)
        aside.append(together)
        click.echo(
            f"{seed:4d}   {' '.join(f'{way:6.2f}' for way in ways)}   {_root(together):20.4f}"
        )
    every = np.array(squares)
    each = ", ".join(f"{value:.2f}" for value in every.mean(axis=0))
    click.echo(f"mean square of each way: {each}; of all {every.size}: {every.mean():.2f}")
    click.echo(f"marks aside together in all runs: {_root(float(np.mean(aside))):.4f} px")


def _root(square: float) -> float:
    """Nothing where noise alone would give more."""
    return float(np.sqrt(max(square, 0.0)))


def _network(run: Run, marks: RunMarks, seed: int) -> Network:
    """As the trace has it, with the tape reading of `tests.honesty.runs`."""
    prior = ScalePrior(np.array(UNCHECKED.factors), np.array(UNCHECKED.u))
    last = len(run.strips)
    noise = 0.2 * float(np.random.default_rng([seed, 3]).standard_normal())
    reading = TapeReading(Cross(1, "A"), Cross(last, "B"), run.tape(1, last) + noise, 0.4)
    return with_tapes(sound_network(marks.photos, scale=prior).network, (reading,))


def _ways(run: Run, network: Network) -> Array:
    """(WAYS,) the error across the line over its standard uncertainty, way by way."""
    board, true = run.on_board(), run.truth
    inner = np.flatnonzero((true[:, 0] > true[0, 0] + BESIDE_MM)
                           & (true[:, 0] < true[-1, 0] - BESIDE_MM))  # fmt: skip
    chosen = inner[np.linspace(0, len(inner) - 1, PLACES).astype(int)]
    board, true, below = board[chosen], true[chosen], -run.world.sheet.paper_mm
    taken = [_taken(name) for name in network.photos]
    middles = [run.cameras[k].hit(*np.array(run.cameras[k].size)[:, None] / 2.0)[0] for k in taken]
    best = np.abs(board[:, 0, None] - np.array(middles).ravel()).argmin(axis=1)
    roots = network.roots()
    error, causes = np.zeros(PLACES), []
    for n, photo in enumerate(best):
        pixel = run.cameras[taken[photo]].project(np.append(board[n], 0.0)[None])
        camera = network.camera(int(photo))
        error[n] = (camera.on_plane(pixel, below) - true[n])[0, 1]
        moves = camera.plane_sensitivity(true[n : n + 1], below)[0, 1]
        causes.append(np.concatenate([moves @ root[photo] for root in roots.values()]))
    size, way = np.linalg.eigh(np.array(causes) @ np.array(causes).T)
    return np.asarray((way.T @ error / np.sqrt(size))[::-1][:WAYS])


def _taken(name: str) -> int:
    """Which of the run's cameras took a photo, by its name run-SEED-NUMBER.jpg."""
    return int(Path(name).stem.split("-")[-1]) - 1


def _together(run: Run, marks: RunMarks) -> float:
    """px^2, the mean square of a strip's mean error in one photo, less what its marks' own errors
    leave of it; 0 on average when they are independent.
    """
    found = []
    for photo in marks.photos:
        camera = run.cameras[_taken(photo.name)]
        for seen in photo.seen:
            board = run.strips[seen.target.number - 1].on_board(seen.points)
            height = np.full((len(board), 1), run.world.sheet.paper_mm)
            off = seen.pixels - camera.project(np.hstack([board, height]))
            away = np.abs(off - np.median(off, axis=0))
            off = off[(away < WILD * 1.4826 * np.median(away, axis=0)).all(axis=1)]
            found.append(off.mean(axis=0) ** 2 - off.var(axis=0, ddof=1) / len(off))
    return float(np.mean(found))


if __name__ == "__main__":
    main()
