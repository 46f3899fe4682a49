"""`scribe check`: is the cut where it was planned, and what is left to take off."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from scribe.commands.options import AS_JSON, CHECK_BARS, FILE, FORCE, LENS, PRINTER, TAPES
from scribe.commands.types import LENGTH, POINT

if TYPE_CHECKING:
    from scribe.tape import TapeReading


@click.command(name="check")
@click.argument("job", metavar="JOB.toml", type=FILE)
@click.argument("files", metavar="PHOTO|CSV...", nargs=-1, required=True, type=FILE)
@click.option("--piece", required=True, help="The piece, as the job file names it.")
@click.option("--edge", help="Which of its cuts (top, bottom, left, right), when it has several.")
@click.option(
    "--height", type=LENGTH, help="Of the cut edge above the sheet; left out, the thickness."
)
@click.option(
    "--lay",
    type=click.Choice(["free", "ends", "piece"]),
    default="free",
    show_default=True,
    help="How the edge may be laid on the plan: shifted and turned; held along, as it was traced "
    "from end to end of the cut; or not moved, points of a CSV being in the piece's frame.",
)
@click.option(
    "--width",
    "widths",
    multiple=True,
    type=POINT,
    metavar="STATION,MM",
    help="Station and width of the cut piece there, mm: 40,58.3. Two or more tell how far in the "
    "edge lies, and how turned.",
)
@click.option(
    "--shift",
    "along",
    type=LENGTH,
    default="5",
    show_default=True,
    help="How far the piece may be shifted along to save the cut, mm.",
)
@click.option(
    "--turn",
    type=LENGTH,
    default="1",
    show_default=True,
    help="How far one end may go in against the other to save the cut, mm.",
)
@click.option(
    "--filler", type=LENGTH, help="Gap that filler may close; left out, the job's, or 1 mm."
)
@LENS
@CHECK_BARS
@PRINTER
@TAPES
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    required=True,
    help="Folder for check.html, second-cut.csv, the overlays and the second cut's template.",
)
@AS_JSON
@FORCE
def command(
    job: Path,
    files: tuple[Path, ...],
    piece: str,
    edge: str | None,
    height: float | None,
    lay: Literal["free", "ends", "piece"],
    widths: tuple[tuple[float, float], ...],
    along: float,
    turn: float,
    filler: float | None,
    camera: Path | None,
    bars: tuple[float, float] | None,
    printer: Path | None,
    tapes: tuple[TapeReading, ...],
    out: Path,
    as_json: bool,
    force: bool,
) -> None:
    """Compare a cut edge with the planned line.

    Give a photo of the edge lying face up in the window of a target, the edge that met the wall
    towards the arrow; for a longer edge, photos of strips laid along it, as for scribe trace; or a
    CSV: its points (x_mm, y_mm, u95_mm), or station and gap felt along the fitted piece. It says
    what is proud and what is short, whether a shift of the piece saves it, which gaps filler
    closes, and what a second cut takes off; check.html draws it. When more gapes than filler may
    close, there is a template of the second cut as well. Photos and points tell the edge's shape
    alone, unless --lay or --width says more: how long and how square the piece is, tape and square
    tell.
    """
    from scribe.print_scale import from_given
    from scribe.recipes.check import check, check_json, write_check
    from scribe.recipes.check_source import CheckSource

    source = CheckSource(
        job, piece, files, edge=edge, height=height, filler=filler, lay=lay, widths=widths,
        along=along, turn=turn,
        camera=camera, tapes=tapes,
        print_scale=from_given(None, bars, printer),
    )  # fmt: skip
    checked = check(source, lambda words: click.echo(words, err=True))
    written = write_check(checked, out, force=force)
    if as_json:
        click.echo(check_json(checked, written))
        return
    for line in checked.lines():
        click.echo(line)
    click.echo(f"Look at {out / 'check.html'}: it draws the edge beside its line.", err=True)
