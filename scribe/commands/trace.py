"""`scribe trace`: from a photo to an outline in millimetres."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from scribe.commands.options import AS_JSON, BOARD, CHECK_BARS, FILE, FORCE, LENS, PRINTER, TAPES
from scribe.commands.types import LENGTH, POINT, SCALE

if TYPE_CHECKING:
    from scribe.tape import TapeReading


@click.command(name="trace")
@click.argument("photos", metavar="PHOTO...", nargs=-1, required=True, type=FILE)
@click.option(
    "--of",
    "kind",
    type=click.Choice(["gauge", "line", "edge"]),
    required=True,
    help="What the photo shows: the pins of a profile gauge, a pencil or knife line on a board, "
    "or the edge of a card, board or moulding.",
)
@click.option(
    "--height",
    type=LENGTH,
    help="How high the traced thing lies above the sheet: the pins' upper side, the board's face. "
    "Left out, it stands in the uncertainty.",
)
@BOARD
@LENS
@click.option(
    "--print-scale",
    type=SCALE,
    help="What the check bars measure over what they should: 0.997 or 0.997,1.002 (x, y).",
)
@CHECK_BARS
@PRINTER
@click.option(
    "--scale-by",
    type=click.Choice(["card", "paper"]),
    multiple=True,
    help="Let the first photo tell the print scale: by a bank card in the window, or, roughly, by "
    "the edges of the paper.",
)
@TAPES
@click.option("--from", "start", type=POINT, help="Where the outline starts, X,Y on the sheet.")
@click.option("--to", "end", type=POINT, help="Where the outline ends, X,Y on the sheet.")
@click.option("--near", type=FILE, help="A rough course of the outline: CSV with x_mm,y_mm.")
@click.option(
    "--building",
    type=click.Choice(["above", "below", "left", "right"]),
    default="above",
    show_default=True,
    help="Where the building lies as seen on the sheet. A gauge points at it: above.",
)
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    required=True,
    help="Folder for outline.csv, outline.json and overlay.png (overlay-1.png ... of several).",
)
@AS_JSON
@FORCE
def command(
    photos: tuple[Path, ...],
    kind: Literal["gauge", "line", "edge"],
    height: float | None,
    target: Path | None,
    camera: Path | None,
    print_scale: tuple[float, float] | None,
    bars: tuple[float, float] | None,
    printer: Path | None,
    scale_by: tuple[Literal["card", "paper"], ...],
    tapes: tuple[TapeReading, ...],
    start: tuple[float, float] | None,
    end: tuple[float, float] | None,
    near: Path | None,
    building: Literal["above", "below", "left", "right"],
    out: Path,
    as_json: bool,
    force: bool,
) -> None:
    """Trace an outline in a photo of the target, in mm on the sheet.

    Lay the gauge, the scribed board or the cut edge in the window of the target, with the side
    that met the wall towards the arrow. Take the photo so that the whole sheet fills the picture,
    a little from the side, without flash. Several photos of the same sheet, taken from different
    sides with nothing touched between them, tell the height by themselves.

    Then look at the overlays: the red line must lie on the edge you meant.
    """
    from scribe.places import COMMAND
    from scribe.print_scale import from_given
    from scribe.recipes.trace import trace, trace_json, write_trace
    from scribe.source import PhotoSource

    scale = from_given(print_scale, bars, printer)
    source = PhotoSource(
        photos, kind, height=height, target=target, print_scale=scale, building=building,
        start=start, end=end, near=near, camera=camera, tapes=tapes, scale_by=scale_by,
    )  # fmt: skip
    traced = trace(source, lambda words: click.echo(words, err=True)).in_words(COMMAND)
    written = write_trace(traced, out, force=force)
    if as_json:
        click.echo(trace_json(traced, written))
        return
    for name, words in traced.told().items():
        click.echo(f"{name}: {words}")
    for line in traced.result_lines():
        click.echo(line)
    for sentence in traced.advice:
        click.echo(sentence)
    pictures = [path for path in written if path.suffix == ".png"]
    more = f" to {pictures[-1].name}" if len(pictures) > 1 else ""
    click.echo(f"Look at {pictures[0]}{more}: the red line must lie on the edge you meant.")
