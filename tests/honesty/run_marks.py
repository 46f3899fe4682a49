"""What marks found to 0.15 px give: python -m tests.honesty.run_marks [--seeds 20]

No pixels: the marks of known strips through known cameras (tests/capture/run_world.py), with
fresh noise, solved by the network. Bow is the largest distance of the error of the strips'
middles from the straight line through its ends; length is from the first strip's cross A to the
last one's cross B, over a print off by some 0.3 %, with one tape reading of U 0.4 mm.
"""

from __future__ import annotations

from time import process_time

import click
import numpy as np

from scribe.capture.run.network_known import ScalePrior
from scribe.capture.run.network_solve import solve_network
from scribe.capture.run.network_tape import with_tapes
from scribe.tape import Cross, TapeReading
from scribe.target import strip_sheet
from tests.capture.known import place_covariance
from tests.capture.run_world import Array, Run, make_run

EXACT = ScalePrior(np.ones(2), np.full(2, 2e-5))
UNCHECKED = ScalePrior(np.ones(2), np.full(2, 0.0029))
# length mm, strips, photos, how they are taken
RUNS: tuple[tuple[float, int, int, dict[str, object]], ...] = (
    (2400.0, 8, 7, {}),
    (2400.0, 8, 7, {"turned": True}),
    (2400.0, 8, 7, {"overview": True}),
    (6000.0, 20, 18, {}),
    (6000.0, 20, 18, {"turned": True}),
    (6000.0, 20, 18, {"overview": True}),
)


@click.command()
@click.option("--seeds", default=20, show_default=True)
@click.option("--noise", "noise_px", default=0.15, show_default=True)
def main(seeds: int, noise_px: float) -> None:
    """Print a line for each kind of run, and the processor time of 40 photos along 12 m."""
    click.echo("run                                  bow 95 %   its U   length 95 %   its U   in U")
    for length, strips, photos, how in RUNS:
        rows = np.array(
            [_one(length, strips, photos, how, seed, noise_px) for seed in range(seeds)]
        )
        off = np.quantile(np.abs(rows[:, [0, 3]]), 0.95, axis=0)
        inside = np.mean(np.abs(rows[:, [1, 3]]) < rows[:, [2, 4]])
        name = f"{length / 1000:.1f} m, {photos} photos" + "".join(f", {key}" for key in how)
        click.echo(
            f"{name:36s} {off[0]:8.3f}   {np.median(rows[:, 2]):5.3f}   {off[1]:11.3f}"
            f"   {np.median(rows[:, 4]):5.3f}   {100 * inside:3.0f} %"
        )
    run = make_run(1, length=12000.0, strips=41, photos=40)
    seen = run.seen(1, noise_px)
    used = process_time()
    network = solve_network(seen, scale=UNCHECKED)
    network.roots()
    click.echo(f"12 m, 40 photos: {process_time() - used:.1f} s of processor time after detection")


def _one(
    length: float, strips: int, photos: int, how: dict[str, object], seed: int, noise_px: float
) -> tuple[float, ...]:
    """Bow error, the same in the middle and its U, length error and its U, mm."""
    run = make_run(seed, length=length, strips=strips, photos=photos, **how)
    network = solve_network(run.seen(seed, noise_px), scale=EXACT)
    numbers = list(range(1, strips + 1))
    middle = np.array([[143.5, 25.0]])
    found = np.array([network.place(number, middle)[0, :2] for number in numbers])
    truth = np.array([run.in_first(run.on_board(number, middle))[0] for number in numbers])
    part = (truth[:, 0] - truth[0, 0]) / (truth[-1, 0] - truth[0, 0])
    chord = np.eye(strips)
    chord[:, 0] -= 1.0 - part
    chord[:, -1] -= part
    bow = chord @ (found - truth)[:, 1]
    covariance = place_covariance(network, [(number, middle[0]) for number in numbers])[1::3, 1::3]
    at = strips // 2
    bow_u = 2.0 * float(np.sqrt(chord[at] @ covariance @ chord[at]))
    off, off_u = _length(run, strips, seed, noise_px)
    return float(np.abs(bow).max()), float(bow[at]), bow_u, off, off_u


def _length(run: Run, strips: int, seed: int, noise_px: float) -> tuple[float, float]:
    """Error of the length and its U with a print off by some 0.3 % and one reading."""
    from dataclasses import replace

    rng = np.random.default_rng([seed, 31])
    printed = replace(run, scale=tuple(1.0 + 0.003 * rng.standard_normal(2)))
    ends = [(1, "A"), (strips, "B")]
    places = [_cross(printed, number, letter) for number, letter in ends]
    true = float(np.linalg.norm(places[1] - places[0]))
    reading = TapeReading(
        *(Cross(*end) for end in ends), true + 0.2 * float(rng.standard_normal()), 0.4
    )
    network = solve_network(printed.seen(seed, noise_px), scale=UNCHECKED)
    network = with_tapes(network, [reading])
    found, u = network.length(reading)
    return found - true, 2.0 * u


def _cross(run: Run, number: int, letter: str) -> Array:
    return run.on_board(number, np.array([strip_sheet("A4", number).crosses[letter]]))[0]


if __name__ == "__main__":
    main()
