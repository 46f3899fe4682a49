"""How good a run of strips is: python -m tests.honesty.runs [--length 2400] [--photos 7] ...

For every seed a run is made, photographed and traced as a user would, then held against its
truth: bow (distance of the error from the straight line through its ends, the largest and that
in the middle), length from the first strip's cross A to the last one's cross B, and how often
the truth lies within U.
"""

from __future__ import annotations

import tempfile
from contextlib import ExitStack
from pathlib import Path
from time import process_time, time

import click
import numpy as np

from scribe.capture.run.marks import read_run
from scribe.capture.run.network_faults import sound_network
from scribe.capture.run.network_known import ScalePrior
from scribe.capture.run.network_tape import with_tapes
from scribe.errors import ScribeError
from scribe.print_scale import UNCHECKED, PrintScale
from scribe.recipes.trace import trace
from scribe.source import PhotoSource
from scribe.tape import Cross, TapeReading
from tests.scenes.run import Run, make_run

ENDS_MM = 1.0
EXACT = PrintScale(1.0, 1.0, 2e-5, 2e-5, "exact")


@click.command()
@click.option("--length", default=2400.0, show_default=True)
@click.option("--photos", default=7, show_default=True)
@click.option("--seeds", default=3, show_default=True)
@click.option("--first", default=1, show_default=True)
@click.option("--megapixels", default=12.0, show_default=True)
@click.option("--turned", is_flag=True, help="Every second photo with the phone upside down.")
@click.option("--tape", is_flag=True, help="Prints of unknown scale and one reading, U 0.4 mm.")
@click.option("--keep", type=click.Path(path_type=Path), help="Folder in which photos stay.")
def main(
    length: float,
    photos: int,
    seeds: int,
    first: int,
    megapixels: float,
    turned: bool,
    tape: bool,
    keep: Path | None,
) -> None:
    """Print one line for each run, and the worst of all."""
    click.echo(
        "seed   largest   in the middle   its U   length error   its U   in U (place)"
        "   in U (shape)   s"
    )
    rows = []
    for seed in range(first, first + seeds):
        scale = (0.997, 1.001) if tape else (1.0, 1.0)
        run = make_run(length, photos, seed, megapixels=megapixels, turned=turned,
                       print_scale=scale)  # fmt: skip
        with ExitStack() as passing:
            if keep is None:
                folder = Path(passing.enter_context(tempfile.TemporaryDirectory()))
            else:
                folder = keep / f"{length:g}-{photos}-{seed}{'t' * turned}{'s' * tape}"
            paths = run.write(folder)
            began, used = time(), process_time()
            try:
                rows.append(judge(run, paths, seed, tape=tape))
            except ScribeError as refusal:
                click.echo(f"{seed:4d}   refused: {refusal}")
                continue
            most, bow, bow_u, off, off_u, place, shape = rows[-1]
            click.echo(
                f"{seed:4d}   {most:7.3f}   {bow:13.3f}   {bow_u:5.3f}   {off:12.3f}   {off_u:5.3f}"
                f"   {100 * place:10.0f} %   {100 * shape:10.0f} %   {time() - began:.0f}"
                f" ({process_time() - used:.0f} in this process)"
            )
    if rows:
        worst = np.abs(np.array(rows)).max(axis=0)
        click.echo(f"worst  {worst[0]:7.3f}   {worst[1]:13.3f}           {worst[3]:12.3f}")


def judge(run: Run, paths: list[Path], seed: int, *, tape: bool) -> tuple[float, ...]:
    """Largest bow error, that in the middle and its U, length error and its U; mm. Shares of
    points within U.
    """
    last = len(run.strips)
    true = run.tape(1, last)
    noise = 0.2 * float(np.random.default_rng([seed, 3]).standard_normal())
    reading = TapeReading(Cross(1, "A"), Cross(last, "B"), true + noise, 0.4)
    source = PhotoSource(
        tuple(paths), "line", height=0.0, print_scale=None if tape else EXACT,
        tapes=(reading,) if tape else (),
    )  # fmt: skip
    outline = trace(source).outline
    truth = run.truth
    x, y = outline.points.T
    # A pencil line's end is round: what lies beyond the truth's ends is not judged.
    judged = np.flatnonzero((x > truth[0, 0] + ENDS_MM) & (x < truth[-1, 0] - ENDS_MM))
    error = y[judged] - np.interp(x[judged], truth[:, 0], truth[:, 1])
    wide = max(len(error) // 400, 1)  # what the pencil's own raggedness makes is not bow
    smooth = np.convolve(error, np.ones(wide) / wide, "same")[wide:-wide]
    kept = judged[wide:-wide]
    part = (x[kept] - x[kept[0]]) / (x[kept[-1]] - x[kept[0]])
    bow = smooth - (smooth[0] + part * (smooth[-1] - smooth[0]))
    at = len(bow) // 2
    gradient = np.zeros_like(outline.points)
    gradient[kept[[0, at, -1]], 1] = -(1 - part[at]), 1.0, -part[at]
    bow_u = 2 * outline.quantity_u(gradient)
    off, off_u = _length(run, paths, source)
    shape = error - error.mean()
    return (
        float(np.abs(bow).max()), float(bow[at]), bow_u, off, off_u,
        float(np.mean(np.abs(error) < outline.U[judged])),
        float(np.mean(np.abs(shape) < outline.shape_alone().U[judged])),
    )  # fmt: skip


def _length(run: Run, paths: list[Path], source: PhotoSource) -> tuple[float, float]:
    """Error and U of the length from the first strip's cross A to the last one's cross B."""
    scale = source.print_scale or UNCHECKED
    marks = read_run(paths, scale=scale.factors)
    prior = ScalePrior(np.array(scale.factors), np.array(scale.u))
    network = with_tapes(sound_network(marks.photos, scale=prior).network, source.tapes)
    last = len(run.strips)
    ends = TapeReading(Cross(1, "A"), Cross(last, "B"), run.tape(1, last))
    length, u = network.length(ends)
    return length - ends.length, 2.0 * u


if __name__ == "__main__":
    main()
